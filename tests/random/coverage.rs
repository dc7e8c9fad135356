//! No key of a scenario is left out of the draws.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::{draw, ranges};

/// Keys that no draw can hold: an editor's note, a file beside the scenario.
const NOT_DRAWN: [&str; 3] = ["$schema", "file", "table"];
/// A known gap: weather, heat balance and plant are not drawn yet, nor are these single keys.
const NOT_YET: [&str; 6] = [
    "climate",
    "heat",
    "plant",
    "degradable_factor",
    "energy_kcal",
    "energy_kj",
];
/// The parts of the description that stand behind them.
const PARTS_NOT_YET: &[&str] = &[
    "Appliance",
    "Bag",
    "Bed",
    "BedMaterial",
    "Bell",
    "Burner",
    "Climate",
    "Demand",
    "Drum",
    "Engine",
    "EngineKind",
    "Film",
    "Flare",
    "Foam",
    "GasBag",
    "Greenhouse",
    "Heat",
    "Heater",
    "Lamp",
    "Line",
    "Meets",
    "Plant",
    "Refill",
    "ResidueStore",
    "Shell",
    "Soil",
    "Stage",
    "StandsOn",
    "Sun",
    "SunnyFace",
    "Surface",
    "Tote",
    "Wall",
    "WaterTrap",
    "WeatherTable",
    "Weekday",
];
/// Scenarios in which every key must have turned up.
const ENOUGH: u64 = 1500;

/// All names of properties anywhere in the description.
fn described(value: &Value, keys: &mut BTreeSet<String>) {
    match value {
        Value::Object(group) => {
            if let Some(Value::Object(properties)) = group.get("properties") {
                keys.extend(properties.keys().cloned());
            }
            let all = group.iter();
            all.filter(|(name, _)| !PARTS_NOT_YET.contains(&name.as_str()))
                .for_each(|(_, inner)| described(inner, keys));
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
        .filter(|key| !NOT_DRAWN.contains(&key.as_str()) && !NOT_YET.contains(&key.as_str()))
        .collect();
    assert!(missing.is_empty(), "never drawn: {missing:?}");
}
