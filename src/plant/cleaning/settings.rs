//! Settings of the stages, with their defaults and what is wrong with them.

use serde::{Deserialize, Serialize};

use crate::plant::{PlantFault, above_zero, within};

use super::material::{BedMaterial, bed_row};

/// One stage of the row.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// A cool low point where water runs out of the gas.
    WaterTrap(TrapSettings),
    /// A bed that takes something out.
    Bed(BedSettings),
}

impl Stage {
    /// Name for people.
    #[must_use]
    pub fn words(&self) -> &'static str {
        match self {
            Self::WaterTrap(_) => "water trap",
            Self::Bed(bed) => &bed_row(bed.material).words,
        }
    }

    /// Pressure that the stage costs \[Pa\]: dip depth and bed.
    #[must_use]
    pub fn pressure_loss_pa(&self) -> f64 {
        match self {
            Self::WaterTrap(trap) => trap.drop_pa,
            Self::Bed(bed) => bed.dip_cm * PA_PER_CM_WATER + bed.drop_pa,
        }
    }

    /// What is wrong with the settings.
    ///
    /// # Errors
    /// [`PlantFault`] for the first value out of range; `field` leads to the stage.
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        match self {
            Self::WaterTrap(trap) => trap.check(field),
            Self::Bed(bed) => bed.check(field),
        }
    }
}

/// Pressure of a centimetre of water \[Pa\]. Source: conventional definition, 98.0665 Pa.
pub const PA_PER_CM_WATER: f64 = 98.066_5;

/// A water trap.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrapSettings {
    /// Temperature of its coldest point \[C\], 0 to 50; `None`: that of the pipes.
    pub temperature_c: Option<f64>,
    /// Pressure that it costs \[Pa\], 0 to 1000.
    pub drop_pa: f64,
}

impl TrapSettings {
    fn check(&self, field: &str) -> Result<(), PlantFault> {
        if let Some(temperature) = self.temperature_c {
            within(
                &format!("{field}.temperature_c"),
                temperature,
                (0.0, 50.0),
                "C",
                "Below freezing a trap blocks: bury it.",
            )?;
        }
        within(
            &format!("{field}.drop_pa"),
            self.drop_pa,
            (0.0, 1000.0),
            "Pa",
            "A trap costs hardly any pressure.",
        )
    }
}

/// What happens when a bed is spent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Refill {
    /// It is changed or regenerated at once.
    WhenSpent,
    /// It stays, and the gas goes through as it is.
    Never,
}

/// A bed. [`BedSettings::of`] fills in the defaults.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BedSettings {
    /// What it is filled with.
    pub material: BedMaterial,
    /// Filling \[kg\]: dry lime, iron, carbon, drying agent; for lime water the water. Above 0, up to 10000.
    pub mass_kg: f64,
    /// What a kilogram holds at full use \[kg of carbon dioxide, hydrogen sulphide or water per kg\]. Above 0, up to 2.
    pub capacity_kg_per_kg: f64,
    /// Share of that which is used when the gas begins to slip by. Above 0, up to 1.
    pub used_share: f64,
    /// Share of the target that is taken while the bed lasts. Above 0, up to 1.
    pub removal_share: f64,
    /// Depth that the gas bubbles through \[cm of water\], 0 to 50.
    pub dip_cm: f64,
    /// Pressure that the bed costs beyond that \[Pa\], 0 to 3000.
    pub drop_pa: f64,
    /// How often a filling is loaded before it is thrown away, 1 to 10000.
    pub cycles: f64,
    /// Share of its capacity that is loaded at the start, 0 to 1.
    pub loaded_share: f64,
    /// What happens when it is spent.
    pub refill: Refill,
}

impl BedSettings {
    /// A fresh bed of `mass_kg` with the defaults of its material, changed whenever it is spent.
    #[must_use]
    pub fn of(material: BedMaterial, mass_kg: f64) -> Self {
        let row = bed_row(material);
        Self {
            material,
            mass_kg,
            capacity_kg_per_kg: row.capacity.typical(),
            used_share: row.used_share.typical(),
            removal_share: row.removal_share.typical(),
            dip_cm: row.dip_cm.typical(),
            drop_pa: row.drop_pa.typical(),
            cycles: row.cycles.typical(),
            loaded_share: 0.0,
            refill: Refill::WhenSpent,
        }
    }

    /// What it takes until the gas begins to slip by \[mol of its target\].
    #[must_use]
    pub fn capacity_mol(&self) -> f64 {
        let grams = self.mass_kg * self.capacity_kg_per_kg * self.used_share * 1000.0;
        grams / bed_row(self.material).target.molar_mass()
    }

    fn check(&self, field: &str) -> Result<(), PlantFault> {
        let at = |name: &str| format!("{field}.{name}");
        above_zero(
            &at("mass_kg"),
            self.mass_kg,
            1e4,
            "kg",
            "A bed holds something; leave the stage out otherwise.",
        )?;
        above_zero(
            &at("capacity_kg_per_kg"),
            self.capacity_kg_per_kg,
            2.0,
            "kg per kg",
            "Leave it out for the usual value of the material.",
        )?;
        above_zero(
            &at("used_share"),
            self.used_share,
            1.0,
            "",
            "A jar uses 0.3 to 0.5, a slim bed 0.5 to 0.8.",
        )?;
        above_zero(
            &at("removal_share"),
            self.removal_share,
            1.0,
            "",
            "Taking 90 % is 0.9.",
        )?;
        within(
            &at("dip_cm"),
            self.dip_cm,
            (0.0, 50.0),
            "cm",
            "Every centimetre costs 98 Pa of the store's pressure.",
        )?;
        within(
            &at("drop_pa"),
            self.drop_pa,
            (0.0, 3000.0),
            "Pa",
            "Measure it with a U-tube.",
        )?;
        within(
            &at("cycles"),
            self.cycles,
            (1.0, 1e4),
            "loadings",
            "1 is a filling that is thrown away when spent.",
        )?;
        within(
            &at("loaded_share"),
            self.loaded_share,
            (0.0, 1.0),
            "",
            "A fresh bed is 0, a spent one 1.",
        )
    }
}
