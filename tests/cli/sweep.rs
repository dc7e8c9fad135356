//! `marshgas sweep`.

use std::fs;
use std::path::Path;

use serde_json::Value;

use super::{run_in, stderr};

/// A small tote on dung, quick to run.
const SHORT: &str = r#"{
    "title": "A short sweep",
    "about": "Invented for this test.",
    "days": 20,
    "vessels": [{ "liquid_l": 200, "headspace_l": 50, "temperature": { "constant_c": 30 } }],
    "starter": { "materials": [{ "material": "digestate-cattle", "kg": 150 }], "water_l": 50 },
    "recipes": { "bucket": { "materials": [{ "material": "cattle-dung", "kg": 5 }], "water_l": 5 } },
    "feeding": [{ "daily": { "recipe": "bucket", "from_day": 1 } }]
}"#;

fn room() -> tempfile::TempDir {
    let room = tempfile::tempdir().unwrap();
    fs::write(room.path().join("short.json"), SHORT).unwrap();
    room
}

fn refused(words: &[&str]) -> String {
    let room = room();
    let (status, out, err) = run_in(room.path(), &[&["sweep", "short.json"], words].concat());
    assert_eq!((status, out.as_str()), (2, ""), "{words:?}: {err}");
    assert!(
        !room.path().join("results").exists(),
        "{words:?} left a folder"
    );
    err
}

#[test]
fn writes_its_files_and_says_where_the_best_is() {
    let room = room();
    let words = ["sweep", "short.json", "--vary", "feed=0.5,1", "--png"];
    let (status, out, err) = run_in(room.path(), &words);
    assert_eq!(status, 0, "{err}");
    for name in [
        "report.html",
        "sweep.csv",
        "sweep.json",
        "sweep-points.jsonl",
        "yield-and-rate.svg",
        "yield-and-rate.png",
        "gas-and-acids.svg",
    ] {
        let file = room.path().join("results/short-sweep").join(name);
        assert!(fs::metadata(&file).unwrap().len() > 100, "{name}");
        assert!(
            out.contains(&format!("results/short-sweep/{name}")),
            "{out}"
        );
    }
    let said = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("best yield per kilogram is at feeding 0.5 times"),
        "{out}"
    );
    assert!(
        said.contains("most gas per day is at feeding 1 times"),
        "{out}"
    );
    assert!(said.contains("A feeding of 1 is 5"), "{out}");
    let table = fs::read_to_string(room.path().join("results/short-sweep/sweep.csv")).unwrap();
    assert_eq!(table.lines().count(), 3);
    assert!(table.starts_with("feed,outcome,run_d,"), "{table}");
}

#[test]
fn runs_are_made_three_retention_times_long_unless_days_says_otherwise() {
    let room = room();
    let sweep = |more: &[&str]| -> Value {
        let words = [
            "sweep",
            "short.json",
            "--vary",
            "feed=0.5,1",
            "--json",
            "--no-files",
        ];
        let (status, out, err) = run_in(room.path(), &[&words[..], more].concat());
        assert_eq!(status, 0, "{err}");
        serde_json::from_str(&out).unwrap()
    };
    let told = sweep(&[]);
    let days = |told: &Value, i: usize| told["sweep"]["points"][i]["level"]["days"].clone();
    // 200 L at 5 and 10 L/d, fed from day 1.
    assert_eq!((days(&told, 0), days(&told, 1)), (121.into(), 61.into()));
    let told = sweep(&["--days", "12"]);
    assert_eq!((days(&told, 0), days(&told, 1)), (12.into(), 12.into()));
    assert_eq!(told["sweep"]["points"][0]["level"]["settled"], false);
}

