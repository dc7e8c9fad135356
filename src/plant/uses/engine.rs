//! Small engine with generator: current and heat by load, fuel = a + b P.

use serde::{Deserialize, Serialize};

use crate::plant::stream::Portion;
use crate::plant::{PlantFault, above_zero, within};

use super::material::{EngineRow, use_table};

/// Kind of engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EngineKind {
    /// Piston engine with spark ignition.
    Piston,
    /// Combustion outside the cylinder.
    External,
}

impl EngineKind {
    /// Its figures.
    #[must_use]
    pub fn row(self) -> &'static EngineRow {
        match self {
            Self::Piston => &use_table().piston,
            Self::External => &use_table().external,
        }
    }
}

/// An engine. [`EngineSettings::of`] fills in the defaults.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EngineSettings {
    /// Kind.
    pub kind: EngineKind,
    /// Current on its plate \[kW\], with petrol for a piston engine. Above 0, up to 50.
    pub rated_kw: f64,
    /// Current from gas at full load on gas without carbon dioxide. Above 0, up to 0.4.
    pub electric_efficiency: f64,
    /// Gas at idle as a share of that at full load, 0 to 0.95.
    pub idle_share: f64,
    /// Share of the gas that is recovered as heat, 0 to 0.9.
    pub heat_share: f64,
    /// Relative loss of efficiency per share of carbon dioxide, 0 to 1.
    pub loss_per_co2: f64,
    /// Loss of power on methane against the plate, 0 to 0.5.
    pub power_loss_ch4: f64,
    /// Further loss of power per share of carbon dioxide, 0 to 1.
    pub power_loss_per_co2: f64,
    /// Carbon dioxide above which it does not run, 0 to 0.7.
    pub co2_limit: f64,
    /// Hydrogen sulphide above which it suffers \[ppm\], 0 to 10000.
    pub h2s_limit_ppm: f64,
}

/// A running engine.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Running {
    /// Current \[kW\].
    pub electric_kw: f64,
    /// Heat that can be used \[kW\].
    pub heat_kw: f64,
    /// Gas \[kW, lower\].
    pub fuel_kw: f64,
}

impl EngineSettings {
    /// An engine with the defaults of its kind.
    #[must_use]
    pub fn of(kind: EngineKind, rated_kw: f64) -> Self {
        let row = kind.row();
        Self {
            kind,
            rated_kw,
            electric_efficiency: row.electric_efficiency.typical(),
            idle_share: row.idle_share.typical(),
            heat_share: row.heat_share.typical(),
            loss_per_co2: row.loss_per_co2.typical(),
            power_loss_ch4: row.power_loss_ch4.typical(),
            power_loss_per_co2: row.power_loss_per_co2.typical(),
            co2_limit: row.co2_limit.typical(),
            h2s_limit_ppm: row.h2s_limit_ppm.typical(),
        }
    }

    /// Largest current on this gas \[kW\].
    #[must_use]
    pub fn most_kw(&self, gas: &Portion) -> f64 {
        let lost = self.power_loss_ch4 + self.power_loss_per_co2 * gas.co2_share();
        self.rated_kw * (1.0 - lost).max(0.0)
    }

    /// Current from gas at full load on this gas.
    #[must_use]
    pub fn full_load_efficiency(&self, gas: &Portion) -> f64 {
        self.electric_efficiency * (1.0 - self.loss_per_co2 * gas.co2_share()).max(0.0)
    }

    /// At `load_share` (0..1) of the largest current on this gas: `fuel = a + b P`.
    ///
    /// `None` where the gas gives it no power at all.
    #[must_use]
    pub fn running(&self, gas: &Portion, load_share: f64) -> Option<Running> {
        let (most_kw, efficiency) = (self.most_kw(gas), self.full_load_efficiency(gas));
        if most_kw <= 0.0 || efficiency <= 0.0 {
            return None;
        }
        let full_kw = most_kw / efficiency;
        let (a, b) = (
            self.idle_share * full_kw,
            (1.0 - self.idle_share) / efficiency,
        );
        let electric_kw = load_share.clamp(0.0, 1.0) * most_kw;
        let fuel_kw = a + b * electric_kw;
        Some(Running {
            electric_kw,
            heat_kw: self.heat_share * fuel_kw,
            fuel_kw,
        })
    }

    /// What is wrong with the settings.
    ///
    /// # Errors
    /// [`PlantFault`] for a value out of range, and for more current and heat than the gas holds.
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        let at = |name: &str| format!("{field}.{name}");
        above_zero(
            &at("rated_kw"),
            self.rated_kw,
            50.0,
            "kW",
            "Take the plate's value; larger sets are not for this tool.",
        )?;
        above_zero(
            &at("electric_efficiency"),
            self.electric_efficiency,
            0.4,
            "",
            "Small sets reach 0.10 to 0.17; a plate's promise is no measurement.",
        )?;
        within(
            &at("idle_share"),
            self.idle_share,
            (0.0, 0.95),
            "",
            "About half is usual for a piston engine.",
        )?;
        within(
            &at("heat_share"),
            self.heat_share,
            (0.0, 0.9),
            "",
            "0 if no heat is recovered.",
        )?;
        within(
            &at("loss_per_co2"),
            self.loss_per_co2,
            (0.0, 1.0),
            "",
            "Leave it out for the usual value.",
        )?;
        within(
            &at("power_loss_ch4"),
            self.power_loss_ch4,
            (0.0, 0.5),
            "",
            "Leave it out for the usual value.",
        )?;
        within(
            &at("power_loss_per_co2"),
            self.power_loss_per_co2,
            (0.0, 1.0),
            "",
            "Leave it out for the usual value.",
        )?;
        within(
            &at("co2_limit"),
            self.co2_limit,
            (0.0, 0.7),
            "",
            "Trouble begins at about 0.31.",
        )?;
        within(
            &at("h2s_limit_ppm"),
            self.h2s_limit_ppm,
            (0.0, 1e4),
            "ppm",
            "Ask the maker.",
        )?;
        if self.electric_efficiency + self.heat_share > 1.0 {
            return Err(PlantFault::Unfit {
                field: at("heat_share"),
                why: format!(
                    "current and heat together would be {:.0} % of the gas",
                    (self.electric_efficiency + self.heat_share) * 100.0
                ),
                mend: "Together they are at most 1.".into(),
            });
        }
        Ok(())
    }
}
