//! What speaks against a recipe. Loading limits need a volume and are for whoever knows it.

use std::sync::LazyLock;

use serde::Deserialize;

use super::composition::Composition;
use super::facts::Facts;
use super::provenance::Provenance;
use crate::embedded;

const PERCENT: f64 = 100.0;

/// What is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WarningKind {
    /// Little carbon for the nitrogen.
    LowCarbonToNitrogen,
    /// Little nitrogen for the carbon.
    HighCarbonToNitrogen,
    /// Does not pour.
    TooThick,
    /// Much fat among the volatile solids.
    MuchFat,
    /// Ammonium after digestion.
    MuchAmmonia,
    /// Food or plants alone.
    NoManure,
}

impl WarningKind {
    /// Key for machines.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::LowCarbonToNitrogen => "low-carbon-to-nitrogen",
            Self::HighCarbonToNitrogen => "high-carbon-to-nitrogen",
            Self::TooThick => "too-thick",
            Self::MuchFat => "much-fat",
            Self::MuchAmmonia => "much-ammonia",
            Self::NoManure => "no-manure",
        }
    }

    /// The value to compare; `None` where it has no meaning.
    fn value(self, composition: &Composition, facts: &Facts) -> Option<f64> {
        match self {
            Self::LowCarbonToNitrogen | Self::HighCarbonToNitrogen => facts.carbon_to_nitrogen,
            Self::TooThick => Some(facts.total_solids_pct),
            Self::MuchFat => facts.fat_share.map(|share| share * PERCENT),
            Self::MuchAmmonia => Some(facts.ammonium_potential_g_per_kg),
            Self::NoManure => facts.fat_share.map(|_| composition.living.ac),
        }
    }
}

/// On which side of its limit a value is sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sound {
    /// At the limit or below.
    AtMost,
    /// At the limit or above.
    AtLeast,
    /// Above the limit.
    MoreThan,
}

impl Sound {
    fn holds(self, value: f64, limit: f64) -> bool {
        match self {
            Self::AtMost => value <= limit,
            Self::AtLeast => value >= limit,
            Self::MoreThan => value > limit,
        }
    }
}

/// A limit, with its reason and its source.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Threshold {
    /// What it watches.
    pub kind: WarningKind,
    /// On which side a recipe is sound.
    pub sound: Sound,
    /// The limit.
    pub limit: f64,
    /// Its unit.
    pub unit: String,
    /// Why it matters.
    pub reason: String,
    /// What to do.
    pub mend: String,
    /// Where the limit comes from.
    pub provenance: Provenance,
}

/// One objection to a recipe.
#[derive(Debug, Clone, PartialEq)]
pub struct Warning {
    /// Value of this recipe, in the threshold's unit.
    pub value: f64,
    /// The limit it breaks.
    pub threshold: &'static Threshold,
}

/// All limits, in the order in which they are checked.
#[must_use]
pub fn thresholds() -> &'static [Threshold] {
    &FILE.thresholds
}

/// All objections to a recipe, water included; `facts` are those of the same composition.
#[must_use]
pub fn warnings(composition: &Composition, facts: &Facts) -> Vec<Warning> {
    let broken = |threshold: &'static Threshold| {
        let value = threshold.kind.value(composition, facts)?;
        let sound = threshold.sound.holds(value, threshold.limit);
        (!sound).then_some(Warning { value, threshold })
    };
    thresholds().iter().filter_map(broken).collect()
}

static FILE: LazyLock<File> =
    LazyLock::new(|| embedded::read("thresholds.json", include_str!("data/thresholds.json")));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(rename = "about")]
    _about: String,
    thresholds: Vec<Threshold>,
}
