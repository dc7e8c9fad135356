//! `marshgas check`.

use std::fs;

use serde_json::Value;

use super::{stderr, stdout};

/// Two mistakes on different lines.
const TWO_MISTAKES: &str = r#"{
    "title": "Two mistakes",
    "days": 0,
    "vessels": [{ "liquid_l": 800, "headspace_l": 200, "temperature": { "constant_c": 30 } }],
    "starter": { "materials": [{ "material": "cattle-slury", "kg": 400 }], "water_l": 300 }
}"#;

fn written(text: &str) -> (tempfile::TempDir, String) {
    let room = tempfile::tempdir().unwrap();
    let file = room.path().join("two.json");
    fs::write(&file, text).unwrap();
    let file = file.to_str().unwrap().to_owned();
    (room, file)
}

#[test]
fn tells_facts_of_the_recipes_with_units() {
    let text = stdout(&["check", "warm-tote"]);
    for words in [
        "no problems",
        "Starter",
        "Recipe ",
        "carbon to nitrogen",
        "kg VS/m3/d",
        "Feeding",
    ] {
        assert!(text.contains(words), "{words} is not in {text}");
    }
}

#[test]
fn tells_heater_and_plant_where_there_are_some() {
    let text = stdout(&["check", "winter-engine"]);
    let raw: Value = serde_json::from_str(&stdout(&["scenarios", "winter-engine"])).unwrap();
    let plant = text
        .split("\nPlant\n")
        .nth(1)
        .unwrap()
        .split("\n\n")
        .next()
        .unwrap();
    let rows = plant
        .lines()
        .filter(|l| l.trim_start().starts_with("cleaning"))
        .count();
    assert_eq!(
        rows,
        raw["plant"]["cleaning"].as_array().unwrap().len(),
        "{text}"
    );
    for name in raw["plant"]["appliances"].as_object().unwrap().keys() {
        assert!(plant.contains(name), "{name}: {text}");
    }
    for words in ["store", "L usable", "h a week", "flare", "residue"] {
        assert!(plant.contains(words), "{words}: {text}");
    }
    let heater = text.split("\nHeater\n").nth(1).unwrap();
    assert!(
        heater.contains("W at most, set to") && heater.contains("own gas"),
        "{text}"
    );
    let told: Value = serde_json::from_str(&stdout(&["check", "winter-engine", "--json"])).unwrap();
    let demands = raw["plant"]["timetable"].as_array().unwrap();
    let hours: f64 = demands
        .iter()
        .map(|d| {
            d["hours"].as_f64().unwrap() * d["weekdays"].as_array().map_or(7.0, |w| w.len() as f64)
        })
        .sum();
    let appliances = told["plant"]["appliances"].as_array().unwrap();
    let listed: f64 = appliances
        .iter()
        .map(|a| a["hours_a_week"].as_f64().unwrap())
        .sum();
    assert!((hours - listed).abs() < 1e-9, "{told}");
    let bare = stdout(&["check", "warm-tote"]);
    assert!(
        !bare.contains("\nPlant\n") && !bare.contains("\nHeater\n"),
        "{bare}"
    );
}

#[test]
fn json_holds_the_same_facts() {
    let told: Value = serde_json::from_str(&stdout(&["check", "warm-tote", "--json"])).unwrap();
    assert!(told["facts"]["liquid_l"].as_f64().unwrap() > 0.0);
    let recipe = &told["facts"]["recipes"][0];
    let ratio = recipe["mixture"]["carbon_to_nitrogen"].as_f64().unwrap();
    assert!((5.0..60.0).contains(&ratio), "{ratio}");
    assert!(told["warnings"].is_array());
}

#[test]
fn all_problems_at_once_with_file_line_value_and_mend() {
    let (_room, file) = written(TWO_MISTAKES);
    let told = stderr(2, &["check", &file]);
    assert!(told.contains(&file), "{told}");
    assert!(
        told.contains("line 3") && told.contains("days is 0"),
        "{told}"
    );
    assert!(
        told.contains("line 5") && told.contains("cattle-slurry"),
        "{told}"
    );
    assert!(told.contains("Allowed: "), "{told}");
}

#[test]
fn all_problems_as_json() {
    let (_room, file) = written(TWO_MISTAKES);
    let told: Value = serde_json::from_str(&stderr(2, &["check", &file, "--json"])).unwrap();
    assert_eq!(told["error"]["code"], "scenario");
    let problems = told["error"]["problems"].as_array().unwrap();
    assert_eq!(problems.len(), 2);
    assert_eq!(problems[0]["path"], "days");
    assert_eq!(problems[0]["line"], 3);
    assert_eq!(problems[1]["path"], "starter.materials[0].material");
}

#[test]
fn warnings_bring_their_reasons_and_leave_the_status_alone() {
    let (_room, file) = written(
        &TWO_MISTAKES
            .replace("\"days\": 0", "\"days\": 9")
            .replace("cattle-slury\", \"kg\": 400", "cattle-slurry\", \"kg\": 20"),
    );
    let text = stdout(&["check", &file]);
    assert!(text.contains("Warnings"), "{text}");
    let told: Value = serde_json::from_str(&stdout(&["check", &file, "--json"])).unwrap();
    let warnings = told["warnings"].as_array().unwrap();
    assert!(!warnings.is_empty());
    for warning in warnings {
        for part in ["seen", "why", "mend"] {
            assert!(!warning[part].as_str().unwrap().is_empty(), "{warning}");
        }
    }
}
