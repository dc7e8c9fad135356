//! Early signs and the loadings of practice, read from data with their sources.

use serde::{Deserialize, Serialize};

use super::trial::{PH_MARGIN, RATIO_MARGIN};
use crate::embedded;
use crate::simulate::DayRow;

/// What can be watched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Watched {
    /// Acids over alkalinity to pH 4.3.
    AcidRatio,
    /// Propionate over acetate by mass.
    PropionicToAcetic,
    /// Acetic acid \[mg/L\].
    Acetic,
    /// pH.
    Ph,
    /// Methane share of the gas.
    MethaneShare,
    /// Gas per feed against its mean of the weeks before.
    GasPerFeed,
}

/// A sign and its band.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sign {
    /// What is watched.
    pub watched: Watched,
    /// In words.
    pub name: String,
    /// Unit; empty for a pure number.
    pub unit: String,
    /// The band's edge.
    pub edge: f64,
    /// Whether values above it warn, or below.
    pub above: bool,
    /// Source.
    pub source: String,
}

/// A loading that practice does not exceed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Practice {
    /// For which plants.
    pub name: String,
    /// Whether it holds for feeds without dung or digestate.
    pub food_alone: bool,
    /// Where trouble begins and where it is certain \[kg VS/m3/d\].
    pub loading: [f64; 2],
    /// Source.
    pub source: String,
}

/// All of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signs {
    /// What the file holds.
    pub about: String,
    /// Signs.
    pub signs: Vec<Sign>,
    /// Loadings of practice.
    pub practice: Vec<Practice>,
}

impl Signs {
    /// Those of this build.
    #[must_use]
    pub fn standard() -> Self {
        embedded::read("signs.json", include_str!("data/signs.json"))
    }
}

impl Sign {
    /// The value of a day; `gas_per_feed` stands against 1 in the weeks before.
    pub(super) fn value(&self, row: &DayRow, gas_per_feed: f64) -> f64 {
        match self.watched {
            Watched::AcidRatio => row.acid_ratio,
            // Traces of acetate would make a ratio of rounding.
            Watched::PropionicToAcetic => row.propionic_mg_l / row.acetic_mg_l.max(1.0),
            Watched::Acetic => row.acetic_mg_l,
            Watched::Ph => row.ph,
            Watched::MethaneShare => row.ch4_share,
            Watched::GasPerFeed => gas_per_feed,
        }
    }

    /// Whether a value is clearly worse than that of a healthy state.
    pub(super) fn worse(&self, value: f64, healthy: f64) -> bool {
        match self.watched {
            // pH counts in steps, the others in ratios.
            Watched::Ph => value < healthy - PH_MARGIN,
            _ if self.above => value > RATIO_MARGIN * healthy,
            _ => value < healthy / RATIO_MARGIN,
        }
    }

    /// Whether a value is beyond the band.
    pub(super) fn warns(&self, value: f64) -> bool {
        if self.above {
            value > self.edge
        } else {
            value < self.edge
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_embedded_signs_parse_and_name_their_sources() {
        let signs = Signs::standard();
        assert!(signs.signs.iter().all(|s| !s.source.is_empty()));
        assert!(signs.practice.iter().all(|p| p.loading[0] <= p.loading[1]));
    }
}
