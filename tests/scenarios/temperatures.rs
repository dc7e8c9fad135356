//! Temperature courses: waves, points, tables.

use std::fs;
use std::path::Path;

use marshgas::case::{TemperatureCourse, Wave};
use marshgas::scenario::{Problems, from_value};
use serde_json::{Value, json};

use crate::support::{complaint, complaints, loaded, warnings, with};

const AT: &str = "vessels[0].temperature";

fn course(temperature: Value) -> TemperatureCourse {
    loaded(&[(AT, temperature)]).case.vessels[0]
        .temperature
        .clone()
}

#[test]
fn a_wave_by_day_of_the_year() {
    // 1 March is day 60 of 2026, so day 200 of the year is day 140 of the run.
    let wave = json!({"wave": {"mean_c": 11, "yearly_swing_k": 9, "hottest_day_of_year": 200, "daily_swing_k": 1}});
    assert_eq!(
        course(wave),
        TemperatureCourse::Wave(Wave {
            mean_c: 11.0,
            yearly_swing_k: 9.0,
            hottest_day: 140.0,
            daily_swing_k: 1.0,
            hottest_hour: 15.0,
        })
    );
}

#[test]
fn a_wave_by_day_of_the_run() {
    let wave = json!({"wave": {"mean_c": 25, "yearly_swing_k": 3, "hottest_day": -30}});
    let TemperatureCourse::Wave(wave) = course(wave) else {
        panic!("a wave");
    };
    assert_eq!((wave.hottest_day, wave.daily_swing_k), (-30.0, 0.0));
}

#[test]
fn what_a_wave_must_hold() {
    let said = |wave: Value| complaint(&[(AT, json!({"wave": wave}))]);
    assert_eq!(
        said(json!({"mean_c": 11, "yearly_swing_k": 9})),
        "vessels[0].temperature.wave.hottest_day_of_year: This key is missing. Say when the yearly wave peaks: \
         \"hottest_day_of_year\" (with \"start_date\") or \"hottest_day\"."
    );
    assert_eq!(
        said(
            json!({"mean_c": 11, "yearly_swing_k": 9, "hottest_day": 1, "hottest_day_of_year": 1})
        ),
        "vessels[0].temperature.wave.hottest_day_of_year: \"hottest_day_of_year\" and \"hottest_day\" say the same \
         thing twice. Keep one of the two."
    );
    assert_eq!(
        said(json!({"mean_c": 50, "yearly_swing_k": 9, "daily_swing_k": 3, "hottest_day": 1})),
        "vessels[0].temperature.wave is a course from 38 to 62 C. The equations know nothing of colder ice or hotter \
         liquor; degrees are Celsius. Allowed: -20 to 60 C. Lower the swings or move the mean."
    );
    assert_eq!(
        complaint(&[
            ("start_date", json!(null)),
            (
                AT,
                json!({"wave": {"mean_c": 11, "yearly_swing_k": 9, "hottest_day_of_year": 200}})
            )
        ]),
        "vessels[0].temperature.wave.hottest_day_of_year: Dates and days of the year need to know when the run \
         begins. Add \"start_date\" at the top of the scenario, such as \"2026-03-01\"."
    );
}

#[test]
fn points_are_sorted() {
    let points =
        json!({"points": [{"day": 100, "temperature_c": 20}, {"day": 0, "temperature_c": 35}]});
    assert_eq!(
        course(points),
        TemperatureCourse::Table(vec![(0.0, 35.0), (100.0, 20.0)])
    );
}

#[test]
fn points_that_cannot_be_taken() {
    let found = complaints(&[(
        AT,
        json!({"points": [
            {"day": 0, "temperature_c": 350},
            {"temperature_c": 20},
            {"day": 1e9, "temperature_c": 20},
            {"day": 7, "temperature_c": 20},
            {"day": 7, "temperature_c": 21}
        ]}),
    )]);
    assert_eq!(
        found,
        [
            "vessels[0].temperature.points: Day 7 is given twice. Keep one temperature for each day.",
            "vessels[0].temperature.points[0].temperature_c is 350. The equations know nothing of colder ice or hotter \
             liquor; degrees are Celsius. Allowed: -20 to 60 C.",
            "vessels[0].temperature.points[1].day: This key is missing. Give the day, counted from 0.",
            "vessels[0].temperature.points[2].day is 1000000000. That day lies more than a century away. Count days \
             from the start of the run.",
        ]
    );
    assert_eq!(
        complaint(&[(AT, json!({"points": []}))]),
        "vessels[0].temperature.points: No temperature could be taken from it. Give at least one day and its \
         temperature."
    );
}

