//! What a sweep has to show.

mod curves;
mod maps;
mod reading;
mod story;
mod tables;

use super::cautions::cautions;
use super::run::{LIMITS, TRUST};
use super::words::{count, finished};
use crate::digester::Bands;
use crate::report::document::{Closing, Document, Facts};
use crate::report::numbers::percent;
use crate::study::sweep::{Class, SweepResult};
use reading::Reading;

/// Where the numbers of a sweep come from.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SweepRecord {
    /// Version of marshgas.
    pub version: String,
    /// Scenario file.
    pub file: String,
    /// SHA-256 of the scenario's bytes.
    pub sha256: String,
}

/// The document of a sweep, read against `bands`.
#[must_use]
pub fn sweep(result: &SweepResult, bands: &Bands, record: &SweepRecord) -> Document {
    let reading = Reading::new(result, bands);
    let figures = match result.axes.as_slice() {
        [_] => curves::figures(&reading),
        _ => maps::figures(&reading),
    };
    finished(Document {
        kind: "Sweep".into(),
        title: result.title.clone(),
        about: result.about.clone(),
        story: story::story(&reading),
        key_numbers: story::key_numbers(&reading),
        trust: TRUST.into(),
        figures,
        tables: tables::tables(&reading),
        cautions: cautions(),
        limits: LIMITS.map(str::to_owned).to_vec(),
        facts: facts(&reading, record),
        closing: closing(result),
        ..Document::default()
    })
}

fn facts(reading: &Reading<'_>, record: &SweepRecord) -> Vec<Facts> {
    let row = |name: &str, text: String| (name.to_owned(), text);
    let rules = &reading.result.rules;
    let mut provenance = vec![
        row("marshgas", record.version.clone()),
        row("Scenario", record.file.clone()),
        row("SHA-256 of the scenario", record.sha256.clone()),
    ];
    for axis in &reading.result.axes {
        provenance.push(row(
            &format!("Varied: {}", axis.knob),
            count(axis.values.len(), "value", "values"),
        ));
    }
    provenance.push(row(
        "Length of the runs",
        match reading.result.days {
            Some(days) => format!("{days} d each"),
            None => format!(
                "as in the scenario, and at least {} retention times from the full feeding on. {}",
                rules.retention_times.value, rules.retention_times.source
            ),
        },
    ));
    let definitions = vec![
        row("Norm litre", "dry gas at 0 \u{b0}C and 101.325 kPa".into()),
        row(
            "Lasting level",
            format!(
                "mean over the last {} d, or the last {} retention times if those are shorter, in whole rounds of \
                 the feeding; over {} d where the temperature changes and the run is that long. {}",
                rules.window_d.value,
                rules.retention_times.value,
                rules.year_d.value,
                rules.window_d.source
            ),
        ),
        row(
            "Settled",
            format!(
                "the run lasted {} retention times, and the methane of the two halves of the window, or under a changing \
                 temperature of the last two years, differs by at most {} %. {}",
                rules.retention_times.value,
                percent(rules.drift_share.value, 0),
                rules.drift_share.source
            ),
        ),
        row(
            "Slow",
            format!(
                "less than {} % of the methane that the degradable part of its feed could give at most. {}",
                percent(rules.slow_share.value, 0),
                rules.slow_share.source
            ),
        ),
        row("Sour", rules.sour_share.source.clone()),
        row("Washed out", rules.washed_share.source.clone()),
        row(
            "Safe range",
            format!(
                "points that work with acids over alkalinity up to {}. {}",
                reading.bands.acid_ratio.watch, reading.bands.acid_ratio.source
            ),
        ),
    ];
    vec![
        Facts {
            title: "Definitions and rules".into(),
            rows: definitions,
        },
        Facts {
            title: "Provenance".into(),
            rows: provenance,
        },
    ]
}

fn closing(result: &SweepResult) -> Closing {
    let failed = result
        .points
        .iter()
        .filter(|p| p.class == Class::Failed)
        .count();
    let done = result.points.len();
    let missing = result.planned.saturating_sub(done);
    let mut text = match failed {
        0 => format!(
            "All {} came through; every balance of each of them closes.",
            count(done, "run", "runs")
        ),
        _ => format!(
            "{failed} of {} {} no result.",
            count(done, "point", "points"),
            if failed == 1 { "has" } else { "have" }
        ),
    };
    if missing > 0 {
        text.push_str(&format!(
            " {} not computed.",
            count(missing, "point was", "points were")
        ));
    }
    Closing {
        holds: failed == 0 && missing == 0,
        text,
    }
}
