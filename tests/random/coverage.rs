//! No key of a scenario is left out of the draws.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::{draw, ranges};

/// Keys that no draw can hold: an editor's note, a file beside the scenario.
const NOT_DRAWN: [&str; 3] = ["$schema", "file", "table"];
/// Scenarios in which every key must have turned up.
const ENOUGH: u64 = 1500;

/// All names of properties anywhere in the description.
fn described(value: &Value, keys: &mut BTreeSet<String>) {
    match value {
        Value::Object(group) => {
            if let Some(Value::Object(properties)) = group.get("properties") {
                keys.extend(properties.keys().cloned());
            }
            group.values().for_each(|inner| described(inner, keys));
        }
        Value::Array(list) => list.iter().for_each(|inner| described(inner, keys)),
        _ => {}
    }
}

fn drawn(value: &Value, keys: &mut BTreeSet<String>) {
    match value {
        Value::Object(group) => {
            for (key, inner) in group {
                keys.insert(key.clone());
                drawn(inner, keys);
            }
        }
        Value::Array(list) => list.iter().for_each(|inner| drawn(inner, keys)),
        _ => {}
    }
}

#[test]
fn every_key_is_drawn() {
    let (mut wanted, mut found) = (BTreeSet::new(), BTreeSet::new());
    described(ranges::description(), &mut wanted);
    assert!(wanted.len() > 80, "{wanted:?}");
    for number in 0..ENOUGH {
        drawn(&draw::scenario(number), &mut found);
    }
    let missing: Vec<_> = wanted
        .difference(&found)
        .filter(|key| !NOT_DRAWN.contains(&key.as_str()))
        .collect();
    assert!(missing.is_empty(), "never drawn: {missing:?}");
}
