//! What beds are made of, as a table.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::embedded;
use crate::plant::Figure;
use crate::plant::stream::Portion;
use crate::units::molar_mass;

/// What a bed is filled with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BedMaterial {
    /// Solid slaked lime stirred into water.
    LimeSlurry,
    /// Slaked lime as damp grains.
    DampLime,
    /// Dissolved lime only; its mass is that of the water.
    LimeWater,
    /// Ferric hydroxide or oxide as grains.
    IronOxideGrains,
    /// Steel wool that was let rust.
    RustedWool,
    /// Activated carbon in gas without oxygen.
    Carbon,
    /// Activated carbon in gas that carries a little oxygen.
    CarbonWithOxygen,
    /// Silica gel.
    SilicaGel,
    /// Drying clay.
    DryingClay,
    /// Molecular sieve.
    MolecularSieve,
}

/// What a bed takes out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Target {
    /// Carbon dioxide, and hydrogen sulphide beside it.
    Lime,
    /// Hydrogen sulphide.
    HydrogenSulphide,
    /// Water vapour.
    Water,
}

impl Target {
    /// Molar mass of what the capacity is counted in \[g/mol\].
    pub(crate) fn molar_mass(self) -> f64 {
        match self {
            Self::Lime => molar_mass::CO2,
            Self::HydrogenSulphide => molar_mass::H2S,
            Self::Water => molar_mass::H2O,
        }
    }

    /// The part of `gas` that the bed is for \[norm litres\].
    pub(crate) fn of(self, gas: &Portion) -> f64 {
        match self {
            Self::Lime => gas.co2_nl + gas.h2s_nl,
            Self::HydrogenSulphide => gas.h2s_nl,
            Self::Water => gas.h2o_nl,
        }
    }
}

/// One kind of bed with its defaults.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BedRow {
    /// Key.
    pub material: BedMaterial,
    /// Name for people.
    pub words: String,
    /// What it takes out.
    pub target: Target,
    /// What a kilogram holds at full use \[kg of carbon dioxide, hydrogen sulphide or water per kg\].
    pub capacity: Figure,
    /// Share of the capacity that is used when the gas begins to slip by.
    pub used_share: Figure,
    /// Share of the target that is taken while the bed lasts.
    pub removal_share: Figure,
    /// Depth that the gas bubbles through \[cm of water\].
    pub dip_cm: Figure,
    /// Pressure that the bed costs beyond that \[Pa\].
    pub drop_pa: Figure,
    /// How often a filling can be loaded before it is thrown away.
    pub cycles: Figure,
    /// Whether the bed is damp, so that the gas leaves it saturated.
    pub wet: bool,
    /// What to know when handling it.
    pub note: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    #[serde(rename = "about")]
    _about: String,
    lime_water_solubility_g_l: Figure,
    beds: Vec<BedRow>,
}

static TABLE: LazyLock<Table> =
    LazyLock::new(|| embedded::read("plant/data/beds.json", include_str!("../data/beds.json")));

/// All kinds of beds.
#[must_use]
pub fn bed_rows() -> &'static [BedRow] {
    &TABLE.beds
}

/// The row of one kind.
#[must_use]
pub fn bed_row(material: BedMaterial) -> &'static BedRow {
    let found = TABLE.beds.iter().find(|row| row.material == material);
    embedded::linked(found, "bed", "of this material")
}

/// Slaked lime that a litre of water dissolves \[g/L\].
#[must_use]
pub fn lime_water_solubility() -> &'static Figure {
    &TABLE.lime_water_solubility_g_l
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_material_has_one_row() {
        use BedMaterial::*;
        let all = [
            LimeSlurry,
            DampLime,
            LimeWater,
            IronOxideGrains,
            RustedWool,
            Carbon,
            CarbonWithOxygen,
            SilicaGel,
            DryingClay,
            MolecularSieve,
        ];
        for material in all {
            let rows = bed_rows().iter().filter(|row| row.material == material);
            assert_eq!(rows.count(), 1, "{material:?}");
            assert!(bed_row(material).note.ends_with('.'));
        }
        assert_eq!(bed_rows().len(), all.len());
    }
}
