//! What the plant through a year has to show, on one sheet.

mod cautions;
mod figures;
mod story;
mod tables;

use jiff::civil::Date;

use super::run::{LIMITS as RUN_LIMITS, TRUST};
use super::words::bind;
use crate::report::document::{Closing, Document, Facts, Trend, Trends};
use crate::report::numbers::power_of_ten;
use crate::simulate::Outcome;
use crate::study::season::{SeasonDay, SeasonOutcome};

const LIMITS: [&str; 5] = [
    "The digester is computed first, against a store of steady pressure; what store and uses do does not act back on it.",
    "Within a day the mixture of the gas is even; its amount follows the finer trajectory.",
    "The boiler of a heater on own gas takes raw gas before the cleaning, evenly over the day's gas, and lights where gas \
     can be lit at all. What it lacks must come from elsewhere.",
    "The store's dead space counts as rinsed with the plant's own gas before anything is lit. Pipes, store and beds have \
     one temperature, and nothing is lost in pipes and appliances.",
    "A bed that is spent is changed at once, unless the scenario says never. Beds that freeze or dry out are not computed.",
];

/// What the parts of the document read.
struct Reading<'a> {
    season: &'a SeasonOutcome,
    outcome: &'a Outcome,
    start: Option<Date>,
}

impl Reading<'_> {
    /// The days that amounts and rates are of.
    fn counted(&self) -> &[SeasonDay] {
        let from = self.season.counted_from as usize;
        self.season.days.get(from..).unwrap_or_default()
    }

    fn is_longer(&self) -> bool {
        self.season.counted_from > 0
    }

    fn sum(&self, of: fn(&SeasonDay) -> f64) -> f64 {
        self.counted().iter().map(of).sum()
    }

    fn mean(&self, of: fn(&SeasonDay) -> f64) -> f64 {
        self.sum(of) / self.counted().len().max(1) as f64
    }
}

/// The document of a plant through its run.
#[must_use]
pub fn season(season: &SeasonOutcome, outcome: &Outcome) -> Document {
    let reading = Reading {
        season,
        outcome,
        start: season.start_date.as_ref().and_then(|d| d.parse().ok()),
    };
    let bound = |pieces: Vec<String>| pieces.iter().map(|p| bind(p)).collect();
    let mut figures = figures::figures(&reading);
    for figure in &mut figures {
        figure.caption = bind(&figure.caption);
    }
    Document {
        kind: "Season".into(),
        title: season.title.clone(),
        about: season.about.clone(),
        story: bound(story::story(&reading)),
        advice: bound(story::advice(&reading)),
        key_numbers: story::key_numbers(&reading),
        trust: TRUST.into(),
        trends: trends(&reading),
        figures,
        tables: tables::tables(&reading),
        cautions: cautions::cautions(season),
        limits: LIMITS.into_iter().chain(RUN_LIMITS).map(bind).collect(),
        facts: facts(&reading),
        closing: closing(season),
    }
}

fn trends(reading: &Reading<'_>) -> Trends {
    let course = |label: &str, unit: &str, decimals, of: fn(&SeasonDay) -> f64| Trend {
        label: label.into(),
        unit: unit.into(),
        decimals,
        values: reading.season.days.iter().map(of).collect(),
    };
    Trends {
        start: reading.start,
        days: reading.outcome.days,
        courses: vec![
            course("liquor", "\u{b0}C", 0, |d| d.liquor_c),
            course("gas made", "NL/d", 0, |d| d.made_nl),
            course("gas used", "NL/d", 0, |d| d.used_nl),
            course("overflow", "NL/d", 0, |d| d.overflow_nl),
            course("hours short", "h/d", 1, |d| d.short_h),
            course("store", "%", 0, |d| 100.0 * d.store_share),
        ],
        marks: Vec::new(),
    }
}

fn facts(reading: &Reading<'_>) -> Vec<Facts> {
    let p = &reading.outcome.provenance;
    let row = |name: &str, text: String| (name.to_owned(), text);
    let worst = reading
        .outcome
        .closures
        .iter()
        .map(|c| c.relative_gap)
        .fold(0.0, f64::max);
    vec![Facts {
        title: "Provenance".into(),
        rows: vec![
            row("marshgas", p.version.clone()),
            row("Scenario", p.file.clone()),
            row("SHA-256 of the scenario", p.sha256.clone()),
            row(
                "Norm litre (NL)",
                "dry gas at 0 \u{b0}C and 101.325 kPa".into(),
            ),
            row(
                "Balances of the digester",
                format!(
                    "all {} close; largest relative gap {}",
                    reading.outcome.closures.len(),
                    power_of_ten(worst)
                ),
            ),
        ],
    }]
}

fn closing(season: &SeasonOutcome) -> Closing {
    let worst = season
        .closures
        .iter()
        .max_by(|a, b| a.relative_gap.total_cmp(&b.relative_gap));
    match worst {
        Some(worst) => Closing {
            holds: worst.relative_gap <= worst.limit,
            text: format!(
                "All {} balances of the plant close; the largest relative gap is {} ({}).",
                season.closures.len(),
                power_of_ten(worst.relative_gap),
                worst.quantity
            ),
        },
        None => Closing::default(),
    }
}
