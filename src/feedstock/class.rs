//! Material classes: how much of each pool a digester can reach, and how fast.

use std::sync::LazyLock;

use serde::Deserialize;

use super::composition::{PoolRates, Pools, Range};
use super::provenance::Provenance;
use super::triple::Triple;
use crate::embedded;

/// What kind of tissue a material is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MaterialClass {
    /// Foods, fruit, roots, fat.
    Fresh,
    /// Young leaves and grass.
    Herbage,
    /// Stalks, hay, straw.
    Fibrous,
    /// Bark, twigs, dead leaves.
    Woody,
    /// What an animal has digested once.
    Gut,
    /// What a digester has digested already.
    Digestate,
}

impl MaterialClass {
    /// All of them, in the order of the data.
    pub const ALL: [Self; 6] = [
        Self::Fresh,
        Self::Herbage,
        Self::Fibrous,
        Self::Woody,
        Self::Gut,
        Self::Digestate,
    ];

    /// Key in files.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Fresh => "fresh",
            Self::Herbage => "herbage",
            Self::Fibrous => "fibrous",
            Self::Woody => "woody",
            Self::Gut => "gut",
            Self::Digestate => "digestate",
        }
    }

    /// The class of a key; `None` if there is no such class.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|class| class.key() == key)
    }

    /// What belongs to it, for people.
    #[must_use]
    pub fn about(self) -> &'static str {
        &row(self).about
    }

    /// Share of each pool that a digester can reach at all, 0..1 (assumption of this project).
    #[must_use]
    pub fn degradable(self) -> Pools {
        let shares = &row(self).degradable;
        Pools {
            fast_carb: shares.fast_carb,
            fibre: shares.fibre,
            protein: shares.protein,
            fat: shares.fat,
        }
    }

    /// Hydrolysis constants at 35 C \[1/d\] for a user's own material of this class.
    #[must_use]
    pub fn own_hydrolysis(self) -> PoolRates {
        hydrolysis(&row(self).own.hydrolysis).0
    }

    /// Strong cations minus strong anions \[eq/kg total solids\] for a user's own material that
    /// states none (assumption of this project).
    #[must_use]
    pub fn own_strong_ions(self) -> Range {
        row(self).own.strong_ions_eq_per_kg_solids.range()
    }

    /// pH of a user's own material of this class that states none; `None`: no carbonate.
    #[must_use]
    pub fn own_fresh_ph(self) -> Option<f64> {
        row(self).own.fresh_ph
    }

    /// Where the shares come from.
    #[must_use]
    pub fn provenance() -> &'static Provenance {
        &CLASSES.provenance
    }
}

/// Hydrolysis constants and their source, by the key of a set in the data.
pub(crate) fn hydrolysis(set: &str) -> (PoolRates, &'static Provenance) {
    let found = HYDROLYSIS.sets.iter().find(|row| row.id == set);
    let row = embedded::linked(found, "hydrolysis set", set);
    let rates = PoolRates {
        fast_carb: row.fast_carb.range(),
        fibre: row.fibre.range(),
        protein: row.protein.range(),
        fat: row.fat.range(),
    };
    (rates, &row.provenance)
}

fn row(class: MaterialClass) -> &'static ClassRow {
    let found = CLASSES.classes.iter().find(|row| row.class == class);
    embedded::linked(found, "class", class.key())
}

static CLASSES: LazyLock<ClassFile> =
    LazyLock::new(|| embedded::read("classes.json", include_str!("data/classes.json")));
static HYDROLYSIS: LazyLock<HydrolysisFile> =
    LazyLock::new(|| embedded::read("hydrolysis.json", include_str!("data/hydrolysis.json")));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClassFile {
    #[serde(rename = "about")]
    _about: String,
    provenance: Provenance,
    classes: Vec<ClassRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClassRow {
    class: MaterialClass,
    about: String,
    degradable: PoolShares,
    own: OwnDefaults,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnDefaults {
    hydrolysis: String,
    strong_ions_eq_per_kg_solids: Triple,
    fresh_ph: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PoolShares {
    fast_carb: f64,
    fibre: f64,
    protein: f64,
    fat: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct HydrolysisFile {
    #[serde(rename = "about")]
    _about: String,
    sets: Vec<HydrolysisRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct HydrolysisRow {
    id: String,
    #[serde(rename = "about")]
    _about: String,
    fast_carb: Triple,
    fibre: Triple,
    protein: Triple,
    fat: Triple,
    provenance: Provenance,
}
