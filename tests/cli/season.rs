//! `marshgas season`.

use std::fs;

use serde_json::Value;

use super::{stderr, stdout};

/// The bundled scenario, shorter.
fn short(days: u32) -> (tempfile::TempDir, String) {
    let room = tempfile::tempdir().unwrap();
    let mut scenario: Value =
        serde_json::from_str(&stdout(&["scenarios", "winter-engine"])).unwrap();
    scenario["days"] = days.into();
    let file = room.path().join("short.json");
    fs::write(&file, scenario.to_string()).unwrap();
    let name = file.to_str().unwrap().to_owned();
    (room, name)
}

#[test]
fn one_sheet_a_table_and_a_calendar() {
    let (room, file) = short(60);
    let out = room.path().join("year");
    let told = stdout(&["season", &file, "--out", out.to_str().unwrap()]);
    for words in [
        "Season:",
        "Hours served",
        "Month by month",
        "Hours by month",
        "Frost",
        "nights",
        "Chores",
        "balances of the plant close",
    ] {
        assert!(told.contains(words), "no {words} in {told}");
    }
    for name in ["report.html", "plant.csv", "season.json", "chores.ics"] {
        assert!(out.join(name).is_file(), "{name}");
        assert!(told.contains(name), "{name}");
    }
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    for words in [
        "What can hurt",
        "Store:",
        "Cleaning:",
        "Engine and flames:",
        "Residue:",
        "What surprises about cleaning",
        "Frost: seals, traps and pipes",
    ] {
        assert!(page.contains(words), "no {words}");
    }
    let table = fs::read_to_string(out.join("plant.csv")).unwrap();
    assert_eq!(table.lines().count(), 61);
    let json: Value =
        serde_json::from_str(&fs::read_to_string(out.join("season.json")).unwrap()).unwrap();
    assert_eq!(json["schema"], "marshgas-season");
    assert_eq!(json["season"]["days"].as_array().unwrap().len(), 60);
}

#[test]
fn json_holds_it_all_and_no_files_writes_none() {
    let (room, file) = short(30);
    let told: Value =
        serde_json::from_str(&stdout(&["season", &file, "--no-files", "--json"])).unwrap();
    assert_eq!(told["files"].as_array().unwrap().len(), 0);
    assert!(!told["season"]["chores"].as_array().unwrap().is_empty());
    assert_eq!(fs::read_dir(room.path()).unwrap().count(), 1);
}

#[test]
fn a_scenario_without_a_plant_is_told_how_to_add_one() {
    let told = stderr(2, &["season", "warm-tote", "--no-files"]);
    assert!(
        told.contains("\"plant\"") && told.contains("\"store\""),
        "{told}"
    );
    let told: Value =
        serde_json::from_str(&stderr(2, &["season", "warm-tote", "--no-files", "--json"])).unwrap();
    assert_eq!(told["error"]["code"], "study");
}

#[test]
fn a_run_points_to_the_season() {
    let (_room, file) = short(20);
    assert!(stdout(&["run", &file, "--no-files"]).contains("marshgas season"));
    assert!(!stdout(&["run", "school-bottle", "--no-files"]).contains("marshgas season"));
}
