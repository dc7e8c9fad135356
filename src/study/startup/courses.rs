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

/// One band for each day, as at its end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Courses {
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

/// The bands over these draws.
pub(super) fn courses(draws: &[Vec<[f64; 3]>], days: usize) -> Result<Courses, BandError> {
    let mut all = BandAccumulator::new(days, &VARIABLES)?;
    for draw in draws {
        for (day, values) in draw.iter().enumerate() {
            for (variable, value) in values.iter().enumerate() {
                all.push(day, variable, *value)?;
            }
        }
    }
    let of = |variable| {
        (0..days)
            .filter_map(|day| all.bands(day, variable))
            .collect()
    };
    Ok(Courses {
        ch4_share: of(0),
        acid_ratio: of(1),
        ph: of(2),
    })
}
