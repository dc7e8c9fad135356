//! `marshgas diary`.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

use super::{marshgas, outcome, stderr, stdout};

fn room() -> tempfile::TempDir {
    let room = tempfile::tempdir().unwrap();
    let (status, out, err) = at(room.path(), &["new", "mine.csv"]);
    assert_eq!((status, err.as_str()), (0, ""), "{out}");
    room
}

fn at(room: &Path, words: &[&str]) -> (i32, String, String) {
    let mut all = vec!["diary"];
    all.extend(words);
    outcome(marshgas(&all).current_dir(room))
}

fn text(room: &Path, name: &str) -> String {
    fs::read_to_string(room.join(name)).unwrap()
}

#[test]
fn a_record_grows_line_by_line_and_keeps_the_version_before() {
    let room = room();
    let empty = text(room.path(), "mine.csv");
    assert!(empty.starts_with("date,time,fed,water_l,"));
    let words = "2026-04-30 fed 2 kg kitchen-scraps water 2 gas 310 temp 24 ph 7.1 burns";
    let mut all = vec!["add", "mine.csv"];
    all.extend(words.split(' '));
    let (status, out, err) = at(room.path(), &all);
    assert_eq!((status, err.as_str()), (0, ""));
    for part in [
        "line 2: 2026-04-30",
        "2 kg kitchen-scraps",
        "310 L",
        "24 C",
        "7.1",
        "burns",
    ] {
        assert!(out.contains(part), "{part}: {out}");
    }
    let one = text(room.path(), "mine.csv");
    assert_eq!(
        one,
        format!("{empty}2026-04-30,,2 kg kitchen-scraps,2,24,310,,,,,7.1,,yes,,,\n")
    );
    assert_eq!(text(room.path(), "mine.csv.bak"), empty);
    let (status, out, err) = at(
        room.path(),
        &[
            "add",
            "mine.csv",
            "1.5.2026 temp -1 note odd, \"very\"",
            "--json",
        ],
    );
    assert_eq!((status, err.as_str()), (0, ""));
    let told: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(told["line"], 3);
    assert_eq!(told["understood"]["tank"], "-1 C");
    assert_eq!(text(room.path(), "mine.csv.bak"), one);
    assert!(text(room.path(), "mine.csv").starts_with(&one));
}

#[test]
fn what_is_not_understood_changes_nothing() {
    let room = room();
    let before = text(room.path(), "mine.csv");
    for words in [
        "ph 17",
        "hello",
        "fed kitchen-scraps",
        "gas",
        "ph 7 ph 8",
        "gas 1.450",
        "gas 1,450",
        "temp -14",
        "temp 76",
    ] {
        let (status, out, err) = at(room.path(), &["add", "mine.csv", words]);
        assert_eq!((status, out.as_str()), (2, ""), "{words}: {err}");
        assert!(err.contains("Nothing was written"), "{words}: {err}");
    }
    assert_eq!(text(room.path(), "mine.csv"), before);
    assert!(!room.path().join("mine.csv.bak").exists());
    let (status, _, err) = at(room.path(), &["new", "mine.csv"]);
    assert_eq!(status, 2);
    assert!(err.contains("already there"), "{err}");
    let (status, _, err) = at(room.path(), &["add", "other.csv", "ph 7"]);
    assert_eq!(status, 2);
    assert!(err.contains("diary new"), "{err}");
}

#[test]
fn a_feed_that_looks_like_a_slip_is_refused_until_it_is_said_to_be_own() {
    let room = room();
    let before = text(room.path(), "mine.csv");
    let (status, _, err) = at(room.path(), &["add", "mine.csv", "fed 2 kitchen-scarps"]);
    assert_eq!(status, 2, "{err}");
    assert!(err.contains("Did you mean kitchen-scraps?"), "{err}");
    assert_eq!(text(room.path(), "mine.csv"), before);
    let own = ["add", "mine.csv", "--own", "fed 2 kitchen-scarps"];
    let (status, out, err) = at(room.path(), &own);
    assert_eq!((status, err.as_str()), (0, ""));
    assert!(out.contains("one of your own"), "{out}");
    // From then on the record knows it.
    let (status, out, _) = at(room.path(), &["add", "mine.csv", "fed 1 kitchen-scarps"]);
    assert_eq!(status, 0);
    assert!(!out.contains("look again"), "{out}");
    // Like nothing known, so no slip.
    let (status, out, _) = at(room.path(), &["add", "mine.csv", "fed 1 zzqx"]);
    assert_eq!(status, 0);
    assert!(out.contains("one of your own"), "{out}");
}

