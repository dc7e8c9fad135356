//! Golden runs: each ready scenario against its stored course.
//!
//! The course is stored from a run at [`TIGHT`]: it is the model's own answer, whatever the integrator does. The run at
//! the scenario's own tolerance must lie within [`RTOL`] of it, which shows what that tolerance is worth.
//!
//! After an intended change of the model: `MARSHGAS_RENEW_GOLDEN=1 cargo test --release --test science golden`, then
//! read the differences in the version control before they are kept.

use std::fs;
use std::path::{Path, PathBuf};

use marshgas::scenario;
use marshgas::simulate::{DayRow, Outcome, run};

/// Set to anything, it makes this test write the files instead of comparing.
const RENEW: &str = "MARSHGAS_RENEW_GOLDEN";
/// Every tenth day is stored.
const EVERY: usize = 10;
/// Tolerance of the stored runs.
const TIGHT: f64 = 1e-8;
/// Allowed at the scenario's own tolerance: of the value, and of the largest value of its column. A day on which the
/// gas halves moves by hours over two cold years (the worst seen is 2.7 % of such a day, 0.2 % of the largest). Both
/// are far below what is known of any digester.
const RTOL: f64 = 5e-3;
const OF_LARGEST: f64 = 2e-3;

/// Name, reading, whether the relative tolerances hold (for a logarithm they mean nothing), absolute tolerance.
type Column = (&'static str, fn(&DayRow) -> f64, bool, f64);
const COLUMNS: [Column; 5] = [
    ("gas_nl", |d| d.gas_nl, true, 1e-3),
    ("ch4_nl", |d| d.ch4_nl, true, 1e-3),
    ("ph", |d| d.ph, false, 5e-3),
    ("acids_mg_l", |d| d.acids_mg_l, true, 0.5),
    ("alkalinity_mg_l", |d| d.alkalinity_mg_l, true, 0.5),
];
/// An event may move by one point of the finer trajectory \[d\].
const EVENT_ATOL_D: f64 = 0.126;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn outcome(name: &str, tolerance: Option<f64>) -> Outcome {
    let mut case = scenario::load(&root().join(format!("scenarios/{name}.json")))
        .unwrap()
        .case;
    if let Some(tolerance) = tolerance {
        case.solver.relative_tolerance = tolerance;
    }
    run(&case, &mut |_| {}).unwrap()
}

/// Lines `day,<day>,<columns>` and `event,<day>,<vessel>,<kind>`.
fn course(name: &str, o: &Outcome) -> String {
    let mut text = format!(
        "# {name}: every {EVERY}th day, then the events. Computed by this program, not measured; renewed as\n\
         # tests/science/golden.rs says.\nday"
    );
    for (column, ..) in COLUMNS {
        text.push_str(&format!(",{column}"));
    }
    text.push('\n');
    for d in o.plant.iter().step_by(EVERY) {
        text.push_str(&d.day.to_string());
        for (_, of, ..) in COLUMNS {
            text.push_str(&format!(",{:.6e}", of(d)));
        }
        text.push('\n');
    }
    for e in &o.events {
        text.push_str(&format!("event,{:.4},{},{:?}\n", e.day, e.vessel, e.kind));
    }
    text
}

/// Differences in words.
fn differences(name: &str, stored: &str, now: &str) -> Vec<String> {
    let body = |text: &str| -> Vec<Vec<String>> {
        text.lines()
            .filter(|l| !l.starts_with('#') && !l.is_empty())
            .skip(1)
            .map(|l| l.split(',').map(str::to_owned).collect())
            .collect()
    };
    let (stored, now) = (body(stored), body(now));
    let mut out = Vec::new();
    if stored.len() != now.len() {
        out.push(format!(
            "{name}: {} rows stored, {} now",
            stored.len(),
            now.len()
        ));
    }
    let largest: Vec<f64> = (0..COLUMNS.len())
        .map(|i| {
            let days = stored.iter().filter(|row| row[0] != "event");
            days.map(|row| number(&row[i + 1]).abs())
                .fold(0.0, f64::max)
        })
        .collect();
    for (a, b) in stored.iter().zip(&now) {
        if a[0] == "event" || b[0] == "event" {
            let near = a[0] == b[0]
                && a[2..] == b[2..]
                && (number(&a[1]) - number(&b[1])).abs() <= EVENT_ATOL_D;
            if !near {
                out.push(format!(
                    "{name}: event {} stored, {} now",
                    a.join(" "),
                    b.join(" ")
                ));
            }
            continue;
        }
        for (i, (column, _, relative, atol)) in COLUMNS.iter().enumerate() {
            let (x, y) = (number(&a[i + 1]), number(&b[i + 1]));
            let share = if *relative {
                RTOL * x.abs() + OF_LARGEST * largest[i]
            } else {
                0.0
            };
            if (x - y).abs() > share + atol {
                out.push(format!(
                    "{name}, day {}: {column} {x} stored, {y} now",
                    a[0]
                ));
            }
        }
    }
    out
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

/// Names of the ready scenarios.
pub(crate) fn names() -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(root().join("scenarios"))
        .unwrap()
        .filter_map(|e| {
            e.unwrap()
                .file_name()
                .into_string()
                .unwrap()
                .strip_suffix(".json")
                .map(str::to_owned)
        })
        .collect();
    names.sort();
    names
}

fn file(name: &str) -> PathBuf {
    root().join(format!("tests/data/golden/{name}.csv"))
}

#[test]
fn ready_scenarios_run_as_they_did() {
    let renew = std::env::var_os(RENEW).is_some();
    let mut all = Vec::new();
    for name in names() {
        let o = outcome(&name, renew.then_some(TIGHT));
        for c in &o.closures {
            assert!(c.relative_gap <= 1e-6, "{name}: {c:?}");
        }
        let now = course(&name, &o);
        if renew {
            fs::write(file(&name), now).unwrap();
            continue;
        }
        let stored = fs::read_to_string(file(&name))
            .unwrap_or_else(|e| panic!("{name}: {e}; write it with {RENEW}=1"));
        all.extend(differences(&name, &stored, &now));
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn a_changed_course_is_told() {
    let stored = "# x\nday,a\n0,1.0,1.0,7.0,100,2000\nevent,3.0,0,FirstFlame\n";
    let now = "# x\nday,a\n0,1.0,1.1,7.0,100,2000\nevent,4.0,0,FirstFlame\n";
    let told = differences("x", stored, now);
    assert_eq!(
        told,
        [
            "x, day 0: ch4_nl 1 stored, 1.1 now",
            "x: event event 3.0 0 FirstFlame stored, event 4.0 0 FirstFlame now"
        ]
    );
    assert!(differences("x", stored, stored).is_empty());
}