#[test]
fn one_thread_and_two_give_the_same_bytes() {
    let room = room();
    let sweep = |threads: &str| {
        let words = [
            "sweep",
            "short.json",
            "--vary",
            "feed=0.5,1,2",
            "--vary",
            "temperature=25,35",
            "--days",
            "15",
            "--json",
            "--no-files",
            "--threads",
            threads,
        ];
        let (status, out, err) = run_in(room.path(), &words);
        assert_eq!(status, 0, "{err}");
        out
    };
    let one = sweep("1");
    assert_eq!(one, sweep("2"));
    let told: Value = serde_json::from_str(&one).unwrap();
    assert_eq!(told["sweep"]["points"].as_array().unwrap().len(), 6);
    assert_eq!(
        told["sweep"]["points"][1]["values"],
        serde_json::json!([0.5, 35.0])
    );
}

#[test]
fn a_sweep_goes_on_from_its_points_and_ends_as_if_it_had_never_stopped() {
    let room = room();
    let words = [
        "sweep",
        "short.json",
        "--vary",
        "feed=0.5,1,2",
        "--days",
        "15",
        "--out",
        "o",
    ];
    assert_eq!(run_in(room.path(), &words).0, 0);
    let folder = room.path().join("o");
    let whole = fs::read(folder.join("sweep.json")).unwrap();
    let points = fs::read_to_string(folder.join("sweep-points.jsonl")).unwrap();
    // As after an interruption: the head and the last point.
    let lines: Vec<&str> = points.lines().collect();
    assert_eq!(lines.len(), 4);
    fs::write(
        folder.join("sweep-points.jsonl"),
        format!("{}\n{}\n", lines[0], lines[3]),
    )
    .unwrap();
    fs::remove_file(folder.join("sweep.json")).unwrap();
    let again = [&words[..], &["--resume"]].concat();
    let (status, _, err) = run_in(room.path(), &again);
    assert_eq!(status, 0, "{err}");
    assert_eq!(fs::read(folder.join("sweep.json")).unwrap(), whole);
    assert_eq!(
        fs::read_to_string(folder.join("sweep-points.jsonl")).unwrap(),
        points
    );
}

#[test]
fn points_of_another_sweep_are_not_gone_on_from() {
    let room = room();
    let run = |vary: &str, days: &str| {
        let words = [
            "sweep",
            "short.json",
            "--vary",
            vary,
            "--days",
            days,
            "--out",
            "o",
            "--resume",
        ];
        run_in(room.path(), &words)
    };
    assert_eq!(run("feed=1,2", "8").0, 0);
    let (status, _, err) = run("feed=1,3", "8");
    assert_eq!(status, 2);
    assert!(err.contains("These points vary feed=1,2"), "{err}");
    let (status, _, err) = run("feed=1,2", "9");
    assert_eq!(status, 2);
    assert!(err.contains("--days 8"), "{err}");
    fs::write(room.path().join("short.json"), SHORT.replace("150", "149")).unwrap();
    let (status, _, err) = run("feed=1,2", "8");
    assert_eq!(status, 2);
    assert!(err.contains("scenario has changed"), "{err}");
    fs::write(room.path().join("o/sweep-points.jsonl"), "{").unwrap();
    let (status, _, err) = run("feed=1,2", "8");
    assert_eq!(status, 2);
    assert!(err.contains("first line"), "{err}");
}

#[test]
fn one_point_that_fails_is_told_and_the_others_come_through() {
    let room = room();
    let words = [
        "sweep",
        "short.json",
        "--vary",
        "vessels[0].temperature.constant_c=30,99",
        "--days",
        "8",
        "--out",
        "o",
    ];
    let (status, out, err) = run_in(room.path(), &words);
    assert_eq!(status, 0, "{err}");
    let said = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("1 of 2 points has no result"), "{out}");
    assert!(said.contains("-20 to 60"), "{out}");
    let table = fs::read_to_string(room.path().join("o/sweep.csv")).unwrap();
    assert!(
        table.lines().nth(2).unwrap().starts_with("99,failed,,"),
        "{table}"
    );
}

