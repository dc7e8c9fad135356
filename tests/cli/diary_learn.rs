//! `diary fit` and `diary diagnose` from outside.

use std::fs;

use assert_cmd::Command;

fn marshgas() -> Command {
    Command::cargo_bin("marshgas").unwrap()
}

/// Ten invented days of a young tote: no gas to speak of, and a temperature.
const SCRAP: &str = "date,gas_l,tank_c\n2026-03-02,0,20\n2026-03-03,0,20\n2026-03-04,0,21\n2026-03-06,0,20\n\
2026-03-08,0,20\n2026-03-10,0,19\n";

#[test]
fn a_scrap_gives_stories_a_test_and_a_scenario() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("scrap.csv");
    fs::write(&record, SCRAP).unwrap();
    let run = |what: &str, out: &str| -> serde_json::Value {
        let done = marshgas()
            .args(["diary", what])
            .arg(&record)
            .args(["--scenario", "warm-tote", "--json", "--out"])
            .arg(folder.path().join(out))
            .output()
            .unwrap();
        assert!(
            done.status.success(),
            "{}",
            String::from_utf8_lossy(&done.stderr)
        );
        serde_json::from_slice(&done.stdout).unwrap()
    };
    let why = run("diagnose", "why");
    let stories = why["result"]["stories"].as_array().unwrap();
    assert_eq!(stories.len(), 8);
    let total: f64 = stories.iter().map(|s| s["chance"].as_f64().unwrap()).sum();
    assert!((total - 1.0).abs() < 1e-9, "{total}");
    assert!(!why["result"]["tests"].as_array().unwrap().is_empty());
    let page = fs::read_to_string(folder.path().join("why/report.html")).unwrap();
    assert!(page.contains("Methane explodes in air"));
    let fit = run("fit", "fit");
    assert_eq!(fit["result"]["unknowns"].as_array().unwrap().len(), 6);
    marshgas()
        .arg("check")
        .arg(folder.path().join("fit/fitted.json"))
        .assert()
        .success();
}

#[test]
fn a_record_without_numbers_is_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("empty.csv");
    fs::write(&record, "date,tank_c\n2026-03-02,20\n").unwrap();
    for what in ["fit", "diagnose"] {
        let done = marshgas()
            .args(["diary", what])
            .arg(&record)
            .args(["--scenario", "warm-tote"])
            .output()
            .unwrap();
        assert_eq!(done.status.code(), Some(2));
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        assert!(told.contains("holds no gas"), "{told}");
    }
}
