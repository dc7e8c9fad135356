//! Allowed ranges, read from the published description of a scenario so that they cannot fall behind it.

use std::sync::LazyLock;

use marshgas::scenario::schema;
use serde_json::Value;

static SCHEMA: LazyLock<Value> = LazyLock::new(schema);

/// The description of a scenario.
pub(crate) fn description() -> &'static Value {
    &SCHEMA
}

/// Range of a number by the group it stands in (empty for the scenario itself) and its key.
pub(crate) fn range(group: &str, key: &str) -> (f64, f64) {
    // A group that is used once stands where it is used.
    let place = match SCHEMA["$defs"].get(group) {
        Some(shared) => shared,
        None if group.is_empty() => &*SCHEMA,
        None => &SCHEMA["properties"][group.to_lowercase().as_str()],
    };
    let number = &place["properties"][key];
    let end = |name: &str| {
        number[name]
            .as_f64()
            .unwrap_or_else(|| panic!("{group}.{key} has no {name}"))
    };
    (end("minimum"), end("maximum"))
}

/// Range of a temperature of a liquor.
pub(crate) fn temperature() -> (f64, f64) {
    range("Point", "temperature_c")
}