#[test]
fn another_name_of_a_material_is_told_and_stays_in_the_record() {
    let room = room();
    for own in [&["add", "mine.csv"][..], &["add", "mine.csv", "--own"]] {
        let words = [own, &["2026-04-30 fed 2 kg noodles"]].concat();
        let (status, out, err) = at(room.path(), &words);
        assert_eq!(status, 0, "{err}");
        assert!(out.contains("2 kg noodles"), "{out}");
        let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(err.contains("It is taken for cooked-starch"), "{err}");
    }
    assert!(text(room.path(), "mine.csv").contains(",2 kg noodles,"));
    // The report says it again, and a material of the owner's goes before.
    let show = |scenario: &str| {
        let words = ["show", "mine.csv", "--scenario", scenario, "--json"];
        let (status, out, err) = at(room.path(), &words);
        assert_eq!(status, 0, "{err}");
        out.matches("is taken for cooked-starch of the library")
            .count()
    };
    assert_eq!(show("warm-tote"), 1);
    let mut tank: Value = serde_json::from_str(&stdout(&["scenarios", "warm-tote"])).unwrap();
    tank["materials"]["noodles"] = serde_json::json!({ "label_per_100_g": {
        "water_g": 85, "carbohydrate_g": 9, "fibre_g": 2, "protein_g": 2, "fat_g": 3
    } });
    fs::write(room.path().join("tank.json"), tank.to_string()).unwrap();
    assert_eq!(show("tank.json"), 0);
}

