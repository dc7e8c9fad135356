//! What one run has to show.

mod advice;
mod fate;
mod figures;
mod heat;
mod key_numbers;
mod liquor;
mod reading;
mod record;
mod story;
mod tables;

use super::cautions::cautions;
use super::words::finished;
use crate::digester::Bands;
use crate::report::document::{Closing, Document, Mark, Trend, Trends};
use crate::report::numbers::power_of_ten;
use crate::simulate::{Closure, DayRow, Outcome};
pub(super) use advice::AGAINST_FREEZING;
pub use heat::foam_table;
pub(super) use heat::heating_advice;
use reading::Reading;
pub(super) use record::LIMITS;
pub(super) use story::froze;

/// What every report says of its own numbers. The spread is that of small digesters, as the owner
/// can check by reading two of them side by side; common practice, no source.
pub(super) const TRUST: &str = "Biology at this scale is uncertain by tens of per cent: read every number as the \
middle of a wide range, and trust comparisons between runs more than single values.";

/// The document of one run, read against `bands`.
#[must_use]
pub fn run(outcome: &Outcome, bands: &Bands) -> Document {
    let reading = Reading::new(outcome, bands);
    let mut figures = figures::figures(&reading);
    figures.extend(heat::figures(&reading));
    figures.push(fate::figure(&reading));
    finished(Document {
        kind: "Run".into(),
        title: outcome.title.clone(),
        about: outcome.about.clone(),
        story: story::story(&reading),
        advice: advice::advice(&reading),
        key_numbers: {
            let mut numbers = key_numbers::key_numbers(&reading);
            numbers.extend(heat::key_numbers(&reading));
            numbers
        },
        trust: TRUST.into(),
        trends: trends(&reading),
        figures,
        tables: tables::tables(&reading),
        cautions: cautions(),
        limits: record::LIMITS.map(str::to_owned).to_vec(),
        facts: record::facts(&reading),
        closing: closing(outcome),
    })
}

fn trends(reading: &Reading<'_>) -> Trends {
    let course = |label: &str, unit: &str, decimals, of: fn(&DayRow) -> f64| Trend {
        label: label.into(),
        unit: unit.into(),
        decimals,
        values: reading.rows().iter().map(of).collect(),
    };
    let sour: Vec<bool> = reading.rows().iter().map(|r| r.sour).collect();
    let marks = if sour.contains(&true) {
        vec![Mark {
            label: "sour".into(),
            days: sour,
        }]
    } else {
        Vec::new()
    };
    Trends {
        start: reading.start,
        days: reading.outcome.days,
        courses: vec![
            course("gas", "norm L/d", 0, |r| r.gas_nl),
            course("methane", "%", 0, |r| 100.0 * r.ch4_share),
            course("acid ratio", "", 2, |r| r.acid_ratio),
            course("pH", "", 1, |r| r.ph),
            course("liquor", "\u{b0}C", 0, |r| r.temperature_c),
        ],
        marks,
    }
}

fn closing(outcome: &Outcome) -> Closing {
    let open: Vec<_> = outcome.closures.iter().filter(|c| !closes(c)).collect();
    let worst = outcome
        .closures
        .iter()
        .max_by(|a, b| a.relative_gap.total_cmp(&b.relative_gap));
    let text = match (open.first(), worst) {
        (Some(broken), _) => format!(
            "The balance of {} does not close: its gap of {} exceeds {}. Do not use these numbers.",
            broken.quantity,
            power_of_ten(broken.relative_gap),
            power_of_ten(broken.limit)
        ),
        (None, Some(worst)) => format!(
            "All {} balances close; the largest relative gap is {} ({}).",
            outcome.closures.len(),
            power_of_ten(worst.relative_gap),
            worst.quantity
        ),
        (None, None) => "No balance was computed for this run.".into(),
    };
    Closing {
        holds: open.is_empty() && worst.is_some(),
        text,
    }
}

/// Whether a balance stays within its limit; one that is not a number does not.
fn closes(closure: &Closure) -> bool {
    closure.relative_gap <= closure.limit
}
