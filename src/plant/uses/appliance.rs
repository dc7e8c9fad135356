//! What an appliance draws from a gas, and what it gives.

use serde::{Deserialize, Serialize};

use crate::plant::stream::Portion;
use crate::plant::{PlantFault, above_zero};
use crate::units::WATER_J_PER_KG_K;

use super::engine::EngineSettings;
use super::flame::flame;
use super::material::use_table;

/// Heat capacity of water \[kWh/kg/K\].
const WATER_KWH_PER_KG_K: f64 = WATER_J_PER_KG_K / 3.6e6;

/// A burner under a pot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BurnerSettings {
    /// Gas it burns at full flame \[kW, lower\]. Above 0, up to 100.
    pub power_kw: f64,
    /// Share that reaches the pot. Above 0, up to 1.
    pub efficiency: f64,
}

impl Default for BurnerSettings {
    fn default() -> Self {
        let row = &use_table().burner;
        Self {
            power_kw: row.power_kw.typical(),
            efficiency: row.efficiency.typical(),
        }
    }
}

/// A gas lamp.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LampSettings {
    /// Gas it burns \[kW, lower\]. Above 0, up to 10.
    pub power_kw: f64,
}

impl Default for LampSettings {
    fn default() -> Self {
        Self {
            power_kw: use_table().lamp.power_kw.typical(),
        }
    }
}

/// A flare for what the store cannot take.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FlareSettings {
    /// Gas it can burn \[kW, lower\]. Above 0, up to 1000.
    pub power_kw: f64,
}

impl Default for FlareSettings {
    fn default() -> Self {
        Self {
            power_kw: use_table().flare.power_kw.typical(),
        }
    }
}

impl FlareSettings {
    /// What is wrong with the settings.
    ///
    /// # Errors
    /// [`PlantFault::OutOfRange`].
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        above_zero(
            &format!("{field}.power_kw"),
            self.power_kw,
            1000.0,
            "kW",
            "Size it for the largest gas of an hour.",
        )
    }

    /// Share of `gas`, which comes within `hours`, that it burns: none where the gas does not burn.
    #[must_use]
    pub fn burnt_share(&self, gas: &Portion, hours: f64) -> f64 {
        let energy = gas.energy_kwh();
        if energy <= 0.0 || !flame(gas).verdict.lights() {
            return 0.0;
        }
        (self.power_kw * hours / energy).min(1.0)
    }
}

/// Something that uses gas.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Appliance {
    /// Burner.
    Burner(BurnerSettings),
    /// Lamp.
    Lamp(LampSettings),
    /// Engine with generator.
    Engine(EngineSettings),
}

/// What an appliance does while it runs.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Draw {
    /// Gas \[kW, lower\].
    pub fuel_kw: f64,
    /// Heat that is used \[kW\].
    pub heat_kw: f64,
    /// Current \[kW\].
    pub electric_kw: f64,
}

/// Why an appliance does not run on a gas.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Refusal {
    /// The gas does not burn, or must not be lit: no appliance runs on gas that holds air.
    NoFlame,
    /// Too much carbon dioxide for the engine.
    TooLean,
}

impl Appliance {
    /// What it draws and gives at `load_share` (0..1) of its full power on this gas.
    ///
    /// # Errors
    /// [`Refusal`] where it does not run on it.
    pub fn draw(&self, gas: &Portion, load_share: f64) -> Result<Draw, Refusal> {
        let verdict = flame(gas).verdict;
        match self {
            Self::Burner(_) | Self::Lamp(_) if !verdict.burns() => Err(Refusal::NoFlame),
            Self::Burner(burner) => {
                let fuel_kw = burner.power_kw * load_share;
                Ok(Draw {
                    fuel_kw,
                    heat_kw: fuel_kw * burner.efficiency,
                    electric_kw: 0.0,
                })
            }
            Self::Lamp(lamp) => Ok(Draw {
                fuel_kw: lamp.power_kw * load_share,
                ..Draw::default()
            }),
            Self::Engine(_) if !verdict.lights() => Err(Refusal::NoFlame),
            Self::Engine(engine) if gas.co2_share() > engine.co2_limit => Err(Refusal::TooLean),
            Self::Engine(engine) => {
                let running = engine.running(gas, load_share).ok_or(Refusal::TooLean)?;
                Ok(Draw {
                    fuel_kw: running.fuel_kw,
                    heat_kw: running.heat_kw,
                    electric_kw: running.electric_kw,
                })
            }
        }
    }

    /// What is wrong with the settings.
    ///
    /// # Errors
    /// [`PlantFault`].
    pub fn check(&self, field: &str) -> Result<(), PlantFault> {
        let at = |name: &str| format!("{field}.{name}");
        match self {
            Self::Burner(burner) => {
                above_zero(
                    &at("power_kw"),
                    burner.power_kw,
                    100.0,
                    "kW",
                    "A household burner has 1 to 2.5 kW.",
                )?;
                above_zero(
                    &at("efficiency"),
                    burner.efficiency,
                    1.0,
                    "",
                    "0.55 is usual.",
                )
            }
            Self::Lamp(lamp) => above_zero(
                &at("power_kw"),
                lamp.power_kw,
                10.0,
                "kW",
                "A gas lamp burns about 0.8 kW.",
            ),
            Self::Engine(engine) => engine.check(field),
        }
    }
}

/// Heat into `litres` of water from `from_c` to `to_c` \[kWh\].
#[must_use]
pub fn water_heat_kwh(litres: f64, from_c: f64, to_c: f64) -> f64 {
    litres * (to_c - from_c) * WATER_KWH_PER_KG_K
}
