//! How the size of the pieces changes the hydrolysis constants (assumption of this project).

use std::sync::LazyLock;

use serde::Deserialize;

use super::composition::{Composition, PoolRates, Range};
use super::pools;
use super::provenance::Provenance;
use super::triple::Triple;
use crate::embedded;

/// Size of the pieces as they go in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PieceSize {
    /// Blended or grated, below 2 mm.
    Pulp,
    /// Cut below 20 mm, the reference; manures count as this.
    #[default]
    Chopped,
    /// Cut to 20 to 60 mm.
    Coarse,
    /// As thrown away, above 60 mm.
    Whole,
}

impl PieceSize {
    /// All of them, from fine to coarse.
    pub const ALL: [Self; 4] = [Self::Pulp, Self::Chopped, Self::Coarse, Self::Whole];

    /// Key in files.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Pulp => "pulp",
            Self::Chopped => "chopped",
            Self::Coarse => "coarse",
            Self::Whole => "whole",
        }
    }

    /// The size of a key; `None` if there is no such size.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|size| size.key() == key)
    }

    /// What it means, for people.
    #[must_use]
    pub fn about(self) -> &'static str {
        &row(self).about
    }

    /// Factor on the hydrolysis constant of each pool (1 for chopped pieces).
    #[must_use]
    pub fn factors(self) -> PoolRates {
        let row = row(self);
        PoolRates {
            fast_carb: row.fast_carb.range(),
            fibre: row.fibre.range(),
            protein: row.protein.range(),
            fat: row.fat.range(),
        }
    }

    /// The same material in pieces of this size: only its hydrolysis constants change.
    #[must_use]
    pub fn applied_to(self, composition: &Composition) -> Composition {
        let factors = pools::ranges(&self.factors());
        let mut constants = pools::ranges(&composition.hydrolysis);
        for (constant, factor) in constants.iter_mut().zip(factors) {
            *constant = Range {
                low: constant.low * factor.low,
                typical: constant.typical * factor.typical,
                high: constant.high * factor.high,
            };
        }
        Composition {
            hydrolysis: pools::rates(constants),
            ..composition.clone()
        }
    }

    /// The reasoning behind the factors.
    #[must_use]
    pub fn provenance() -> &'static Provenance {
        &FILE.provenance
    }
}

fn row(size: PieceSize) -> &'static Row {
    let found = FILE.classes.iter().find(|row| row.size == size);
    embedded::linked(found, "piece size", size.key())
}

static FILE: LazyLock<File> = LazyLock::new(|| {
    embedded::read(
        "particle_size.json",
        include_str!("data/particle_size.json"),
    )
});

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(rename = "about")]
    _about: String,
    provenance: Provenance,
    classes: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    size: PieceSize,
    about: String,
    fast_carb: Triple,
    fibre: Triple,
    protein: Triple,
    fat: Triple,
}
