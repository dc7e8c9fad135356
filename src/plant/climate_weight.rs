//! Escaped methane, weighed as carbon dioxide.

use serde::Serialize;

use crate::units::{ATM_BAR, NORM_M3_PER_KMOL, R_BAR, kelvin, molar_mass};

/// Weight of methane over 100 years, not of fossil origin \[kg CO2e/kg\]. Source: IPCC AR6 WG1 table 7.15.
pub const GWP_100: f64 = 27.0;
/// The same over 20 years. Source: IPCC AR6 WG1 table 7.15, from memory.
pub const GWP_20: f64 = 79.7;
/// Carbon dioxide that a cubic metre of methane saves where it replaces natural gas \[kg per m3 at 20 C\]: what burning it
/// would give, 44.009/16.043 of its mass.
#[must_use]
pub fn saved_kg_per_m3() -> f64 {
    ch4_kg_per_m3() * molar_mass::CO2 / molar_mass::CH4
}

/// Mass of a cubic metre of methane at 20 C and one atmosphere \[kg\], ideal gas.
#[must_use]
pub fn ch4_kg_per_m3() -> f64 {
    ATM_BAR / (R_BAR * kelvin(20.0)) * molar_mass::CH4
}

/// Methane that escaped unburnt.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Escaped {
    /// Mass \[kg\].
    pub ch4_kg: f64,
    /// As carbon dioxide over 100 years \[kg\].
    pub co2e_100_kg: f64,
    /// As carbon dioxide over 20 years \[kg\].
    pub co2e_20_kg: f64,
}

/// Weighs `ch4_nl` norm litres of methane.
#[must_use]
pub fn weigh(ch4_nl: f64) -> Escaped {
    let ch4_kg = ch4_nl / NORM_M3_PER_KMOL / 1000.0 * molar_mass::CH4;
    Escaped {
        ch4_kg,
        co2e_100_kg: ch4_kg * GWP_100,
        co2e_20_kg: ch4_kg * GWP_20,
    }
}

/// Share of the methane that may escape before the plant is worse than the natural gas it replaces.
///
/// `gwp` \[kg CO2e/kg\]. `f m gwp = (1 - f) saved`; what the waste would have done anyway is not counted.
#[must_use]
pub fn break_even_share(gwp: f64) -> f64 {
    let saved = saved_kg_per_m3();
    saved / (saved + ch4_kg_per_m3() * gwp)
}
