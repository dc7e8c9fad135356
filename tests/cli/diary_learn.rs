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
    // Six, and how much cold its life stands, since the record goes below 20 C.
    assert_eq!(fit["result"]["unknowns"].as_array().unwrap().len(), 7);
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

/// What is told of a record on the terminal, and its JSON.
fn told(what: &str, text: &str, more: &[&str]) -> (String, serde_json::Value) {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("record.csv");
    fs::write(&record, text).unwrap();
    let run = |json: &[&str]| {
        let done = marshgas()
            .args(["diary", what])
            .arg(&record)
            .args(["--scenario", "warm-tote"])
            .args(more)
            .args(json)
            .output()
            .unwrap();
        let error = String::from_utf8_lossy(&done.stderr).into_owned();
        assert!(done.status.success(), "{error}");
        done.stdout
    };
    let words = String::from_utf8(run(&[])).unwrap();
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    (words, serde_json::from_slice(&run(&["--json"])).unwrap())
}

#[test]
fn no_gas_is_told_as_none_and_the_week_begins_after_the_record() {
    let unfed = SCRAP.replace("date,", "date,fed,").replace(",0,", ",,0,");
    let (words, json) = told("fit", &unfed, &["--draws", "20", "--ahead", "7"]);
    assert!(words.contains("taken as unfed"), "{words}");
    assert!(!words.contains("0.00000"), "{words}");
    assert!(!words.contains("\u{2212}0.00"), "{words}");
    let days = json["result"]["days"].as_array().unwrap();
    let ahead: Vec<u64> = days
        .iter()
        .filter(|d| d["ahead"].as_bool().unwrap())
        .map(|d| d["day"].as_u64().unwrap())
        .collect();
    // The last line is of 10 March, day 9 of a run that begins on 1 March.
    assert_eq!(ahead, [10, 11, 12, 13, 14, 15, 16]);
    for day in days {
        assert!(day["gas_nl"][0].as_f64().unwrap() >= 0.0, "{day}");
    }
}

#[test]
fn absurd_gas_and_an_assumed_feed_are_said_first() {
    let slip = SCRAP.replace("2026-03-08,0,20", "2026-03-08,62000,20");
    for what in ["fit", "diagnose"] {
        let (words, json) = told(what, &slip, &[]);
        assert!(words.contains("Line 6 says"), "{what}: {words}");
        assert!(
            words.contains("fed as its scenario says"),
            "{what}: {words}"
        );
        assert_eq!(json["result"]["readings"], 5);
    }
}

#[test]
fn a_chance_that_moved_is_never_said_to_rest_on_what_was_thought() {
    let (words, json) = told("diagnose", SCRAP, &[]);
    let rests = words.matches("rests on what was thought before").count();
    let still = json["result"]["stories"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|s| {
            let times = s["chance"].as_f64().unwrap() / s["before"].as_f64().unwrap();
            (0.8..1.25).contains(&times)
        })
        .count();
    // Each story is told in the list, and the likeliest in a sentence of their own.
    assert!(rests <= 2 * still, "{rests} {still}");
}

/// Ten invented days without gas in a cold tank, eleven days after the scenario's filling.
fn cold_scrap() -> String {
    let days = (12..22).map(|day| format!("2026-03-{day},,0,14\n"));
    std::iter::once("date,fed,gas_l,tank_c\n".to_owned())
        .chain(days)
        .collect()
}

#[test]
fn no_gas_in_the_cold_is_hedged_and_the_cold_is_spoken_of() {
    let (words, json) = told("diagnose", &cold_scrap(), &[]);
    for part in [
        // The scenario's 35 C and the record's 14 C.
        "The record begins at 14 C, 21 K colder than the scenario's tank, which stands at 35 C there",
        "Every story is told twice",
        "at 14 C on average, a sound tank like this would give about",
        "none was read",
        "below 15 C most hand-fed digesters give hardly any gas",
        "Nothing is broken, it is cold",
        "all the gas escapes before it is read",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    assert!(!words.contains("a good part of the gas"), "{words}");
    let result = &json["result"];
    // The band of what is expected is as wide as what is known of cold tanks: a factor of five from end to end at least.
    let band = &result["expected"]["gas_nl_d"];
    let [low, high] = [0, 2].map(|i| band[i].as_f64().unwrap());
    assert!(high > 5.0 * low && low >= 0.0, "{band}");
    assert_eq!(result["expected"]["read_nl_d"], 0.0);
    // Hedged: no story is called likely.
    let first = result["stories"][0]["chance"].as_f64().unwrap();
    assert!(first < 0.8, "{first}");
    let tests = result["tests"].as_array().unwrap();
    assert!(tests[0]["between_best_two_bits"].as_f64().unwrap() > 0.05);
}

#[test]
fn a_warm_record_of_a_warm_scenario_is_told_once() {
    let warm = cold_scrap().replace(",14\n", ",34\n");
    let (words, json) = told("diagnose", &warm, &[]);
    for part in [
        "Every story is told twice",
        "colder than the scenario's tank",
        "hardly any gas",
    ] {
        assert!(!words.contains(part), "{part}: {words}");
    }
    let changed = json["result"]["stories"][0]["changed"].as_array().unwrap();
    assert!(changed.iter().all(|c| c["name"] != "cold"), "{changed:?}");
}

#[test]
fn figures_come_as_png_where_a_folder_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("scrap.csv");
    fs::write(&record, SCRAP).unwrap();
    for (what, figure) in [("show", "diary-gas.png"), ("fit", "gas.png")] {
        let out = folder.path().join(what);
        let run = |folder: bool| {
            let mut command = marshgas();
            command.args(["diary", what]).arg(&record);
            command.args(["--scenario", "warm-tote", "--png"]);
            if folder {
                command.arg("--out").arg(&out);
            }
            command.output().unwrap()
        };
        assert_eq!(run(false).status.code(), Some(2), "{what}");
        let done = run(true);
        assert!(
            done.status.success(),
            "{}",
            String::from_utf8_lossy(&done.stderr)
        );
        let picture = fs::read(out.join(figure)).unwrap();
        assert_eq!(&picture[1..4], b"PNG", "{what}");
        assert!(
            String::from_utf8_lossy(&done.stdout).contains(figure),
            "{what}"
        );
    }
}

