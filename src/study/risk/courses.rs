//! Bands over the days. Each day and quantity has a histogram of fixed size: memory does not grow with the draws.

use serde::Serialize;

use super::member::{MOST_ACID_RATIO, Member};
use crate::study::bands::{BandAccumulator, BandError, BandVariable, Bands};

/// Bins of each histogram: the bands are known to about a part in two hundred of the range seen.
const BINS: usize = 256;
/// Expected gas of a day where no typical run says better \[norm litres\].
const SOME_GAS_NL: f64 = 100.0;
/// Room above the most of the typical run; beyond it bins double.
const ROOM: f64 = 2.0;

/// What is followed over the days, in the order of [`Member::days`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Gas for the store \[norm litres/d\].
    GasNl,
    /// Methane for the store \[norm litres/d\].
    Ch4Nl,
    /// Acids over alkalinity, up to [`MOST_ACID_RATIO`].
    AcidRatio,
    /// pH.
    Ph,
}

/// All quantities.
const QUANTITIES: [Quantity; 4] = [
    Quantity::GasNl,
    Quantity::Ch4Nl,
    Quantity::AcidRatio,
    Quantity::Ph,
];

/// Bands of all quantities.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Courses {
    /// One course for each quantity; empty where no run came through.
    pub courses: Vec<Course>,
}

/// Bands of one quantity, one entry a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course {
    /// What.
    pub quantity: Quantity,
    /// Bands of each day.
    pub days: Vec<Bands>,
}

impl Courses {
    /// The course of a quantity, where there is one.
    #[must_use]
    pub fn of(&self, quantity: Quantity) -> Option<&Course> {
        self.courses.iter().find(|c| c.quantity == quantity)
    }
}

/// The histograms in the making.
pub(super) struct Gather {
    days: usize,
    bands: BandAccumulator,
}

impl Gather {
    pub(super) fn new(days: usize, typical: Option<&Member>) -> Result<Self, BandError> {
        let most = |i: usize| {
            let rows = typical.iter().flat_map(|m| &m.days);
            let most = rows.map(|row| row[i]).fold(0.0, f64::max);
            if most > 0.0 && most.is_finite() {
                ROOM * most
            } else {
                SOME_GAS_NL
            }
        };
        let range = |low, high| BandVariable {
            low,
            high,
            bins: BINS,
        };
        // pH 4 to 9 holds nearly all liquors; others widen the bins.
        let variables = [
            range(0.0, most(0)),
            range(0.0, most(1)),
            range(0.0, MOST_ACID_RATIO),
            range(4.0, 9.0),
        ];
        Ok(Self {
            days,
            bands: BandAccumulator::new(days, &variables)?,
        })
    }

    /// Takes a member with daily rows; one without changes nothing.
    pub(super) fn push(&mut self, member: &Member) {
        for (day, row) in member.days.iter().take(self.days).enumerate() {
            for (quantity, &value) in row.iter().enumerate() {
                // Day and quantity are within what the accumulator was made for.
                let _ = self.bands.push(day, quantity, value);
            }
        }
    }

    pub(super) fn courses(&self) -> Courses {
        let course = |(index, quantity): (usize, Quantity)| {
            let days: Option<Vec<Bands>> = (0..self.days)
                .map(|day| self.bands.bands(day, index))
                .collect();
            days.map(|days| Course { quantity, days })
        };
        Courses {
            courses: QUANTITIES
                .into_iter()
                .enumerate()
                .filter_map(course)
                .collect(),
        }
    }
}