#[test]
fn a_course_that_ends_early_is_held_with_a_warning() {
    let points =
        json!({"points": [{"day": 0, "temperature_c": 20}, {"day": 50, "temperature_c": 25}]});
    assert!(
        warnings(&[(AT, points)]).contains(
            &"vessels[0].temperature.points: It covers day 0 to day 50, but the run goes from 0 to 100.".to_owned()
        )
    );
    let whole =
        json!({"points": [{"day": 0, "temperature_c": 20}, {"day": 99, "temperature_c": 25}]});
    assert!(
        !warnings(&[(AT, whole)])
            .iter()
            .any(|w| w.contains("covers"))
    );
}

/// Reads the good scenario with a table of this content beside it.
fn with_table(content: impl AsRef<[u8]>) -> Result<TemperatureCourse, Problems> {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("temps.csv"), content).unwrap();
    read_in(folder.path())
}

fn read_in(folder: &Path) -> Result<TemperatureCourse, Problems> {
    let scenario = with(&[(AT, json!({"table": {"file": "temps.csv"}}))]);
    from_value(&scenario, "s.json", Some(folder))
        .map(|loaded| loaded.case.vessels[0].temperature.clone())
}

#[test]
fn tables_in_the_ways_that_spreadsheets_write_them() {
    let expected = TemperatureCourse::Table(vec![(0.0, 12.5), (60.0, -3.0), (99.0, 20.0)]);
    for content in [
        "day,temperature_c\n0,12.5\n60,-3\n99,20\n",
        "\u{feff}day;temperature_c\r\n0;12,5\r\n60;-3,0\r\n99;20\r\n",
        "day\ttemperature_c\n0\t12,5\n60\t-3\n99\t20",
        "Day ; Note; Temperature_C\n60;frost;-3\n\n99;;20\n0;x;12,5\n",
        "date,temperature_c\n2026-03-01,12.5\n2026-04-30,-3\n2026-06-08,20\n",
        "temperature_c,date\n12.5,2026-03-01\n-3,2026-04-30\n\"20\",2026-06-08\n",
    ] {
        assert_eq!(with_table(content).unwrap(), expected, "{content}");
    }
}

#[test]
fn months_in_place_of_a_table_are_told_what_to_do() {
    let at = AT;
    let list = with(&[(at, json!({"table": [{"month": 1, "temperature_c": 2}]}))]);
    let problems = from_value(&list, "s.json", None).unwrap_err().problems;
    assert!(
        problems.iter().any(|p| p.path.ends_with(".table")
            && p.mend.contains("points")
            && p.mend.contains("month")),
        "{problems:?}"
    );
    let problems = with_table("month,temperature_c\n1,2\n")
        .unwrap_err()
        .problems;
    assert!(
        problems
            .iter()
            .any(|p| p.mend.contains("A month is no day")),
        "{problems:?}"
    );
}

/// "line: sentence" for each problem that stands in the table.
fn rows(content: impl AsRef<[u8]>) -> Vec<String> {
    let problems = with_table(content).unwrap_err().problems;
    problems
        .iter()
        .filter(|p| p.file.ends_with("temps.csv"))
        .map(|p| format!("{}: {} {}", p.line.unwrap_or(0), p.why, p.mend))
        .collect()
}

#[test]
fn bad_rows_are_all_listed_with_their_line() {
    assert_eq!(
        rows(
            "day;temperature_c\n0;20\nMonday;21\n2;warm\n3;\n4;400\n5;20,5\n1e12;3\n7;20 C\n8;nan"
        ),
        [
            "3: \"Monday\" is no number. Write digits, without a unit.",
            "4: \"warm\" is no number. Write digits, without a unit.",
            "5: The cell temperature_c is empty. Fill it, or remove the row.",
            "6: 400 C cannot be taken. The equations know nothing of colder ice or hotter liquor; degrees are Celsius. \
             Allowed: -20 to 60 C.",
            "8: Day 1000000000000 lies more than a century away. Count days from the start of the run.",
            "9: \"20 C\" is no number. Write digits, without a unit.",
            "10: \"nan\" is no number. Write digits, without a unit.",
        ]
    );
    assert_eq!(
        rows("date,temperature_c\n2026-03-01,5\n1.4.2026,6\n"),
        ["3: \"1.4.2026\" is no date of the calendar. Write dates as 2026-03-01."]
    );
    assert_eq!(
        rows("day,temperature_c\n0,20\n1,20,5\n"),
        [
            "3: This row has 3 cells where the first line has 2. If the comma is a decimal comma, part the columns by \
             semicolons."
        ]
    );
}