#[test]
fn what_cannot_be_judged_is_told_plainly_with_status_2() {
    let room = tempfile::tempdir().unwrap();
    for what in ["show", "fit", "diagnose"] {
        for (text, part) in [
            (
                "",
                "The file is empty. Its first line must name the columns",
            ),
            ("date,gas_l\n", "has no entry that can be used"),
            ("date,gas_l\n2026-03-02,\n", "has no entry that can be used"),
        ] {
            let record = room.path().join("record.csv");
            fs::write(&record, text).unwrap();
            let mut command = marshgas();
            command.args(["diary", what]).arg(&record);
            let done = command.args(["--scenario", "warm-tote"]).output().unwrap();
            let told = String::from_utf8_lossy(&done.stderr).into_owned();
            assert_eq!(done.status.code(), Some(2), "{what}: {told}");
            assert!(told.contains(part), "{what}: {told}");
            assert!(done.stdout.is_empty());
        }
        let done = marshgas()
            .args(["diary", what, "mine.csv"])
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        assert_eq!(done.status.code(), Some(2), "{what}: {told}");
        assert!(
            told.contains("name its scenario with --scenario FILE") && !told.contains("arguments"),
            "{what}: {told}"
        );
    }
}

#[test]
fn a_record_before_the_filling_is_judged_as_a_filling_of_its_own_and_told_first() {
    let early = SCRAP.replace("2026-", "2025-");
    for (what, more) in [("fit", &["--draws", "20"][..]), ("diagnose", &[])] {
        let (words, _) = told(what, &early, more);
        let whole = words.find("The whole record, 2025-03-02 to 2025-03-10, lies before the scenario's filling on 2026-03-01");
        let first = words.find("6 readings").unwrap();
        assert!(whole.is_some_and(|at| at < first), "{what}: {words}");
    }
}

#[test]
fn off_a_terminal_a_line_says_what_begins_unless_it_is_to_be_quiet() {
    let room = tempfile::tempdir().unwrap();
    let record = room.path().join("record.csv");
    fs::write(&record, SCRAP).unwrap();
    let begun = |more: &[&str]| {
        let mut command = marshgas();
        command.args(["diary", "fit"]).arg(&record);
        command.args(["--scenario", "warm-tote", "--draws", "20"]);
        let done = command.args(more).output().unwrap();
        assert!(done.status.success());
        String::from_utf8(done.stderr).unwrap()
    };
    assert!(begun(&[]).contains("This fit takes "), "{}", begun(&[]));
    for silent in ["--json", "--quiet"] {
        assert!(!begun(&[silent]).contains("takes"), "{silent}");
    }
}

/// Ten invented days without gas at 14 C, long after the scenario's filling, with a column for feed that is empty and without one.
#[test]
fn long_after_the_filling_no_gas_in_the_cold_is_the_cold_first() {
    for (heading, between) in [
        ("date,fed,gas_l,tank_c\n", ",,"),
        ("date,gas_l,tank_c\n", ","),
    ] {
        let days = (20..30).map(|day| format!("2026-11-{day}{between}0,14\n"));
        let text: String = std::iter::once(heading.to_owned()).chain(days).collect();
        let room = tempfile::tempdir().unwrap();
        let record = room.path().join("record.csv");
        fs::write(&record, text).unwrap();
        let mut command = marshgas();
        command.args(["diary", "diagnose"]).arg(&record);
        let done = command
            .args(["--scenario", "warm-tote", "--json"])
            .output()
            .unwrap();
        assert!(done.status.success());
        let json: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
        let notes = json["notes"].to_string();
        assert!(
            notes.contains("taken as unfed from its filling on"),
            "{notes}"
        );
        let stories = json["result"]["stories"].as_array().unwrap();
        assert_eq!(stories[0]["name"], "nothing", "{stories:?}");
        assert_eq!(stories[0]["title"], "Nothing is broken, it is cold");
        // No story is called likely, and neither a leak nor the cold needs a tank that is sour already.
        assert!(stories[0]["chance"].as_f64().unwrap() < 0.6);
        let told =
            ["nothing", "leak"].map(|name| stories.iter().find(|s| s["name"] == name).unwrap());
        for story in told {
            let ph = story["week"][6]["ph"][1].as_f64().unwrap();
            assert!(ph > 6.0, "{}: {ph}", story["name"]);
        }
    }
}
