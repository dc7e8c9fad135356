//! CSV and JSON.

use crate::fixture::{Shape, outcome};
use marshgas::report::{Flavour, OUTCOME_SCHEMA, ReportError, csv_daily, csv_trace, json};

fn records(text: &str, delimiter: u8) -> (csv::StringRecord, Vec<csv::StringRecord>) {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    (header, reader.records().map(Result::unwrap).collect())
}

fn column(header: &csv::StringRecord, name: &str) -> usize {
    header
        .iter()
        .position(|h| h == name)
        .unwrap_or_else(|| panic!("no column {name}"))
}

/// Seven significant digits: half a unit of the seventh is 5e-7 of the smallest such number. The JSON keeps all digits.
fn same_in_seven_digits(told: &str, value: f64) {
    let digits = told
        .trim_start_matches('-')
        .chars()
        .filter(char::is_ascii_digit);
    assert!(digits.skip_while(|d| *d == '0').count() <= 7, "{told}");
    let read: f64 = told.parse().unwrap();
    assert!((read - value).abs() <= 5e-7 * value.abs(), "{told} {value}");
}

#[test]
fn daily_rows_read_back_to_seven_digits() {
    let outcome = outcome(&Shape::default());
    let text = csv_daily(&outcome, Flavour::Plain).unwrap();
    assert!(text.contains("\r\n") && !text.starts_with('\u{FEFF}'));
    let (header, rows) = records(&text, b',');
    assert_eq!(rows.len(), 180);
    let (gas, ph, date) = (
        column(&header, "gas_nL_per_d"),
        column(&header, "pH"),
        column(&header, "date"),
    );
    for (row, day) in rows.iter().zip(&outcome.plant) {
        same_in_seven_digits(&row[gas], day.gas_nl);
        same_in_seven_digits(&row[ph], day.ph);
    }
    assert_eq!(&rows[18][date], "2027-04-01");
}

#[test]
fn an_absent_number_is_an_empty_cell() {
    let text = csv_daily(
        &outcome(&Shape {
            start_date: None,
            ..Shape::default()
        }),
        Flavour::Plain,
    )
    .unwrap();
    let (header, rows) = records(&text, b',');
    assert_eq!(&rows[0][column(&header, "retention_d")], "");
    assert_eq!(&rows[0][column(&header, "date")], "");
    assert_ne!(&rows[60][column(&header, "retention_d")], "");
}

#[test]
fn a_row_of_vessels_is_listed_after_the_whole_plant() {
    let text = csv_daily(
        &outcome(&Shape {
            vessels: 2,
            days: 10,
            ..Shape::default()
        }),
        Flavour::Plain,
    )
    .unwrap();
    let (_, rows) = records(&text, b',');
    let names: Vec<_> = rows.iter().map(|r| r[0].to_owned()).collect();
    assert_eq!(rows.len(), 30);
    assert_eq!(
        (names[0].as_str(), names[10].as_str(), names[29].as_str()),
        ("whole plant", "tote 1", "tote 2")
    );
}

#[test]
fn names_with_commas_and_quotes_survive() {
    let mut outcome = outcome(&Shape {
        days: 2,
        ..Shape::default()
    });
    outcome.vessels[0].name = "the \"old\" drum, green\nlid".into();
    let (_, rows) = records(&csv_daily(&outcome, Flavour::Plain).unwrap(), b',');
    assert_eq!(&rows[0][0], "the \"old\" drum, green\nlid");
}

#[test]
fn the_spreadsheet_flavour_has_commas_and_runs_nothing() {
    let mut outcome = outcome(&Shape {
        days: 2,
        ..Shape::default()
    });
    outcome.vessels[0].name = "=cmd()".into();
    let text = csv_daily(&outcome, Flavour::Spreadsheet).unwrap();
    let text = text.strip_prefix('\u{FEFF}').unwrap();
    let (header, rows) = records(text, b';');
    assert_eq!(&rows[0][0], "'=cmd()");
    let ph = &rows[0][column(&header, "pH")];
    assert!(ph.contains(',') && !ph.contains('.'), "{ph}");
    same_in_seven_digits(&ph.replace(',', "."), outcome.plant[0].ph);
}

#[test]
fn the_trajectory_holds_every_point() {
    let outcome = outcome(&Shape {
        vessels: 2,
        days: 10,
        ..Shape::default()
    });
    let (header, rows) = records(&csv_trace(&outcome, Flavour::Plain).unwrap(), b',');
    assert_eq!(rows.len(), 2 * 10 * 5);
    assert_eq!(&header[1], "time_d");
}

#[test]
fn json_reads_back_under_its_schema() {
    let outcome = outcome(&Shape::default());
    let value: serde_json::Value = serde_json::from_str(&json(&outcome).unwrap()).unwrap();
    assert_eq!(value["schema"], OUTCOME_SCHEMA.0);
    assert_eq!(value["schema_version"], OUTCOME_SCHEMA.1);
    let read = value["outcome"]["plant"][33]["ch4_nl"].as_f64().unwrap();
    assert_eq!(read.to_bits(), outcome.plant[33].ch4_nl.to_bits());
    assert!(value["outcome"]["plant"][0]["retention_d"].is_null());
    assert_eq!(value["outcome"]["events"][0]["kind"], "first-gas");
}

#[test]
fn what_is_not_finite_is_refused_with_its_place() {
    let good = outcome(&Shape {
        days: 20,
        ..Shape::default()
    });
    let mut bad = good.clone();
    bad.plant[12].ph = f64::NAN;
    for error in [
        json(&bad).unwrap_err(),
        csv_daily(&bad, Flavour::Plain).unwrap_err(),
    ] {
        let text = error.to_string();
        assert!(matches!(error, ReportError::NotFinite { .. }));
        assert!(text.contains("day 12") && text.contains("ph"), "{text}");
    }
    let mut bad = good.clone();
    bad.vessels[0].trace[3].pressure_mbar = f64::INFINITY;
    assert!(json(&bad).is_err() && csv_trace(&bad, Flavour::Plain).is_err());
    let mut bad = good.clone();
    bad.fate.left = f64::NAN;
    assert!(json(&bad).unwrap_err().to_string().contains("fate, left"));
    let mut bad = good;
    bad.plant[3].retention_d = Some(f64::INFINITY);
    assert!(json(&bad).is_err());
}
