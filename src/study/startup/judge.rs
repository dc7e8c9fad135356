//! What counts in one run of a start: when the gas burns, when the liquor is fit for feed, whether it stays so.

use serde::Serialize;

use crate::digester::Bands;
use crate::simulate::{DayRow, EventKind, Outcome};

/// The limits that a plan keeps, taken from the bands of this build.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limits {
    /// Acids over alkalinity stays below.
    pub acid_ratio_below: f64,
    /// Source of the ratio's limit.
    pub acid_ratio_source: String,
    /// pH stays above.
    pub ph_above: f64,
    /// pH that a strip must show before a feed is raised.
    pub ph_check: f64,
    /// Source of the pH limits.
    pub ph_source: String,
}

impl Limits {
    /// Ratio below the watch limit, pH above the lower end of the tolerable range.
    #[must_use]
    pub fn standard() -> Self {
        let bands = Bands::standard();
        Self {
            acid_ratio_below: bands.acid_ratio.watch,
            acid_ratio_source: bands.acid_ratio.source,
            ph_above: bands.ph.tolerable[0],
            ph_check: bands.ph.healthy[0],
            ph_source: bands.ph.source,
        }
    }

    /// Whether the liquor keeps them at the end of this day.
    #[must_use]
    pub fn keeps(&self, row: &DayRow) -> bool {
        row.acid_ratio < self.acid_ratio_below && row.ph > self.ph_above
    }
}

/// Milestones of a digester that is not fed, in days from the filling; `None` where it never gets there.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Milestones {
    /// First gas.
    pub first_gas: Option<f64>,
    /// First flame.
    pub first_flame: Option<f64>,
    /// Steady flame.
    pub steady_flame: Option<f64>,
    /// First whole day from which on the liquor keeps the limits to the end of the run, as long as it is not fed.
    pub safe_feed: Option<u32>,
    /// First whole day on whose morning, and on the two before, the owner's own checks pass: the gas burns and the pH
    /// is healthy.
    pub checks_pass: Option<u32>,
    /// Whether the run ends sour, unfed as it is.
    pub sour: bool,
}

/// Mornings running on which the owner's checks must pass. Assumption of this project: one strip can be misread.
pub const MORNINGS: usize = 3;

/// Reads the milestones of an unfed run.
pub(super) fn milestones(outcome: &Outcome, limits: &Limits) -> Milestones {
    let first = |kind: EventKind| {
        let of_kind = outcome.events.iter().filter(|e| e.kind == kind);
        of_kind.map(|e| e.day).min_by(f64::total_cmp)
    };
    let days = outcome.plant.len();
    let fit = |i: usize| outcome.vessels.iter().all(|v| limits.keeps(&v.days[i]));
    // The row of day i is read at its end, the morning of day i + 1.
    let unfit = (0..days).rev().find(|&i| !fit(i));
    let from = unfit.map_or(0, |i| i + 2);
    let passes = |i: usize| {
        outcome.plant[i].burns
            && outcome
                .vessels
                .iter()
                .all(|v| v.days[i].ph > limits.ph_check)
    };
    let mut running = 0;
    let checks = (0..days).find(|&i| {
        running = if passes(i) { running + 1 } else { 0 };
        running >= MORNINGS
    });
    Milestones {
        first_gas: first(EventKind::FirstGas),
        first_flame: first(EventKind::FirstFlame),
        steady_flame: first(EventKind::BurnsSteadily),
        safe_feed: (from < days).then_some(from as u32),
        checks_pass: checks
            .map(|i| i as u32 + 1)
            .filter(|&d| (d as usize) < days),
        sour: outcome.plant.last().is_some_and(|r| r.sour),
    }
}

/// How a fed digester fared.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Fared {
    /// First day, from the first feed on, at whose end the liquor does not keep the limits in some vessel.
    pub left: Option<u32>,
    /// Whether some vessel is sour on some day from the first feed on.
    pub sour: bool,
    /// Methane for the store over the whole run \[norm litres\].
    pub methane_nl: f64,
}

/// Judges a run that is fed from day `first` on. What the starter does before that does not count.
pub(super) fn fared(outcome: &Outcome, first: Option<u32>, limits: &Limits) -> Fared {
    let days = outcome.plant.len();
    let first = first.map_or(days, |d| d as usize).min(days);
    let left = (first..days).find(|&i| !outcome.vessels.iter().all(|v| limits.keeps(&v.days[i])));
    Fared {
        left: left.map(|i| i as u32),
        sour: outcome.plant[first..].iter().any(|r| r.sour),
        methane_nl: outcome.plant.iter().map(|r| r.ch4_nl).sum(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulate::{Event, VesselSeries};

    /// An outcome with these (pH, acid ratio, burns).
    fn outcome(days: &[(f64, f64, bool)]) -> Outcome {
        let rows: Vec<DayRow> = days
            .iter()
            .enumerate()
            .map(|(i, &(ph, acid_ratio, burns))| DayRow {
                day: i as u32,
                ph,
                acid_ratio,
                burns,
                ch4_nl: 2.0,
                ..DayRow::default()
            })
            .collect();
        Outcome {
            title: String::new(),
            about: String::new(),
            start_date: None,
            days: rows.len() as u32,
            vessels: vec![VesselSeries {
                name: "tote".into(),
                liquid_l: 100.0,
                days: rows.clone(),
                trace: Vec::new(),
                heat: None,
            }],
            plant: rows,
            events: vec![Event {
                day: 2.5,
                vessel: 0,
                kind: EventKind::FirstFlame,
            }],
            fate: Default::default(),
            closures: Vec::new(),
            solver: Default::default(),
            provenance: Default::default(),
        }
    }

    const SOUR: (f64, f64, bool) = (6.4, 0.3, false);
    const WELL: (f64, f64, bool) = (7.0, 0.1, true);

    #[test]
    fn feed_is_safe_from_the_morning_after_the_first_good_evening_that_lasts() {
        let limits = Limits::standard();
        let found = milestones(
            &outcome(&[SOUR, WELL, SOUR, WELL, WELL, WELL, WELL]),
            &limits,
        );
        // The evening of day 3 is the first of the good ones: the morning of day 4.
        assert_eq!(found.safe_feed, Some(4));
        assert_eq!(found.checks_pass, Some(6));
        assert_eq!(found.first_flame, Some(2.5));
        assert_eq!(found.first_gas, None);
        let never = milestones(&outcome(&[WELL, WELL, SOUR]), &limits);
        assert_eq!((never.safe_feed, never.checks_pass), (None, None));
    }

    #[test]
    fn what_the_starter_does_before_the_first_feed_does_not_count() {
        let limits = Limits::standard();
        let run = outcome(&[SOUR, WELL, WELL, SOUR]);
        assert_eq!(fared(&run, Some(1), &limits).left, Some(3));
        assert_eq!(fared(&run, Some(0), &limits).left, Some(0));
        assert_eq!(fared(&run, None, &limits).left, None);
        assert_eq!(fared(&run, None, &limits).methane_nl, 8.0);
    }

    #[test]
    fn limits_are_those_of_the_bands() {
        let limits = Limits::standard();
        assert_eq!((limits.acid_ratio_below, limits.ph_above), (0.4, 6.5));
    }
}
