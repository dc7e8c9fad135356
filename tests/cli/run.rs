//! `marshgas run`.

use std::fs;
use std::path::Path;

use serde_json::Value;

use super::{SHORT, marshgas, outcome, run_in, stderr};

/// A folder with the short scenario in it.
fn room() -> tempfile::TempDir {
    let room = tempfile::tempdir().unwrap();
    fs::write(room.path().join("short.json"), SHORT).unwrap();
    room
}

fn files(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn writes_into_results_under_the_scenarios_name_and_says_so() {
    let room = room();
    let (status, out, err) = run_in(room.path(), &["run", "short.json"]);
    assert_eq!(status, 0, "{err}");
    let folder = room.path().join("results/short");
    let names = files(&folder);
    for name in ["report.html", "daily.csv", "trajectory.csv", "outcome.json"] {
        assert!(
            names.contains(&name.to_owned()),
            "{name} is not in {names:?}"
        );
    }
    assert!(names.iter().any(|name| name.ends_with(".svg")), "{names:?}");
    for name in &names {
        assert!(
            fs::metadata(folder.join(name)).unwrap().len() > 100,
            "{name} is empty"
        );
        assert!(
            out.contains(&format!("results/short/{name}")),
            "{name} is not listed in {out}"
        );
    }
    assert!(out.contains("A short run"), "{out}");
}

#[test]
fn the_page_reaches_for_nothing_outside() {
    let room = room();
    run_in(room.path(), &["run", "short.json"]);
    let page = fs::read_to_string(room.path().join("results/short/report.html")).unwrap();
    for outside in [
        "src=\"http",
        "src='http",
        "<link",
        "@import",
        "url(http",
        "<script src",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    assert!(page.contains("<svg"), "the page shows no figure");
}

#[test]
fn one_daily_row_for_each_day_under_names_with_units() {
    let room = room();
    run_in(room.path(), &["run", "short.json", "--out", "here"]);
    let table = fs::read_to_string(room.path().join("here/daily.csv")).unwrap();
    assert_eq!(table.lines().count(), 1 + 6);
    assert!(
        table.lines().next().unwrap().contains("gas_nL_per_d"),
        "{table}"
    );
    assert!(!room.path().join("results").exists());
}

#[test]
fn a_table_for_spreadsheets_has_semicolons_and_decimal_commas() {
    let room = room();
    run_in(
        room.path(),
        &["run", "short.json", "--out", "here", "--csv-excel"],
    );
    let table = fs::read_to_string(room.path().join("here/daily.csv")).unwrap();
    assert!(table.starts_with('\u{feff}'));
    let row = table.lines().nth(1).unwrap();
    assert!(
        row.contains(';') && row.contains(',') && !row.contains('.'),
        "{row}"
    );
}

#[test]
fn png_beside_every_svg_when_asked_for() {
    let room = room();
    run_in(
        room.path(),
        &["run", "short.json", "--out", "here", "--png"],
    );
    let names = files(&room.path().join("here"));
    let stems = |ending: &str| -> Vec<String> {
        names
            .iter()
            .filter_map(|name| name.strip_suffix(ending))
            .map(str::to_owned)
            .collect()
    };
    assert!(!stems(".png").is_empty());
    assert_eq!(stems(".png"), stems(".svg"));
    let picture = fs::read(
        room.path()
            .join("here")
            .join(format!("{}.png", stems(".png")[0])),
    )
    .unwrap();
    assert!(picture.starts_with(b"\x89PNG\r\n"));
}

#[test]
fn json_holds_the_outcome_and_the_files() {
    let room = room();
    let (status, out, err) = run_in(room.path(), &["run", "short.json", "--json"]);
    assert_eq!((status, err.as_str()), (0, ""));
    let told: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(told["outcome"]["days"], 6);
    assert_eq!(told["outcome"]["plant"].as_array().unwrap().len(), 6);
    assert!(told["schema_version"].is_u64());
    assert_eq!(
        told["outcome"]["provenance"]["version"],
        env!("CARGO_PKG_VERSION")
    );
    for file in told["files"].as_array().unwrap() {
        assert!(room.path().join(file.as_str().unwrap()).exists(), "{file}");
    }
    let written = fs::read_to_string(room.path().join("results/short/outcome.json")).unwrap();
    let written: Value = serde_json::from_str(&written).unwrap();
    assert_eq!(written["outcome"], told["outcome"]);
}

#[test]
fn the_same_file_gives_the_same_result() {
    let room = room();
    let first = run_in(room.path(), &["run", "short.json", "--no-files", "--json"]);
    let again = run_in(room.path(), &["run", "short.json", "--no-files", "--json"]);
    assert_eq!(first, again);
    assert_eq!(files(room.path()), ["short.json"]);
}

#[test]
fn no_progress_in_a_pipe() {
    let room = room();
    // This scenario has warnings; they are all that stands on standard error.
    let (_, _, err) = run_in(room.path(), &["run", "short.json", "--no-files"]);
    for line in err.lines() {
        assert!(!line.contains('%') || err.contains("warning:"), "{line}");
        assert!(!line.contains("simulating"), "{line}");
    }
}

#[test]
fn no_colours_in_a_pipe_and_colours_when_asked_for() {
    let room = room();
    let (_, plain, _) = run_in(room.path(), &["run", "short.json", "--no-files"]);
    assert!(!plain.contains('\u{1b}'));
    let (_, coloured, _) = run_in(
        room.path(),
        &["run", "short.json", "--no-files", "--color", "always"],
    );
    assert!(coloured.contains('\u{1b}'));
}

#[test]
fn a_locale_without_utf_8_gets_ascii() {
    let room = room();
    let run = |locale: &str| {
        let mut command = marshgas(&["run", "short.json", "--no-files"]);
        outcome(command.current_dir(room.path()).env("LC_ALL", locale)).1
    };
    assert!(run("C").is_ascii());
    assert!(!run("en_GB.UTF-8").is_ascii());
}

#[test]
fn the_output_folder_is_tried_before_the_run() {
    let room = room();
    fs::write(room.path().join("taken"), "mine").unwrap();
    for (out, says) in [
        ("taken", "this is a file"),
        ("taken/deeper", "cannot be made"),
        ("", "a value is required"),
        ("/proc/no-such-place", "cannot be made"),
    ] {
        let (status, told, err) = run_in(room.path(), &["run", "short.json", "--out", out]);
        assert_eq!((status, told.as_str()), (2, ""), "{out}: {err}");
        assert!(err.contains(says) && err.contains("--out"), "{out}: {err}");
    }
    assert_eq!(
        fs::read_to_string(room.path().join("taken")).unwrap(),
        "mine"
    );
    assert_eq!(files(room.path()), ["short.json", "taken"]);
}

#[test]
fn an_error_of_a_path_with_json_is_json() {
    let room = room();
    fs::write(room.path().join("taken"), "mine").unwrap();
    let (status, out, err) = run_in(
        room.path(),
        &["run", "short.json", "--out", "taken", "--json"],
    );
    assert_eq!((status, out.as_str()), (2, ""));
    let told: Value = serde_json::from_str(&err).unwrap();
    assert_eq!(told["error"]["code"], "path");
}

#[test]
fn a_bad_scenario_leaves_no_folder_behind() {
    let room = room();
    fs::write(
        room.path().join("bad.json"),
        SHORT.replace("\"days\": 6", "\"days\": 0"),
    )
    .unwrap();
    let (status, out, err) = run_in(room.path(), &["run", "bad.json"]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(err.contains("bad.json") && err.contains("days"), "{err}");
    assert_eq!(files(room.path()), ["bad.json", "short.json"]);
}

#[test]
fn a_file_wins_over_a_bundled_scenario_of_the_same_name() {
    let room = room();
    fs::write(room.path().join("warm-tote"), SHORT).unwrap();
    let (status, out, _) = run_in(room.path(), &["run", "warm-tote", "--no-files", "--json"]);
    assert_eq!(status, 0);
    let told: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(told["outcome"]["title"], "A short run");
}

#[test]
fn a_bundled_scenario_runs_by_its_name_from_any_folder() {
    let room = tempfile::tempdir().unwrap();
    let (status, out, err) = run_in(room.path(), &["run", "warm-tote"]);
    assert_eq!(status, 0, "{err}");
    assert!(out.contains("results/warm-tote/report.html"), "{out}");
    assert!(room.path().join("results/warm-tote/report.html").exists());
}

#[test]
fn what_is_no_scenario_is_told_with_what_was_meant() {
    assert!(stderr(2, &["run", "warm-tot"]).contains("Did you mean warm-tote?"));
    assert!(stderr(2, &["run", "no-such-file.json"]).contains("no-such-file.json"));
    assert!(stderr(2, &["run", env!("CARGO_MANIFEST_DIR")]).contains("folder"));
    assert!(stderr(2, &["run", ""]).starts_with("error: "));
}

#[test]
fn files_or_none_but_not_both() {
    assert!(stderr(2, &["run", "a.json", "--no-files", "--out", "b"]).contains("--no-files"));
}

#[test]
fn a_failed_simulation_is_a_failed_job_and_leaves_nothing_behind() {
    let room = room();
    // The published network takes up carbon that is not there: lard, hardly any dung to buffer it.
    let bare = SHORT
        .replace(
            "\"days\": 6",
            "\"days\": 6, \"model\": { \"network\": \"adm1\" }, \"materials\": { \"lard\": { \"label_per_100_g\": \
             { \"water_g\": 0, \"carbohydrate_g\": 0, \"fibre_g\": 0, \"protein_g\": 0, \"fat_g\": 100 } } }",
        )
        .replace(
            "\"kg\": 400 }",
            "\"kg\": 1 }, { \"material\": \"lard\", \"kg\": 50 }",
        );
    fs::write(room.path().join("bare.json"), bare).unwrap();
    let (status, out, err) = run_in(room.path(), &["run", "bare.json", "--out", "deep/er"]);
    assert_eq!((status, out.as_str()), (1, ""));
    assert!(
        err.contains("error: bare.json: ") && err.contains("S_IC fell to -"),
        "{err}"
    );
    assert_eq!(files(room.path()), ["bare.json", "short.json"]);
    let (status, _, err) = run_in(room.path(), &["run", "bare.json", "--json"]);
    let told: Value = serde_json::from_str(&err).unwrap();
    assert_eq!((status, &told["error"]["code"]), (1, &Value::from("run")));
}

#[test]
fn foam_is_tried_where_the_temperature_is_computed_and_refused_elsewhere() {
    let room = room();
    let told = stderr(2, &["run", "warm-tote", "--foam", "--no-files"]);
    assert!(told.contains("follows a heat balance"), "{told}");
    let words = ["run", "heated-tote", "--foam", "--json"];
    let (status, out, err) = run_in(room.path(), &words);
    assert_eq!(status, 0, "{err}");
    let told: Value = serde_json::from_str(&out).unwrap();
    let rows = told["foam"].as_array().unwrap();
    let of = |i: usize, key: &str| rows[i][key].as_f64().unwrap();
    assert_eq!(rows.len(), 4);
    let held: Vec<bool> = rows.iter().map(|r| r["held"].as_bool().unwrap()).collect();
    for i in 1..4 {
        assert!(of(i, "left_kwh_d") > of(i - 1, "left_kwh_d"), "{rows:?}");
        // Once the gas suffices, each layer is worth less than the one before; gas that is not there is worth nothing.
        let usable = |i: usize| of(i, "left_kwh_d").max(0.0);
        let gain = |i: usize| usable(i) - usable(i - 1);
        assert!(i == 1 || !held[i - 1] || gain(i) < gain(i - 1), "{rows:?}");
    }
    assert_eq!(
        held,
        (0..4)
            .map(|i| of(i, "left_kwh_d") >= 0.0)
            .collect::<Vec<_>>()
    );
    assert!(!held[0] && held[3], "{rows:?}");
    let folder = room.path().join("results/heated-tote");
    let table = fs::read_to_string(folder.join("heat.csv")).unwrap();
    assert_eq!(table.lines().count(), 366);
    assert!(table.starts_with("vessel,date,day,liquor_C,air_C,soil_C"));
    for name in ["heat-temperatures.svg", "heat-flows.svg"] {
        assert!(folder.join(name).exists(), "{name}");
    }
}
