//! Black-box tests of the `marshgas` binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot start the program fails"
)]

mod check;
mod diary;
mod diary_learn;
mod faults;
mod help;
mod leak;
mod limit;
mod lists;
mod manual;
mod new;
mod readme;
mod risk;
mod run;
mod season;
mod size;
mod size_plant;
mod size_rest;
mod startup;
mod streams;
mod sweep;

use std::path::Path;

use assert_cmd::Command;

/// All commands, as `--help` lists them.
const COMMANDS: &[&str] = &[
    "run",
    "risk",
    "startup",
    "sweep",
    "limit",
    "season",
    "size",
    "leak",
    "diary",
    "new",
    "check",
    "feedstocks",
    "schema",
    "evidence",
    "scenarios",
    "completions",
    "manual",
];

/// A run of a few days, so that the tests are quick.
const SHORT: &str = r#"{
    "title": "A short run",
    "about": "Invented for this test.",
    "days": 6,
    "vessels": [{ "liquid_l": 800, "headspace_l": 200, "temperature": { "constant_c": 30 } }],
    "starter": { "materials": [{ "material": "cattle-slurry", "kg": 400 }], "water_l": 300 },
    "recipes": { "bucket": { "materials": [{ "material": "cattle-dung", "kg": 2 }], "water_l": 4 } },
    "feeding": [{ "daily": { "recipe": "bucket", "from_day": 2 } }]
}"#;

/// The program in an empty working folder's environment: no colour switches from outside.
fn marshgas(words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_marshgas"));
    command
        .args(words)
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE")
        .env_remove("CLICOLOR");
    command
}

/// Exit status, standard output, standard error.
fn outcome(command: &mut Command) -> (i32, String, String) {
    let output = command.output().unwrap();
    (
        output.status.code().expect("ended by a signal"),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

/// The same of a command in a folder.
fn run_in(folder: &Path, words: &[&str]) -> (i32, String, String) {
    outcome(marshgas(words).current_dir(folder))
}

/// The result of a command that must succeed without a word on standard error.
fn stdout(words: &[&str]) -> String {
    let (status, out, err) = outcome(&mut marshgas(words));
    assert_eq!((status, err.as_str()), (0, ""), "{words:?}");
    out
}

/// Standard error of a command that must fail with this status and write no result.
fn stderr(status: i32, words: &[&str]) -> String {
    let (found, out, err) = outcome(&mut marshgas(words));
    assert_eq!((found, out.as_str()), (status, ""), "{words:?}: {err}");
    err
}

/// What becomes of a command that gets Ctrl-C after a while.
#[cfg(unix)]
fn interrupted(folder: &Path, words: &[&str], after: std::time::Duration) -> std::process::Output {
    use std::process::Stdio;
    let child = std::process::Command::new(env!("CARGO_BIN_EXE_marshgas"))
        .args(words)
        .current_dir(folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(after);
    let pid = child.id().to_string();
    let sent = std::process::Command::new("kill")
        .args(["-INT", &pid])
        .status()
        .unwrap();
    assert!(sent.success());
    child.wait_with_output().unwrap()
}
