//! Where a number comes from.

use serde::Deserialize;

/// How a number became known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum How {
    /// Seen in the source.
    Read,
    /// Remembered, not seen again.
    Memory,
    /// Computed from numbers named beside it.
    Derived,
    /// An assumption of this project.
    Judgement,
}

impl How {
    /// For people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Memory => "from memory",
            Self::Derived => "computed",
            Self::Judgement => "assumption of this project",
        }
    }
}

/// The source of one group of numbers.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Provenance {
    /// How it became known.
    pub how: How,
    /// Keys into the list of references; empty where reasoning alone stands behind it.
    pub refs: Vec<String>,
    /// What was taken, and what was done with it.
    pub note: String,
}

/// A published work, or a named absence of one.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// Key.
    pub id: String,
    /// Citation.
    pub citation: String,
    /// Whether it was seen.
    pub how: How,
    /// Which part of it was seen.
    #[serde(default)]
    pub seen: Option<String>,
}

/// Groups of numbers of a material that share one source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Group {
    /// Total solids.
    TotalSolids,
    /// Volatile solids.
    VolatileSolids,
    /// Shares of the pools.
    Shares,
    /// Shares that a digester can reach.
    Degradable,
    /// Hydrolysis constants.
    Hydrolysis,
    /// Total nitrogen.
    Nitrogen,
    /// Ammonium, urea and uric acid.
    Ammonia,
    /// Sulphur.
    Sulfur,
    /// Carbon.
    Carbon,
    /// Measured methane potential.
    Methane,
    /// Bulk density.
    Density,
    /// Strong ions.
    StrongIons,
    /// Acids and pH of the fresh material.
    Liquor,
    /// Living groups.
    Living,
}

impl Group {
    /// For people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::TotalSolids => "total solids",
            Self::VolatileSolids => "volatile solids",
            Self::Shares => "shares of the pools",
            Self::Degradable => "degradable shares",
            Self::Hydrolysis => "hydrolysis constants",
            Self::Nitrogen => "nitrogen",
            Self::Ammonia => "ammonium, urea and uric acid",
            Self::Sulfur => "sulphur",
            Self::Carbon => "carbon",
            Self::Methane => "measured methane potential",
            Self::Density => "bulk density",
            Self::StrongIons => "strong ions",
            Self::Liquor => "acids and pH of the fresh material",
            Self::Living => "living groups",
        }
    }
}
