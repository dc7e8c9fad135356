//! `marshgas risk`.

use std::fs;

use serde_json::Value;

use super::{SHORT, run_in, stderr};

fn room() -> tempfile::TempDir {
    let room = tempfile::tempdir().unwrap();
    fs::write(room.path().join("short.json"), SHORT).unwrap();
    room
}

#[test]
fn writes_its_files_and_tells_chances() {
    let room = room();
    let words = [
        "risk",
        "short.json",
        "--draws",
        "20",
        "--feed",
        "0.5..2 in 3",
    ];
    let (status, out, err) = run_in(room.path(), &words);
    assert_eq!(status, 0, "{err}");
    let folder = room.path().join("results/short-risk");
    for name in [
        "report.html",
        "risk.json",
        "chance.svg",
        "gas.svg",
        "liquor.svg",
    ] {
        assert!(
            fs::metadata(folder.join(name)).unwrap().len() > 100,
            "{name}"
        );
        assert!(out.contains(name), "{name}");
    }
    assert!(out.contains("60 runs came through, none failed."), "{out}");
    let page = fs::read_to_string(folder.join("report.html")).unwrap();
    for words in [
        "common practice, no source",
        "sampling error",
        "how many living microbes",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn the_same_seed_gives_the_same_bytes_with_any_threads() {
    let room = room();
    let told = |threads, seed| {
        let words = [
            "risk",
            "short.json",
            "--draws",
            "20",
            "--seed",
            seed,
            "--threads",
            threads,
            "--no-files",
            "--json",
        ];
        let (status, out, err) = run_in(room.path(), &words);
        assert_eq!((status, err.as_str()), (0, ""));
        out
    };
    let one = told("1", "7");
    assert_eq!(one, told("3", "7"));
    assert_ne!(one, told("3", "8"));
    let value: Value = serde_json::from_str(&one).unwrap();
    let risk = &value["risk"];
    assert_eq!(value["schema"], "marshgas-risk");
    assert_eq!(risk["seed"], 7);
    assert_eq!(risk["generator"], "chacha8-draws-1");
    assert_eq!(risk["levels"][0]["finished"], 20);
    let starter = &risk["factors"][3];
    assert_eq!(starter["name"], "starter");
    assert_eq!(starter["distribution"]["log_normal"]["factor"], 3.0);
    assert!(!room.path().join("results").exists());
}

#[test]
fn unknowns_can_be_left_out_kept_alone_and_held() {
    let room = room();
    let factors = |more: &[&str]| {
        let mut words = vec![
            "risk",
            "short.json",
            "--draws",
            "20",
            "--no-files",
            "--json",
        ];
        words.extend(more);
        let (status, out, err) = run_in(room.path(), &words);
        assert_eq!(status, 0, "{err}");
        let value: Value = serde_json::from_str(&out).unwrap();
        let all = value["risk"]["factors"].as_array().unwrap().clone();
        all.into_iter()
            .map(|f| {
                let fixed = f["distribution"]["fixed"]["value"].as_f64();
                (f["name"].as_str().unwrap().to_owned(), fixed)
            })
            .collect::<Vec<_>>()
    };
    let held =
        |all: &[(String, Option<f64>)], name: &str| all.iter().find(|(n, _)| n == name).unwrap().1;
    let without = factors(&["--without", "temperature,starter"]);
    assert_eq!(
        (held(&without, "temperature"), held(&without, "starter")),
        (Some(0.0), Some(1.0))
    );
    assert_eq!(held(&without, "ammonia"), None);
    let only = factors(&[
        "--only",
        "temperature",
        "--fix",
        "starter=0.3",
        "--fix",
        "alkalinity=-1",
    ]);
    assert_eq!(only.iter().filter(|(_, fixed)| fixed.is_none()).count(), 1);
    assert_eq!(
        (held(&only, "starter"), held(&only, "alkalinity")),
        (Some(0.3), Some(-1.0))
    );
}

#[test]
fn bad_words_are_bad_input() {
    let told = stderr(2, &["risk", "warm-tote", "--without", "stater"]);
    assert!(told.contains("Did you mean starter?"), "{told}");
    assert!(stderr(2, &["risk", "warm-tote", "--draws", "3"]).contains("20 or more"));
    assert!(stderr(2, &["risk", "warm-tote", "--feed", "2..1 in 3"]).contains("write `1..2`"));
    assert!(stderr(2, &["risk", "warm-tote", "--feed", "1..30 in 3"]).contains("0 to 20"));
    assert!(stderr(2, &["risk", "warm-tote", "--feed", "2..0.5"]).contains("`0.5..2 in 7`"));
    assert!(stderr(2, &["risk", "warm-tote", "--draws", "1000000"]).contains("20 to 100000"));
    // What is wrong with the question comes alone, not behind the remarks on the scenario.
    for words in [
        ["risk", "cold-yard", "--draws", "3"],
        ["sweep", "cold-yard", "--vary", "feed=3..1 in 3"],
        ["limit", "cold-yard", "--day", "9999"],
    ] {
        let told = stderr(2, &words);
        assert!(told.starts_with("error:"), "{told}");
    }
    assert!(stderr(2, &["risk", "warm-tote", "--feed", "-1"]).contains("0 to 20"));
    assert!(stderr(2, &["risk", "warm-tote", "--feed", "0,5"]).contains("decimal comma"));
    assert!(stderr(2, &["risk", "warm-tote", "--fix", "starter"]).contains("starter=0.3"));
    assert!(stderr(2, &["risk", "warm-tote", "--fix", "starter=nan"]).contains("finite"));
    assert!(stderr(2, &["risk", "warm-tote", "--fix", "starter=-1"]).contains("0 or more"));
    assert!(stderr(2, &["risk", "warm-tote", "--threads", "0"]).contains("1 to 256"));
    assert!(
        stderr(2, &["risk", "warm-tote", "--only", "a", "--without", "b"]).contains("--without")
    );
}

/// Ctrl-C: what is done is told and kept, and the exit status says that it is not all.
#[cfg(unix)]
#[test]
fn an_interruption_reports_what_is_done_with_status_1() {
    let room = room();
    let words = ["risk", "short.json", "--draws", "100000", "--threads", "1"];
    let ended = super::interrupted(room.path(), &words, std::time::Duration::from_secs(3));
    let err = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(1), "{err}");
    assert!(err.contains("of 100000 runs"), "{err}");
    assert!(room.path().join("results/short-risk/risk.json").exists());
    let out = String::from_utf8(ended.stdout).unwrap();
    assert!(out.contains("stopped early"), "{out}");
}