#[test]
fn wrong_words_are_told_plainly() {
    for (vary, told) in [
        ("feed", "does not say which values"),
        ("feed=", "the range is empty"),
        ("feed=3..1 in 3", "runs backwards"),
        ("feed=1..2 in 1000000", "too many"),
        ("feed=1..x in 3", "not a number"),
        ("fed=1,2", "Did you mean `feed`"),
        ("temprature=1,2", "`temperature`"),
        ("title=1,2", "is no number"),
        ("vessels[0].liquid=1,2", "`vessels[0].liquid_l`"),
        ("vessels[3].liquid_l=1,2", "counted from 0"),
        ("temperature=90,95", "none of the 2 points"),
        ("feed=-2,-1", "0 or more"),
        ("feed=-1,2", "feed cannot be -1"),
        ("retention-at-fixed-recipe=0,20", "above 0 d"),
        ("feed=0.5-3", "`0.5..3 in 7`"),
        ("feed=3..0.5", "`0.5..3 in 7`"),
        ("retention-at-fixed-loading=100,200", "without any water"),
        ("starter-mass=900", "more than the whole filling"),
    ] {
        let err = refused(&["--vary", vary]);
        assert!(err.contains(told), "{vary}: {err}");
        assert!(!err.contains("panicked"), "{err}");
    }
}

/// A scenario of more than a year under a changing temperature: its winter pause is there in the years that a sweep adds,
/// just as if they had been written.
#[test]
fn a_longer_run_has_the_winter_pause_again() {
    let room = room();
    let mut value: Value = serde_json::from_str(SHORT).unwrap();
    value["days"] = 400.into();
    value["vessels"][0]["temperature"] = serde_json::json!(
        {"wave": {"mean_c": 20, "yearly_swing_k": 8, "hottest_day": 80}});
    let pause = |from: u32, to: u32| serde_json::json!({"pause": {"from_day": from, "to_day": to}});
    let lines = value["feeding"].as_array_mut().unwrap();
    lines.push(pause(200, 300));
    let sweep = |name: &str, value: &Value, more: &[&str]| -> Value {
        fs::write(room.path().join(name), value.to_string()).unwrap();
        let words = ["sweep", name, "--vary", "feed=0.5", "--json", "--no-files"];
        let (status, out, err) = run_in(room.path(), &[&words[..], more].concat());
        assert_eq!(status, 0, "{err}");
        serde_json::from_str::<Value>(&out).unwrap()["sweep"].clone()
    };
    let told = sweep("once.json", &value, &[]);
    assert_eq!(told["pauses_repeated_after"], 400.0);
    assert_eq!(told["not_repeated_after"], Value::Null);
    let level = &told["points"][0]["level"];
    assert_eq!(
        (&level["days"], &level["window_d"]),
        (&731.into(), &365.into())
    );
    let mut written = value.clone();
    written["days"] = 731.into();
    let lines = written["feeding"].as_array_mut().unwrap();
    lines.push(pause(565, 665));
    let by_hand = sweep("twice.json", &written, &[]);
    assert_eq!(by_hand["pauses_repeated_after"], Value::Null);
    assert_eq!(&by_hand["points"][0]["level"], level);

    // Less than a year tells nothing of the next one; what is told to do then can be done.
    value["days"] = 350.into();
    fs::write(room.path().join("less.json"), value.to_string()).unwrap();
    let words = ["sweep", "less.json", "--vary", "feed=0.5", "--no-files"];
    let (status, out, err) = run_in(room.path(), &words);
    assert_eq!(status, 0, "{err}");
    let said = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("set \"days\" to 731 in the scenario"),
        "{out}"
    );
    assert!(said.contains("--days 350"), "{out}");
}

#[test]
fn wrong_pairs_are_told_plainly() {
    for (one, two, told) in [
        ("feed=1,2", "feed=3,4", "varied twice"),
        ("days=8,9", "days=8,9", "varied twice"),
        (
            "feed=1,2",
            "retention-at-fixed-recipe=10,20",
            "how much is fed",
        ),
        ("feed=1..2 in 200", "temperature=20..30 in 200", "too many"),
    ] {
        let err = refused(&["--vary", one, "--vary", two]);
        assert!(err.contains(told), "{one} {two}: {err}");
    }
    let err = refused(&[
        "--vary",
        "feed=1,2",
        "--vary",
        "days=8,9",
        "--vary",
        "volume=100,200",
    ]);
    assert!(err.contains("one thing or two"), "{err}");
}

