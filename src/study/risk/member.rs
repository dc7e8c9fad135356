//! What is kept of one run: a handful of numbers, and the daily courses where they are asked for.

use serde::Serialize;

use crate::simulate::{EventKind, Outcome};

/// Acid ratios above count as this in the daily rows: the alkalinity is spent, and the ratio says no more. Without the
/// limit the few spent runs would stretch the bands' bins until nothing else could be told apart.
pub const MOST_ACID_RATIO: f64 = 2.0;

/// One run in short.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Member {
    /// When it first turns sour \[d\]; `None`: never.
    pub sour_day: Option<f64>,
    /// Whether the last day counts as sour.
    pub sour_at_end: bool,
    /// When the gas burns for the first time \[d\]; `None`: never.
    pub first_flame_day: Option<f64>,
    /// When it burns steadily \[d\]; `None`: never.
    pub steady_flame_day: Option<f64>,
    /// Lowest pH of a day's end.
    pub lowest_ph: f64,
    /// Highest acid ratio of a day's end.
    pub highest_acid_ratio: f64,
    /// Methane for the store over the whole run \[norm litres\].
    pub methane_nl: f64,
    /// Methane per volatile solids put in, at the end \[norm litres/kg VS\].
    pub yield_nl_kg_vs: f64,
    /// A row for each day: gas and methane for the store \[norm litres/d\], acid ratio up to [`MOST_ACID_RATIO`], pH;
    /// empty where not asked for.
    pub days: Vec<[f64; 4]>,
}

impl Member {
    /// Takes what is needed from an outcome.
    pub(super) fn of(outcome: &Outcome, with_days: bool) -> Self {
        let rows = &outcome.plant;
        let first = |kind: EventKind| {
            let events = outcome.events.iter().filter(|e| e.kind == kind);
            events.map(|e| e.day).min_by(f64::total_cmp)
        };
        Self {
            sour_day: rows.iter().find(|r| r.sour).map(|r| f64::from(r.day)),
            sour_at_end: rows.last().is_some_and(|r| r.sour),
            first_flame_day: first(EventKind::FirstFlame),
            steady_flame_day: first(EventKind::BurnsSteadily),
            lowest_ph: rows.iter().map(|r| r.ph).fold(f64::INFINITY, f64::min),
            highest_acid_ratio: rows.iter().map(|r| r.acid_ratio).fold(0.0, f64::max),
            methane_nl: rows.iter().map(|r| r.ch4_nl).sum(),
            yield_nl_kg_vs: rows.last().map_or(0.0, |r| r.yield_nl_kg_vs),
            days: if with_days {
                let ratio = |r: f64| r.min(MOST_ACID_RATIO);
                rows.iter()
                    .map(|r| [r.gas_nl, r.ch4_nl, ratio(r.acid_ratio), r.ph])
                    .collect()
            } else {
                Vec::new()
            },
        }
    }
}
