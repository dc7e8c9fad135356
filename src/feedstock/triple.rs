//! A range as the embedded tables of materials write it.

use serde::Deserialize;

use super::composition::Range;

/// `[low, typical, high]` as the data files write it.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(transparent)]
pub(crate) struct Triple([f64; 3]);

impl Triple {
    pub(crate) fn new(low: f64, typical: f64, high: f64) -> Self {
        Self([low, typical, high])
    }

    pub(crate) fn range(self) -> Range {
        self.times(1.0)
    }

    /// The range in another unit.
    pub(crate) fn times(self, factor: f64) -> Range {
        let [low, typical, high] = self.0;
        Range {
            low: low * factor,
            typical: typical * factor,
            high: high * factor,
        }
    }
}
