//! By which rules the end of a run is its lasting level, and a point is classed; read from data with their sources.

use serde::{Deserialize, Serialize};

use crate::embedded;

/// All rules.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rules {
    /// What the file holds.
    pub about: String,
    /// Retention times that a run must last after its feeding has reached its full size.
    pub retention_times: Rule<f64>,
    /// Longest window over which the lasting level is taken \[d\].
    pub window_d: Rule<usize>,
    /// Window where the temperature changes with the year \[d\].
    pub year_d: Rule<usize>,
    /// Share of the methane that the degradable feed could give below which a point is slow.
    pub slow_share: Rule<f64>,
    /// Share of the best day's methane below which a point without methanogens is washed out.
    pub washed_share: Rule<f64>,
    /// Share of sour days above which a point is sour.
    pub sour_share: Rule<f64>,
    /// Change of the methane within the window above which a point is not settled.
    pub drift_share: Rule<f64>,
}

/// A number and where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule<T> {
    /// The number.
    pub value: T,
    /// Source.
    pub source: String,
}

impl Rules {
    /// The rules of this build.
    #[must_use]
    pub fn standard() -> Self {
        embedded::read("sweep.json", include_str!("../data/sweep.json"))
    }
}
