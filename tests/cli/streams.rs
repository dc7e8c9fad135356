//! Manners on the two streams: colours, closed pipes.

use std::path::Path;
use std::process::{Command as Process, Stdio};

use super::{marshgas, outcome};

const ESCAPE: char = '\u{1b}';

#[test]
fn colours_only_where_asked_for() {
    for words in [&["--help"][..], &["rnu"][..]] {
        let piped = outcome(&mut marshgas(words));
        assert!(
            !piped.1.contains(ESCAPE) && !piped.2.contains(ESCAPE),
            "{words:?}: {piped:?}"
        );
    }
    let (_, out, _) = outcome(&mut marshgas(&["--color", "always", "--help"]));
    assert!(out.contains(ESCAPE));
    let (_, _, err) = outcome(&mut marshgas(&["--color=always", "rnu"]));
    assert!(err.contains(ESCAPE));
}

#[test]
fn no_color_is_respected_and_never_means_never() {
    // This switch would ask for colours even in a pipe.
    let (_, forced, _) = outcome(marshgas(&["--help"]).env("CLICOLOR_FORCE", "1"));
    assert!(forced.contains(ESCAPE));
    let (_, plain, _) = outcome(marshgas(&["--help"]).env("NO_COLOR", "1"));
    assert!(!plain.contains(ESCAPE));
    let (_, never, _) =
        outcome(marshgas(&["--color", "never", "--help"]).env("CLICOLOR_FORCE", "1"));
    assert!(!never.contains(ESCAPE));
}

/// Runs with a reader of standard output that is gone before the first byte.
pub(crate) fn with_closed_pipe(words: &[&str], folder: &Path) -> (Option<i32>, String) {
    let mut child = Process::new(env!("CARGO_BIN_EXE_marshgas"))
        .args(words)
        .current_dir(folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    (
        output.status.code(),
        String::from_utf8_lossy(&output.stderr).into_owned(),
    )
}

#[test]
fn a_closed_pipe_is_success_without_a_word() {
    for words in [
        &["--help"][..],
        &["completions", "bash"][..],
        &["manual"][..],
        &["schema"][..],
        &["scenarios"][..],
        &["feedstocks", "--json"][..],
    ] {
        assert_eq!(
            with_closed_pipe(words, Path::new(".")),
            (Some(0), String::new()),
            "{words:?}"
        );
    }
}

#[test]
fn closed_standard_error_does_not_change_the_exit_status() {
    let mut child = Process::new(env!("CARGO_BIN_EXE_marshgas"))
        .args(["run", "no-such-file.json"])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stderr.take());
    assert_eq!(child.wait().unwrap().code(), Some(2));
}
