//! Chemistry of liquor and gas (layer 1).
//!
//! Pure, allocation-free functions. Temperatures are in K, pressures in bar, concentrations in
//! kmol/m3. What the right-hand side needs comes as a pair of the value and its exact derivative.
//!
//! | module | holds |
//! |---|---|
//! | `acid_base`, `charge`, `activity` | charge balance and pH; its equations; activity coefficients |
//! | `constants` | dissociation constants and the Debye-Hueckel slope against temperature |
//! | `henry` | solubility of gases |
//! | `vapour` | saturation pressure, dew point and latent heat of water |
//! | `water` | density and permittivity of liquid water |
//! | `combustion` | heats of combustion and flammability limits of the fuels |
//! | `gas_mixture` | composition, density, heating value, flammability of a gas |
//! | `gas_volume` | norm volume and the reading at any state |
//! | `virial` | second virial coefficients behind the real-gas density |
//! | `temperature_response` | how fast biology runs at a temperature |
//! | `inhibition` | saturation and inhibition factors |

mod acid_base;
mod activity;
mod charge;
mod combustion;
mod constants;
mod gas_mixture;
mod gas_volume;
mod henry;
mod inhibition;
mod temperature_response;
mod vapour;
mod virial;
mod water;

pub use acid_base::{
    Acid, AcidBase, BalanceSlopes, Equilibria, MAX_ACIDS, MAX_LEVELS, NoBalance, Speciation, Totals,
};
pub use combustion::{
    Fuel, HeatingValue, METHANE_LOWER_MJ_PER_KMOL, MJ_PER_KWH, molar_heating_value,
};
pub use constants::{ConstantSet, Constants, Dissociation, debye_hueckel_a, dissociation};
pub use gas_mixture::{GasAmounts, GasLaw, GasMixture};
pub use gas_volume::{dry_volume_at, moist_volume, norm_dry_from_wet, norm_wet_from_wet};
pub use henry::{Gas, henry};
pub use inhibition::{PhBand, haldane, monod, non_competitive};
pub use temperature_response::{Cardinal, arrhenius, arrhenius_lanes};
pub use vapour::{dew_point, latent_heat_kj_per_kg, saturation_pressure};
pub use water::density as water_density;