#[test]
fn every_number_is_listed_with_its_value_and_every_listed_number_can_be_varied() {
    let room = room();
    let (status, out, err) = run_in(room.path(), &["sweep", "short.json", "--list"]);
    assert_eq!((status, err.as_str()), (0, ""));
    assert!(out.contains("vessels[0].liquid_l, now 200"), "{out}");
    assert!(out.contains("retention-at-fixed-recipe, now 20 d"), "{out}");
    let (_, out, _) = run_in(room.path(), &["sweep", "short.json", "--list", "--json"]);
    let told: Value = serde_json::from_str(&out).unwrap();
    let named = told["knobs"].as_array().unwrap().iter();
    for entry in named.chain(told["numbers"].as_array().unwrap()) {
        let vary = format!("{}={}", entry["knob"].as_str().unwrap(), entry["value"]);
        let words = [
            "sweep",
            "short.json",
            "--vary",
            &vary,
            "--days",
            "4",
            "--no-files",
            "--json",
        ];
        let (status, _, err) = run_in(room.path(), &words);
        assert_eq!(status, 0, "{vary}: {err}");
    }
}

#[test]
fn something_to_vary_must_be_named() {
    let told = stderr(2, &["sweep", "warm-tote"]);
    assert!(told.contains("--vary") && told.contains("--list"), "{told}");
    assert!(
        stderr(
            2,
            &["sweep", "warm-tote", "--vary", "feed=1", "--threads", "0"]
        )
        .contains("--threads")
    );
}

/// Ctrl-C: what is done is kept, and can be gone on from.
#[cfg(unix)]
#[test]
fn an_interruption_keeps_what_is_done() {
    use std::process::{Command, Stdio};
    let room = room();
    let words = [
        "sweep",
        "short.json",
        "--vary",
        "feed=0.5..1 in 140",
        "--vary",
        "temperature=25..35 in 140",
        "--out",
        "o",
    ];
    let child = Command::new(env!("CARGO_BIN_EXE_marshgas"))
        .args(words)
        .current_dir(room.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let kept = room.path().join("o/sweep-points.jsonl");
    // Long enough for any machine; without an end a fault would hang here for ever.
    for _ in 0..2400 {
        if kept.exists() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    let pid = child.id().to_string();
    assert!(
        Command::new("kill")
            .args(["-INT", &pid])
            .status()
            .unwrap()
            .success()
    );
    let ended = child.wait_with_output().unwrap();
    let err = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(1), "{err}");
    assert!(
        err.contains("of 19600 points") && err.contains("--resume"),
        "{err}"
    );
    let lines = fs::read_to_string(&kept).unwrap().lines().count();
    let done: usize = err
        .split("stopped after ")
        .nth(1)
        .and_then(|rest| rest.split(' ').next())
        .and_then(|number| number.parse().ok())
        .unwrap();
    assert_eq!(lines, done + 1);
    // What is kept is not lost to another sweep, nor to the same one without --resume.
    let before = fs::read(&kept).unwrap();
    let again = stderr_in(room.path(), &words);
    assert!(again.contains("Go on from them with --resume"), "{again}");
    let other = ["sweep", "short.json", "--vary", "feed=1,2", "--out", "o"];
    let other = stderr_in(room.path(), &other);
    assert!(
        other.contains("would lose them") && other.contains("--out"),
        "{other}"
    );
    assert_eq!(fs::read(&kept).unwrap(), before);
}

/// Standard error of what is bad input.
#[cfg(unix)]
fn stderr_in(room: &Path, words: &[&str]) -> String {
    let (status, _, err) = run_in(room, words);
    assert_eq!(status, 2, "{err}");
    err
}
