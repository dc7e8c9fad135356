//! `marshgas new`.

use std::fs;

use serde_json::Value;

use super::{marshgas, outcome, stderr, stdout};

/// Names of all templates.
fn templates() -> Vec<String> {
    let told: Value = serde_json::from_str(&stdout(&["new", "--list", "--json"])).unwrap();
    let list = told["templates"].as_array().unwrap();
    list.iter()
        .map(|template| template["name"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn every_template_is_listed_and_makes_a_sound_scenario() {
    let room = tempfile::tempdir().unwrap();
    let listed = stdout(&["new", "--list"]);
    assert!(!templates().is_empty());
    for name in templates() {
        assert!(listed.contains(&name), "{name} is not in {listed}");
        let file = room.path().join(format!("{name}.json"));
        let file = file.to_str().unwrap();
        let told = stdout(&["new", file, "--template", &name]);
        assert!(
            told.contains(file) && told.contains("marshgas check"),
            "{told}"
        );
        assert!(stdout(&["check", file]).contains("no problems"), "{name}");
    }
}

#[test]
fn the_default_template_is_the_one_that_help_names() {
    let room = tempfile::tempdir().unwrap();
    let file = room.path().join("mine.json");
    let told: Value =
        serde_json::from_str(&stdout(&["new", file.to_str().unwrap(), "--json"])).unwrap();
    let name = told["template"].as_str().unwrap();
    assert!(stdout(&["new", "--help"]).contains(&format!("[default: {name}]")));
}

#[test]
fn nothing_is_overwritten() {
    let room = tempfile::tempdir().unwrap();
    let file = room.path().join("mine.json");
    fs::write(&file, "mine").unwrap();
    let told = stderr(2, &["new", file.to_str().unwrap()]);
    assert!(
        told.contains("mine.json") && told.contains("already there"),
        "{told}"
    );
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    assert!(stderr(2, &["new", room.path().to_str().unwrap()]).contains("already there"));
}

#[test]
fn a_missing_folder_is_told() {
    let room = tempfile::tempdir().unwrap();
    let file = room.path().join("no/such/mine.json");
    assert!(stderr(2, &["new", file.to_str().unwrap()]).contains("folder does not exist"));
}

#[test]
fn an_unknown_template_brings_the_nearest_name_and_makes_nothing() {
    let room = tempfile::tempdir().unwrap();
    let mut command = marshgas(&["new", "mine.json", "--template", "totte"]);
    let (status, out, err) = outcome(command.current_dir(room.path()));
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(
        err.contains("Did you mean tote?") && err.contains("--list"),
        "{err}"
    );
    assert_eq!(fs::read_dir(room.path()).unwrap().count(), 0);
}

#[test]
fn a_file_or_the_list_but_one_of_them() {
    assert!(stderr(2, &["new"]).contains("FILE"));
    assert!(stderr(2, &["new", "mine.json", "--list"]).contains("--list"));
    let told = stderr(2, &["new", "mine.json", "--template", "cold-yard"]);
    assert!(
        told.contains("marshgas scenarios cold-yard > mine.json"),
        "{told}"
    );
}
