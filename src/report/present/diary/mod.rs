//! What a record beside the run that follows it has to show.

mod figures;
mod story;
mod table;
mod tables;

use jiff::civil::Date;

use super::cautions::cautions;
use super::run::LIMITS as RUN_LIMITS;
use super::words::{bind, date_of};
use crate::diary::{Comparison, Record};
use crate::report::document::{Closing, Document, Facts, Trend, Trends};
use crate::report::numbers::power_of_ten;
use crate::simulate::Outcome;

pub use table::csv_diary;

const TRUST: &str = "The run uses the scenario as it stands, with the record's feed and temperature. A few tens of per \
cent between the two are usual before the model is fitted to the digester.";

const LIMITS: [&str; 2] = [
    "A difference between record and run does not say by itself which of the two is wrong: a leak, a cold corner, a \
     meter that reads low and slow biology look alike in the gas alone.",
    "Gas is counted from reading to reading. What was burnt or let go in between without being read is missing from the \
     record.",
];

/// The report of a record beside a run. `notes` say how the two were joined.
#[must_use]
pub fn diary(
    record: &Record,
    comparison: &Comparison,
    outcome: &Outcome,
    notes: &[String],
) -> Document {
    let reading = Reading {
        record,
        comparison,
        outcome,
        start: comparison.start.parse().ok(),
        notes,
    };
    let bound = |pieces: Vec<String>| pieces.iter().map(|p| bind(p)).collect();
    Document {
        kind: "Diary".into(),
        title: outcome.title.clone(),
        // What the scenario's author says of it is not said of the record.
        about: "The owner's record beside a run of the scenario.".into(),
        story: bound(story::story(&reading)),
        key_numbers: story::key_numbers(&reading),
        trust: TRUST.into(),
        trends: trends(&reading),
        figures: figures::figures(&reading),
        tables: tables::tables(&reading),
        cautions: cautions(),
        limits: LIMITS.iter().chain(&RUN_LIMITS).map(|l| bind(l)).collect(),
        facts: vec![facts(outcome)],
        closing: closing(&reading),
        ..Document::default()
    }
}

/// Record, run and what is needed to tell them.
struct Reading<'a> {
    record: &'a Record,
    comparison: &'a Comparison,
    outcome: &'a Outcome,
    start: Option<Date>,
    notes: &'a [String],
}

impl Reading<'_> {
    /// First and last day that are shown \[d of the run\].
    fn span(&self) -> (f64, f64) {
        (self.comparison.first_day, f64::from(self.comparison.days))
    }

    /// Measured gas of each day of the span \[norm L/d\]; not finite where readings cover less than half of it.
    fn measured_days(&self) -> Vec<f64> {
        let (from, to) = self.span();
        let mut days = Vec::new();
        let mut day = from;
        while day < to {
            let (mut covered, mut gas) = (0.0, 0.0);
            for i in &self.comparison.intervals {
                let overlap = (i.to_day.min(day + 1.0) - i.from_day.max(day)).max(0.0);
                covered += overlap;
                gas += i.measured_nl * overlap / i.days();
            }
            days.push(if covered >= 0.5 {
                gas / covered
            } else {
                f64::NAN
            });
            day += 1.0;
        }
        days
    }

    /// A value of the run's days within the span.
    fn computed_days(&self, value: impl Fn(&crate::simulate::DayRow) -> f64) -> Vec<f64> {
        let (from, _) = self.span();
        let rows = self.outcome.plant.iter();
        rows.filter(|r| f64::from(r.day) >= from)
            .map(value)
            .collect()
    }
}

fn trends(reading: &Reading<'_>) -> Trends {
    let (from, to) = reading.span();
    let course = |label: &str, unit: &str, decimals, values| Trend {
        label: label.into(),
        unit: unit.into(),
        decimals,
        values,
    };
    Trends {
        start: date_of(from, reading.start),
        // Whole days, at most 7300.
        days: (to - from) as u32,
        courses: vec![
            course("Gas measured", "NL/d", 0, reading.measured_days()),
            course(
                "Gas computed",
                "NL/d",
                0,
                reading.computed_days(|r| r.gas_nl),
            ),
            course("Fed", "kg/d", 1, reading.computed_days(|r| r.fed_kg)),
            course("Tank", "C", 1, reading.computed_days(|r| r.temperature_c)),
        ],
        marks: Vec::new(),
    }
}

fn facts(outcome: &Outcome) -> Facts {
    let p = &outcome.provenance;
    let rows = [
        ("marshgas", p.version.clone()),
        ("Scenario", p.file.clone()),
        ("What its author says of it", outcome.about.clone()),
        ("SHA-256 of the joined scenario", p.sha256.clone()),
        ("Network", p.network.clone()),
        (
            "Norm litre (NL)",
            "dry gas at 0 \u{b0}C and 101.325 kPa".into(),
        ),
    ];
    Facts {
        title: "How it was computed".into(),
        rows: rows.map(|(name, value)| (name.into(), value)).into(),
    }
}

fn closing(reading: &Reading<'_>) -> Closing {
    let widest = reading
        .outcome
        .closures
        .iter()
        .map(|c| c.relative_gap)
        .fold(0.0, f64::max);
    let doubts = match reading.record.doubts.len() {
        0 => "Nothing in the record is doubtful".to_owned(),
        1 => "One line of the record is doubtful".to_owned(),
        n => format!("{n} things in the record are doubtful"),
    };
    Closing {
        holds: true,
        text: format!(
            "{doubts}. All balances of the run close within {}.",
            power_of_ten(widest)
        ),
    }
}