#[test]
fn very_many_bad_rows_are_counted() {
    let content = format!("day,temperature_c\n0,20\n{}", "x,y\n".repeat(500));
    let found = rows(content);
    assert_eq!(found.len(), 21);
    assert_eq!(
        found
            .iter()
            .filter(|row| row.starts_with("0: 480 more rows"))
            .count(),
        1
    );
}

#[test]
fn columns_must_have_their_names() {
    assert_eq!(
        rows("day,temperatur_c\n0,20\n"),
        [
            "1: There is no column temperature_c; the first line says: day, temperatur_c. Name the columns day or date, and \
             temperature_c. Did you mean \"temperature_c\"?"
        ]
    );
    assert_eq!(
        rows("time,temperature_c\n0,20\n"),
        [
            "1: There is no column day or date; the first line says: time, temperature_c. Name the columns day or \
             date, and temperature_c."
        ]
    );
    assert_eq!(
        rows("day,date,temperature_c\n0,2026-03-01,20\n"),
        ["1: There is a column day and a column date. Keep one of the two."]
    );
    assert!(rows("")[0].starts_with("1: There is no column temperature_c"));
}

#[test]
fn the_row_and_the_table_are_both_named() {
    let text = with_table("day,temperature_c\n0,x\n")
        .unwrap_err()
        .to_string();
    assert!(
        text.contains("temps.csv, line 2: \"x\" is no number."),
        "{text}"
    );
    assert!(
        text.contains("vessels[0].temperature.table.file: No temperature could be taken from it."),
        "{text}"
    );
}

#[test]
fn tables_that_cannot_be_found() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("temp.csv"), "day,temperature_c\n0,20\n").unwrap();
    let text = read_in(folder.path()).unwrap_err().to_string();
    assert!(
        text.contains("vessels[0].temperature.table.file is \"temps.csv\"."),
        "{text}"
    );
    assert!(text.contains("There is no such file."), "{text}");
    assert!(text.contains("Did you mean \"temp.csv\"?"), "{text}");
    assert_eq!(
        complaints(&[(AT, json!({"table": {"file": "temps.csv"}}))])[0],
        "vessels[0].temperature.table.file: This scenario stands in no folder, so the table cannot be found. Save the \
         scenario as a file, or use \"points\"."
    );
    assert!(
        with_table(b"day,temperature_c\n0,\xff\n")
            .is_err_and(|p| p.to_string().contains("not text in UTF-8"))
    );
}

#[test]
fn dated_tables_need_a_start_date() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("temps.csv"),
        "date,temperature_c\n2026-03-01,5\n",
    )
    .unwrap();
    let scenario = with(&[
        ("start_date", json!(null)),
        (AT, json!({"table": {"file": "temps.csv"}})),
    ]);
    let problems = from_value(&scenario, "s.json", Some(folder.path())).unwrap_err();
    assert!(
        problems
            .to_string()
            .contains("need to know when the run begins"),
        "{problems}"
    );
}

#[test]
fn a_day_given_twice_in_a_table() {
    let text = with_table("day,temperature_c\n0,5\n0,6\n99,5\n")
        .unwrap_err()
        .to_string();
    assert!(text.contains("Day 0 is given twice."), "{text}");
}

#[test]
fn degrees_that_seem_to_be_fahrenheit() {
    let said = complaint(&[("vessels[0].temperature.constant_c", json!(95))]);
    assert!(
        said.ends_with("If that is in degrees Fahrenheit, write 35.0."),
        "{said}"
    );
}

#[test]
fn temperatures_beyond_the_equations_are_warned_of() {
    for (celsius, seen) in [
        (58.0, Some("The liquor is as warm as 58.0 C.")),
        (50.0, Some("The liquor is as warm as 50.0 C.")),
        (45.0, None),
        (3.0, None),
    ] {
        let told = warnings(&[("vessels[0].temperature.constant_c", json!(celsius))]);
        let about = told
            .iter()
            .find_map(|w| w.strip_prefix("vessels[0].temperature: "));
        assert_eq!(about, seen, "{celsius}");
    }
}
