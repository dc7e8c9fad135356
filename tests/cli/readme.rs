//! What README.md shows works as it stands there.

use std::fs;
use std::path::Path;
use std::process::Command as Process;

use super::{COMMANDS, stdout};

fn readme() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap()
}

/// Lines of the fenced blocks of one kind, without the indent of a list.
fn blocks(kind: &str) -> Vec<String> {
    let mut blocks = Vec::new();
    let mut open: Option<(bool, String)> = None;
    for line in readme().lines() {
        match (line.trim().strip_prefix("```"), &mut open) {
            (Some(found), None) => open = Some((found == kind, String::new())),
            (Some(_), Some(_)) => blocks.extend(
                open.take()
                    .filter(|(wanted, _)| *wanted)
                    .map(|(_, text)| text),
            ),
            (None, Some((_, text))) => text.push_str(&format!("{}\n", line.trim())),
            (None, None) => {}
        }
    }
    blocks
}

#[test]
fn every_command_runs_in_the_order_of_the_page() {
    let room = tempfile::tempdir().unwrap();
    let program = Path::new(env!("CARGO_BIN_EXE_marshgas"));
    let commands: Vec<String> = blocks("").concat().lines().map(str::to_owned).collect();
    let mut run = 0;
    for command in commands.iter().filter(|line| line.starts_with("marshgas ")) {
        let (words, into) = match command.split_once(" > ") {
            Some((words, file)) => (words, Some(file)),
            None => (command.as_str(), None),
        };
        let words: Vec<&str> = words.split_whitespace().skip(1).collect();
        let output = Process::new(program)
            .args(&words)
            .current_dir(room.path())
            .output()
            .unwrap();
        assert!(
            output.status.success(),
            "{command}: {}",
            String::from_utf8_lossy(&output.stderr)
        );
        if let Some(file) = into {
            fs::write(room.path().join(file), &output.stdout).unwrap();
        }
        run += 1;
    }
    assert!(run >= 10, "only {run} commands found");
}

#[test]
fn the_example_scenario_has_no_problems_and_no_warnings() {
    let room = tempfile::tempdir().unwrap();
    let examples = blocks("json");
    assert_eq!(examples.len(), 1);
    let file = room.path().join("example.json");
    fs::write(&file, &examples[0]).unwrap();
    let told = stdout(&["check", file.to_str().unwrap()]);
    assert!(
        told.contains("no problems") && told.contains("No warnings."),
        "{told}"
    );
}

#[test]
fn the_keys_in_the_table_are_those_of_the_schema() {
    let schema: serde_json::Value = serde_json::from_str(&stdout(&["schema"])).unwrap();
    let page = readme();
    for key in schema["properties"]
        .as_object()
        .unwrap()
        .keys()
        .filter(|key| *key != "$schema")
    {
        assert!(
            page.contains(&format!("`{key}`")),
            "{key} is not in README.md"
        );
    }
}

#[test]
fn every_command_is_named() {
    let page = readme();
    for command in COMMANDS {
        assert!(
            page.contains(&format!("`{command}`")) || page.contains(&format!("`{command} ")),
            "{command}"
        );
    }
}

#[test]
fn the_first_command_names_a_scenario_of_this_repository() {
    let first = blocks("").concat();
    let command = first
        .lines()
        .find(|line| line.starts_with("cargo run --release -- run "))
        .unwrap();
    let file = command.split_whitespace().last().unwrap();
    assert!(
        Path::new(env!("CARGO_MANIFEST_DIR")).join(file).exists(),
        "{file}"
    );
}
