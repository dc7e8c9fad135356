//! Bands over time of what the owner can see.

use serde::Serialize;

use crate::simulate::Outcome;
use crate::study::bands::{BandAccumulator, BandError, BandVariable, Bands};

/// Ratios above are drawn at the top: how far beyond all limits they are tells nothing more.
const MOST_RATIO: f64 = 2.0;
const BINS: usize = 400;
const VARIABLES: [BandVariable; 3] = [
    variable(0.0, 1.0),
    variable(0.0, MOST_RATIO),
    variable(4.0, 9.0),
];

const fn variable(low: f64, high: f64) -> BandVariable {
    BandVariable {
        low,
        high,
        bins: BINS,
    }
}

/// Weeks before the zero of the draws that are shown \[d\].
const BEFORE_D: u32 = 28;

/// One band for each day, as at its end.
///
/// Days count as those of the plan do: from the filling where all draws begin on one day, else from the morning on
/// which a draw's own checks pass. By the calendar the second would lay draws before and after their first feed over
/// each other, and show the plan as it is in none of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Courses {
    /// Day of the first entry: 0, or below it where the days before the checks passed are shown too.
    pub from_day: i32,
    /// Methane share of the dry gas in the headspace.
    pub ch4_share: Vec<Bands>,
    /// Acids over alkalinity, cut at 2.
    pub acid_ratio: Vec<Bands>,
    /// pH.
    pub ph: Vec<Bands>,
}

/// What one draw brings to the bands: the three values for each day.
pub(super) fn course(outcome: &Outcome) -> Vec<[f64; 3]> {
    let worst = |i: usize| {
        outcome
            .vessels
            .iter()
            .map(|v| v.days[i].acid_ratio)
            .fold(0.0, f64::max)
            .min(MOST_RATIO)
    };
    let lowest = |i: usize| {
        let all = outcome.vessels.iter().map(|v| v.days[i].ph);
        all.fold(f64::INFINITY, f64::min)
    };
    let rows = outcome.plant.iter().enumerate();
    rows.map(|(i, row)| [row.ch4_share, worst(i), lowest(i)])
        .collect()
}

/// The bands over these draws of so many days, each with the day from which it counts. Days that more than one draw in
/// four does not have, since it was filled later or ended before, are left out.
pub(super) fn courses(draws: &[(u32, Vec<[f64; 3]>)], days: u32) -> Result<Courses, BandError> {
    let mut zeros: Vec<u32> = draws.iter().map(|(zero, _)| *zero).collect();
    zeros.sort_unstable();
    let at = |place: usize| zeros.get(place).copied().unwrap_or(0).min(days);
    let before = at(zeros.len() / 4).min(BEFORE_D);
    let after = days - at(zeros.len() * 3 / 4);
    let days = (before + after) as usize;
    let mut all = BandAccumulator::new(days, &VARIABLES)?;
    for (zero, draw) in draws {
        for (day, values) in draw.iter().enumerate() {
            let shown = (day + before as usize).checked_sub(*zero as usize);
            let Some(place) = shown.filter(|place| *place < days) else {
                continue;
            };
            for (variable, value) in values.iter().enumerate() {
                all.push(place, variable, *value)?;
            }
        }
    }
    let of = |variable| {
        (0..days)
            .filter_map(|day| all.bands(day, variable))
            .collect()
    };
    Ok(Courses {
        from_day: -(before as i32),
        ch4_share: of(0),
        acid_ratio: of(1),
        ph: of(2),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Methane from its own day `zero` on.
    fn draw(zero: u32, days: u32) -> (u32, Vec<[f64; 3]>) {
        let on = |day| if day >= zero { 0.6 } else { 0.2 };
        (zero, (0..days).map(|day| [on(day), 0.1, 7.0]).collect())
    }

    #[test]
    fn draws_that_begin_apart_rise_together() {
        // By the calendar they would rise one after the other, from day 10 to day 40.
        let draws: Vec<_> = [10, 20, 30, 40].map(|zero| draw(zero, 60)).to_vec();
        let found = courses(&draws, 60).unwrap();
        // 20 days before: three of four have them; to the 20th day after: all have.
        assert_eq!((found.from_day, found.ch4_share.len()), (-20, 40));
        for (i, bands) in found.ch4_share.iter().enumerate() {
            let expected = if i >= 20 { 0.6 } else { 0.2 };
            // Bins are 1/400 wide.
            assert!((bands.p05 - expected).abs() < 0.003, "{i} {bands:?}");
            assert!((bands.p95 - expected).abs() < 0.003, "{i} {bands:?}");
        }
        assert_eq!(found.ph.len(), 40);
        assert_eq!((found.ph[0].counted, found.ph[39].counted), (3, 4));
    }

    #[test]
    fn draws_of_one_calendar_are_shown_whole() {
        let draws: Vec<_> = (0..5).map(|_| draw(0, 30)).collect();
        let found = courses(&draws, 30).unwrap();
        assert_eq!((found.from_day, found.ch4_share.len()), (0, 30));
    }
}
