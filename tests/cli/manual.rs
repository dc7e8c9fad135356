//! Completions and manual pages.

use std::fs;

use super::{COMMANDS, stderr, stdout};

#[test]
fn every_shell_gets_a_script_that_knows_every_command() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = stdout(&["completions", shell]);
        for command in COMMANDS {
            assert!(script.contains(command), "{shell}: {command}");
        }
        let value: serde_json::Value =
            serde_json::from_str(&stdout(&["completions", shell, "--json"])).unwrap();
        assert_eq!(value["shell"], shell);
        assert_eq!(value["script"], script);
    }
}

#[test]
fn bash_takes_its_script() {
    let script = stdout(&["completions", "bash"]);
    let Ok(mut bash) = std::process::Command::new("bash")
        .arg("-n")
        .stdin(std::process::Stdio::piped())
        .spawn()
    else {
        return; // No bash here.
    };
    std::io::Write::write_all(&mut bash.stdin.take().unwrap(), script.as_bytes()).unwrap();
    assert!(bash.wait().unwrap().success());
}

#[test]
fn an_unknown_shell_is_bad_input_and_the_known_ones_are_named() {
    let told = stderr(2, &["completions", "fishh"]);
    assert!(told.contains("bash") && told.contains("'fish'"), "{told}");
}

#[test]
fn the_main_page_is_roff_with_options_and_exit_status() {
    let page = stdout(&["manual"]);
    assert!(page.contains(".TH marshgas 1"), "{page}");
    assert!(
        page.contains(".SH SYNOPSIS") && page.contains("Exit status:"),
        "{page}"
    );
    let value: serde_json::Value = serde_json::from_str(&stdout(&["manual", "--json"])).unwrap();
    assert_eq!(value["page"], page);
}

#[test]
fn one_page_for_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("share/man1");
    let listed = stdout(&["manual", "--out", out.to_str().unwrap()]);
    let mut wanted = vec!["marshgas.1".to_owned()];
    wanted.extend(
        COMMANDS
            .iter()
            .map(|command| format!("marshgas-{command}.1")),
    );
    for name in &wanted {
        let page = fs::read_to_string(out.join(name)).unwrap();
        assert!(page.contains(".SH NAME"), "{name}");
        assert!(
            listed.contains(name.as_str()),
            "{name} is not listed in {listed}"
        );
    }
    assert_eq!(fs::read_dir(&out).unwrap().count(), wanted.len());
}

#[test]
fn a_file_in_the_way_is_bad_input() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    fs::write(&file, "mine").unwrap();
    let told = stderr(2, &["manual", "--out", file.to_str().unwrap()]);
    assert!(
        told.contains("this is a file") && told.contains("--out"),
        "{told}"
    );
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
}
