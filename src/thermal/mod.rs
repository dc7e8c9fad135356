//! Heat around a vessel (layer 2): weather, soil, walls, ground, sun, heater, heat of reaction.
//!
//! ```text
//! M c dT/dt = sum U A (T_outside - T) + absorbed sun + heat of reaction + heater - evaporation + feed
//! ```
//!
//! | file | holds |
//! |---|---|
//! | `course` | courses over the run: constant, wave, table |
//! | `weather`, `soil` | air, sun and wind; the wave of the soil by depth |
//! | `material`, `wall` | conductivities with their sources; films and walls in series |
//! | `shape` | drum, tote, bag or listed surfaces as faces towards air and ground |
//! | `upright` | sun on an upright pane against that on the level, by day and latitude |
//! | `envelope` | what the faces exchange, with sun and a small greenhouse |
//! | `heater` | the heater and its thermostat |
//! | `matter` | heat of water, of evaporation, of combustion by component |
//! | `surroundings` | all of it around one vessel; a run of the vessel without any life in it |

mod course;
mod envelope;
mod heater;
mod material;
mod matter;
mod shape;
mod soil;
mod surroundings;
mod upright;
mod wall;
mod weather;

pub use course::{TemperatureCourse, Wave};
pub use envelope::{Envelope, Exchange, Face, Gain, Greenhouse, Meets, Sunlit};
pub use heater::{HeatSource, Heater};
pub use material::{Material, material, materials};
pub use matter::{
    CAPACITY_KWH_PER_M3_K, EVAPORATION_KWH_PER_KG, METHANE_KWH_PER_KMOL, METHANE_KWH_PER_NORM_L,
    combustion_kwh_per_kg_cod,
};
pub use shape::{Lagging, Placement, Shape, faces};
pub use soil::{SoilWave, damping_depth_m};
pub use surroundings::{Flow, Surroundings};
pub use upright::{HIGHEST_LATITUDE_DEG, SunDay};
pub use wall::{
    INSIDE_W_PER_M2_K, STILL_AIR_W_PER_M2_K, glazing_m2_k_per_w, layer_m2_k_per_w,
    outside_w_per_m2_k, u_value,
};
pub use weather::{Sky, Sun, Weather};
