//! Help and usage.

use super::{COMMANDS, marshgas, outcome, stderr, stdout};

/// The long and the short help of every command and of the program.
fn every_help() -> Vec<(String, String)> {
    let mut all = Vec::new();
    for flag in ["--help", "-h"] {
        all.push((format!("marshgas {flag}"), stdout(&[flag])));
        for command in COMMANDS {
            all.push((
                format!("marshgas {command} {flag}"),
                stdout(&[command, flag]),
            ));
        }
    }
    all
}

#[test]
fn lists_every_command_with_its_purpose() {
    let help = stdout(&["--help"]);
    let listed: Vec<(&str, &str)> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .map(|line| {
            line.trim()
                .split_once(' ')
                .expect("a command without a purpose")
        })
        .collect();
    let names: Vec<&str> = listed.iter().map(|(name, _)| *name).collect();
    assert_eq!(names, COMMANDS);
    for (name, purpose) in listed {
        assert!(purpose.trim().len() > 15, "{name}: {purpose}");
    }
}

#[test]
fn no_line_is_wider_than_80_columns() {
    for (command, help) in every_help() {
        for line in help.lines() {
            assert!(line.chars().count() <= 80, "{command}: {line}");
        }
    }
}

#[test]
fn every_command_shows_an_example_of_itself() {
    for (command, help) in every_help() {
        let (_, examples) = help
            .split_once("\nExamples:\n")
            .unwrap_or_else(|| panic!("{command} has no example"));
        let name = command.trim_end_matches(" --help").trim_end_matches(" -h");
        assert!(examples.contains(name), "{command}: {examples}");
    }
}

#[test]
fn every_option_has_help() {
    for command in COMMANDS {
        let help = stdout(&[command, "-h"]);
        let lines: Vec<&str> = help.lines().collect();
        for (i, line) in lines
            .iter()
            .enumerate()
            .filter(|(_, line)| line.trim_start().starts_with('-'))
        {
            let words = line
                .trim()
                .split("  ")
                .filter(|part| !part.is_empty())
                .count();
            let below = lines
                .get(i + 1)
                .is_some_and(|next| next.starts_with("          "));
            assert!(words >= 2 || below, "{command}: no help for {line}");
        }
    }
}

#[test]
fn the_exit_statuses_are_told() {
    let help = stdout(&["--help"]);
    for line in ["  0  done", "  1  the job failed", "  2  bad input"] {
        assert!(help.contains(line), "{line}");
    }
}

#[test]
fn no_command_is_bad_input_and_shows_the_help() {
    assert!(stderr(2, &[]).contains("Usage: marshgas"));
}

#[test]
fn wrong_words_are_bad_input() {
    assert!(stderr(2, &["runn", "tote.json"]).contains("'run'"));
    assert!(stderr(2, &["run"]).contains("<FILE>"));
    assert!(stderr(2, &["run", "a.json", "--outt", "b"]).contains("--out"));
    assert!(stderr(2, &["run", "a.json", "--color", "green"]).contains("auto"));
    assert!(stderr(2, &["schema", "too"]).contains("too"));
}

#[test]
fn wrong_words_with_json_are_told_as_json() {
    let told = stderr(2, &["--json", "rnu"]);
    let value: serde_json::Value = serde_json::from_str(&told).unwrap();
    assert_eq!(value["error"]["code"], "usage");
    assert_eq!(value["error"]["exit_status"], 2);
    assert!(
        value["error"]["message"]
            .as_str()
            .unwrap()
            .starts_with("unrecognized subcommand 'rnu'")
    );
}

#[test]
fn the_version_is_that_of_the_package() {
    assert_eq!(
        stdout(&["--version"]),
        format!("marshgas {}\n", env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn the_width_of_the_terminal_does_not_widen_help() {
    let (status, out, _) = outcome(marshgas(&["run", "--help"]).env("COLUMNS", "200"));
    assert_eq!(status, 0);
    assert!(out.lines().all(|line| line.chars().count() <= 80));
}
