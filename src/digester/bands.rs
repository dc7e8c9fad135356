//! Bands and limits by which a day is judged, read from data with their sources.

use serde::{Deserialize, Serialize};

use crate::embedded;

/// All bands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bands {
    /// What the file holds.
    pub about: String,
    /// pH of the liquor.
    pub ph: PhBand,
    /// pH above which the liquor is too alkaline.
    pub alkaline: Limit,
    /// Acids over alkalinity.
    pub acid_ratio: RatioBand,
    /// When the gas burns.
    pub flame: FlameBand,
    /// When gas counts as such.
    pub first_gas: GasRule,
    /// When a day counts as sour.
    pub sour: SourRule,
    /// When a sour digester counts as recovered.
    pub recovered: RecoveredRule,
    /// When the methanogens count as washed out.
    pub washed_out: WashedOutRule,
    /// Freezing point.
    pub freezing_c: Limit,
}

/// pH bands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PhBand {
    /// Healthy range.
    pub healthy: [f64; 2],
    /// Tolerable range.
    pub tolerable: [f64; 2],
    /// Source.
    pub source: String,
}

/// Bands of the acid-to-alkalinity ratio.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RatioBand {
    /// Below: well.
    pub good: f64,
    /// Above: watch.
    pub watch: f64,
    /// Above: danger.
    pub danger: f64,
    /// Source.
    pub source: String,
}

/// When the gas burns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FlameBand {
    /// Methane share of the dry gas from which it burns.
    pub methane: f64,
    /// Methane share from which it burns steadily.
    pub steady_methane: f64,
    /// Air share above which the first gas is not lit.
    pub air: f64,
    /// Days running that make it steady.
    pub steady_days: u32,
    /// Least gas that keeps a flame \[norm volumes per volume of liquid and day\].
    pub least_volumes_per_d: f64,
    /// Source.
    pub source: String,
}

/// When gas counts as such.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GasRule {
    /// Least gas \[norm volumes per volume of liquid and day\].
    pub least_volumes_per_d: f64,
    /// Source.
    pub source: String,
}

/// When a day counts as sour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SourRule {
    /// pH below.
    pub ph_below: f64,
    /// Acid ratio above.
    pub acid_ratio_above: f64,
    /// Days over whose mean the methane must have fallen.
    pub falling_days: u32,
    /// pH below which methane need not have fallen.
    pub ph_certain_below: f64,
    /// Source.
    pub source: String,
}

/// When a sour digester counts as recovered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecoveredRule {
    /// pH above.
    pub ph_above: f64,
    /// Acid ratio below.
    pub acid_ratio_below: f64,
    /// Source.
    pub source: String,
}

/// When the methanogens count as washed out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WashedOutRule {
    /// Share of the most acetate-using methanogens there ever were.
    pub share_of_most: f64,
    /// Methane below this share of the best day.
    pub gas_share: f64,
    /// Source.
    pub source: String,
}

/// One limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// Value.
    pub value: f64,
    /// Source.
    pub source: String,
}

impl Bands {
    /// The bands of this build.
    #[must_use]
    pub fn standard() -> Self {
        embedded::read("bands.json", include_str!("data/bands.json"))
    }
}