#[test]
fn many_writers_at_once_lose_nothing() {
    let room = room();
    let writers: Vec<_> = (0..24)
        .map(|i| {
            Command::new(env!("CARGO_BIN_EXE_marshgas"))
                .args([
                    "diary",
                    "add",
                    "mine.csv",
                    &format!("2026-04-30 gas {i} note writer {i} was here"),
                ])
                .current_dir(room.path())
                .stdout(Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for mut writer in writers {
        assert!(writer.wait().unwrap().success());
    }
    let text = text(room.path(), "mine.csv");
    assert_eq!(text.lines().count(), 25, "{text}");
    for i in 0..24 {
        assert_eq!(
            text.matches(&format!("writer {i} was here")).count(),
            1,
            "{i}"
        );
    }
    let mut names: Vec<String> = fs::read_dir(room.path())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    // The lock is taken away where that is safe.
    let lock: &[&str] = if cfg!(unix) { &[] } else { &["mine.csv.lock"] };
    assert_eq!(names, [&["mine.csv", "mine.csv.bak"], lock].concat());
}

#[test]
fn a_line_twice_or_of_an_earlier_day_is_looked_at_again() {
    let room = room();
    let add = |words: &str| at(room.path(), &["add", "mine.csv", words]);
    let (_, out, _) = add("2026-04-30 at 8:30 gas 310");
    assert!(out.contains("8:30") && !out.contains("look again"), "{out}");
    assert!(text(room.path(), "mine.csv").contains("2026-04-30,8:30,"));
    let (_, out, _) = add("2026-04-30 at 8:30 gas 310");
    assert!(out.contains("look again: line 2 says the same"), "{out}");
    let (_, out, _) = add("2026-04-29 gas 300");
    assert!(
        out.contains("lies before 2026-04-30, the day of line 3"),
        "{out}"
    );
    let before = text(room.path(), "mine.csv");
    let (status, _, err) = add("tomorrow gas 300");
    assert_eq!(status, 2);
    assert!(
        err.contains("lies in the future") && err.contains("Nothing was written"),
        "{err}"
    );
    assert_eq!(text(room.path(), "mine.csv"), before);
}

#[test]
fn a_writer_that_holds_on_is_waited_for_and_then_told() {
    let room = room();
    let lock = fs::File::create(room.path().join("mine.csv.lock")).unwrap();
    fs4::FileExt::try_lock(&lock).unwrap();
    let before = text(room.path(), "mine.csv");
    let (status, out, err) = at(room.path(), &["add", "mine.csv", "ph 7"]);
    assert_eq!((status, out.as_str()), (1, ""));
    assert!(err.contains("another marshgas is writing"), "{err}");
    assert_eq!(text(room.path(), "mine.csv"), before);
    drop(lock);
    assert_eq!(at(room.path(), &["add", "mine.csv", "ph 7"]).0, 0);
}

#[test]
fn a_feed_that_nobody_knows_is_listed_and_the_rest_is_shown() {
    let room = tempfile::tempdir().unwrap();
    let record = "date,fed,gas_l\n2026-03-02,1 unobtainium,20\n2026-03-03,3 kitchen-scraps,30\n2026-03-04,,40\n";
    fs::write(room.path().join("mine.csv"), record).unwrap();
    let words = ["show", "mine.csv", "--scenario", "warm-tote"];
    let (status, out, err) = at(room.path(), &words);
    assert_eq!(status, 0, "{err}");
    let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        plain(&err).contains("line 2: \"unobtainium\" is no material"),
        "{err}"
    );
    assert!(
        plain(&out).contains("goes without 1 kg of \"unobtainium\", 25 % by weight"),
        "{out}"
    );
    for what in ["fit", "diagnose"] {
        let words = [what, "mine.csv", "--scenario", "warm-tote"];
        let (status, out, err) = at(room.path(), &words);
        assert_eq!(status, 0, "{err}");
        assert!(
            plain(&out).contains("What is found below is bent by it"),
            "{what}: {out}"
        );
    }
}

const READY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/diary-tote.csv");

#[test]
fn the_ready_diary_is_shown_beside_its_run() {
    let room = tempfile::tempdir().unwrap();
    let words = ["show", READY, "--scenario", "warm-tote", "--out", "shown"];
    let (status, out, err) = at(room.path(), &words);
    assert_eq!(status, 0, "{err}");
    assert!(err.contains("line 20: pH: \"74\" cannot be"), "{err}");
    assert!(!err.contains("record:"), "{err}");
    for part in [
        "Gas measured",
        "Gas computed",
        "Days without an entry",
        "2026-05-19",
        "What can hurt",
    ] {
        assert!(out.contains(part), "{part}: {out}");
    }
    assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    for name in [
        "report.html",
        "gas.csv",
        "diary.json",
        "diary-gas.svg",
        "diary-sum.svg",
        "diary-liquor.svg",
    ] {
        let file = room.path().join("shown").join(name);
        assert!(fs::metadata(&file).unwrap().len() > 100, "{name}");
        assert!(out.contains(&format!("shown/{name}")), "{name}: {out}");
    }
    let page = fs::read_to_string(room.path().join("shown/report.html")).unwrap();
    assert!(page.contains("cannot be: possible is 0 to 14"));
    assert_eq!(
        text(&room.path().join("shown"), "gas.csv").lines().count(),
        40
    );
}

#[test]
fn json_holds_doubts_and_comparison() {
    let told: Value = serde_json::from_str(&stdout(&[
        "diary",
        "show",
        READY,
        "--scenario",
        "warm-tote",
        "--json",
    ]))
    .unwrap();
    assert_eq!(told["schema"], "marshgas-diary");
    assert_eq!(told["taken"]["separator"], "comma");
    assert_eq!(told["doubts"][0]["line"], 20);
    assert_eq!(
        told["comparison"]["intervals"].as_array().unwrap().len(),
        39
    );
    assert!(told["comparison"]["totals"]["ratio"].as_f64().unwrap() > 0.5);
}

#[test]
fn what_is_no_record_ends_with_status_2() {
    let room = tempfile::tempdir().unwrap();
    let write = |name: &str, bytes: &[u8]| {
        let path = room.path().join(name);
        fs::write(&path, bytes).unwrap();
        path.display().to_string()
    };
    for (file, part) in [
        (write("zip.csv", b"PK\x03\x04\x00\x00"), "no text"),
        (write("nul.csv", b"date,ph\n2026-01-01,\x00\n"), "no text"),
        (write("wide.csv", b"\xff\xfed\x00"), "UTF-16"),
        (
            write("latin.csv", b"date,note\n2026-01-01,gr\xfcn\n"),
            "older encoding",
        ),
        (write("empty.csv", b""), "empty"),
        (
            write("odd.csv", b"a,b\n1,2\n"),
            "none of its names is known",
        ),
        (write("bare.csv", b"date,ph\n"), "no entry"),
        (room.path().display().to_string(), "folder"),
        (
            room.path().join("none.csv").display().to_string(),
            "no such file",
        ),
    ] {
        let told = stderr(2, &["diary", "show", &file, "--scenario", "warm-tote"]);
        assert!(told.contains(part), "{file}: {told}");
    }
    let huge = room.path().join("huge.csv");
    fs::File::create(&huge)
        .unwrap()
        .set_len(30_000_000)
        .unwrap();
    let told = stderr(
        2,
        &[
            "diary",
            "show",
            &huge.display().to_string(),
            "--scenario",
            "warm-tote",
        ],
    );
    assert!(told.contains("too large"), "{told}");
    let told: Value = serde_json::from_str(&stderr(
        2,
        &[
            "diary",
            "show",
            "none.csv",
            "--scenario",
            "warm-tote",
            "--json",
        ],
    ))
    .unwrap();
    assert_eq!(told["error"]["code"], "diary");
}

#[test]
fn every_part_has_help_with_an_example_on_80_columns() {
    for part in ["new", "add", "show"] {
        for flag in ["--help", "-h"] {
            let help = stdout(&["diary", part, flag]);
            assert!(help.contains(&format!("marshgas diary {part} ")), "{help}");
            assert!(help.lines().all(|l| l.chars().count() <= 80), "{help}");
        }
    }
}

#[test]
fn the_help_breaks_its_lines_between_full_ones() {
    let help = stdout(&["diary", "add", "--help"]);
    let (_, last) = help.rsplit_once("\n\n").unwrap();
    let lines: Vec<&str> = last.lines().collect();
    for line in &lines[..lines.len() - 1] {
        assert!(line.len() > 60, "{line}");
    }
}
