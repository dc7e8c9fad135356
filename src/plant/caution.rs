//! What can hurt, by the place where it matters.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::figure::Standing;
use crate::chemistry::Fuel;
use crate::embedded;

/// Where a caution belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// Gas store.
    Store,
    /// Gas cleaning.
    Cleaning,
    /// Engine and flames.
    Engine,
    /// Residue.
    Residue,
    /// Leaks and escaped gas.
    Leak,
    /// Pressure.
    Pressure,
}

impl Place {
    /// All places.
    pub const ALL: [Self; 6] = [
        Self::Store,
        Self::Cleaning,
        Self::Engine,
        Self::Residue,
        Self::Leak,
        Self::Pressure,
    ];
}

/// One caution.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// Stable name.
    pub name: String,
    /// Where it belongs.
    pub places: Vec<Place>,
    /// What to know and do, with figures.
    pub text: String,
    /// How its figures became known.
    pub standing: Standing,
    /// Where from.
    pub source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    #[serde(rename = "about")]
    _about: String,
    referral: String,
    cautions: Vec<Caution>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    embedded::read(
        "plant/data/cautions.json",
        include_str!("data/cautions.json"),
    )
});

/// All cautions.
#[must_use]
pub fn cautions() -> &'static [Caution] {
    &TABLE.cautions
}

/// The cautions of one place, in order of weight.
pub fn cautions_at(place: Place) -> impl Iterator<Item = &'static Caution> {
    cautions()
        .iter()
        .filter(move |caution| caution.places.contains(&place))
}

/// The sentence that ends every list of cautions: local rules, licensed people.
#[must_use]
pub fn referral() -> &'static str {
    &TABLE.referral
}

/// Hydrogen sulphide left when a raw gas is thinned with air to its lower limit of explosion \[ppm\].
///
/// Methane 5 % in air; `ch4_share` and `h2s_ppm` of the gas.
#[must_use]
pub fn sulphide_at_lower_limit_ppm(ch4_share: f64, h2s_ppm: f64) -> f64 {
    h2s_ppm * (Fuel::Methane.lower_limit() / ch4_share).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_has_cautions_and_each_has_a_figure_and_a_source() {
        for place in Place::ALL {
            assert!(cautions_at(place).count() >= 2, "{place:?}");
        }
        for caution in cautions() {
            assert!(
                !caution.places.is_empty() && caution.source.len() > 5,
                "{caution:?}"
            );
            assert!(
                caution.text.ends_with('.') && caution.text.len() < 400,
                "{caution:?}"
            );
        }
        assert!(referral().contains("local rules") && referral().contains("licensed"));
    }
}
