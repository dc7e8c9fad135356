//! The scenario as it stands in the file: nothing is checked here but names and kinds.
//!
//! Keys carry their unit. The descriptions below are what `JSON Schema` shows to an editor. Unknown keys are refused;
//! a choice is an object with exactly one key (never a tag beside other keys), so that an error keeps its full path.

mod climate;
mod feeding;
mod heat;
mod material;
mod month;
mod named;
mod plant;
mod settings;
mod vessel;
pub(crate) mod wish;

use schemars::JsonSchema;
use serde::Deserialize;

pub(crate) use climate::{RawAir, RawClimate, RawSoil, RawSun};
pub(crate) use feeding::{RawDaily, RawDose, RawFeeding, RawOn, RawPause, RawRamp};
pub(crate) use heat::{
    RawFoam, RawGreenhouse, RawHeat, RawHeatSource, RawHeater, RawMeets, RawShape, RawStandsOn,
    RawSunnyFace, RawSurface, RawWall,
};
pub(crate) use material::{
    RawAnalysis, RawClass, RawHydrolysis, RawLabel, RawLike, RawMaterial, RawPart, RawPieces,
};
pub(crate) use named::Named;
pub(crate) use plant::{
    RawAppliance, RawBed, RawBedMaterial, RawBell, RawDemand, RawEngine, RawEngineKind, RawFilm,
    RawFlare, RawGasBag, RawPlant, RawRefill, RawResidue, RawShell, RawStage, RawStore, RawTrap,
    RawWeekday,
};
pub(crate) use settings::{
    RawAcidBase, RawGas, RawInflow, RawMethod, RawModel, RawNetwork, RawSolver,
};
pub(crate) use vessel::{RawPoint, RawStirring, RawTemperature, RawVessel, RawWave};

use super::limits::{ADDITIVE_G, DAYS, LIVING_FACTOR, WATER_L};

/// A digester, what it is started with, what it is fed, and how long it is watched.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Scenario")]
pub(crate) struct RawScenario {
    /// Address of this description, for editors; nothing else reads it.
    #[serde(rename = "$schema")]
    #[allow(dead_code, reason = "accepted for editors, not used")]
    pub(crate) schema: Option<String>,
    /// Short name of the scenario.
    #[schemars(required)]
    pub(crate) title: Option<String>,
    /// What it shows, in your own words. Every group may hold an "about" for remarks.
    pub(crate) about: Option<String>,
    /// Calendar date of day 0, as "2026-03-01". Needed where other keys name dates or days of the year.
    pub(crate) start_date: Option<String>,
    /// Length of the run in days.
    #[schemars(required, range(min = DAYS.low, max = DAYS.high))]
    pub(crate) days: Option<f64>,
    /// Weather of the place; needed where a vessel's temperature follows a heat balance.
    pub(crate) climate: Option<RawClimate>,
    /// One to several vessels; what leaves one runs into the next.
    #[schemars(required)]
    pub(crate) vessels: Option<Vec<RawVessel>>,
    /// The gas side that all vessels share.
    pub(crate) gas: Option<RawGas>,
    /// What the vessels are filled with on day 0, shared out by their liquid volume.
    #[schemars(required)]
    pub(crate) starter: Option<RawStarter>,
    /// Mixtures by name, to be fed as often as the feeding says.
    pub(crate) recipes: Option<Named<RawRecipe>>,
    /// What is put into the first vessel, and when.
    pub(crate) feeding: Option<Vec<RawFeeding>>,
    /// Cleaning, store and use of the gas, residue: for `marshgas season`.
    pub(crate) plant: Option<RawPlant>,
    /// Materials of your own by name, beside those of the library.
    pub(crate) materials: Option<Named<RawMaterial>>,
    /// Which equations, and changed parameters.
    pub(crate) model: Option<RawModel>,
    /// A steady stream into a single vessel, in the components of the equations: for benchmarks.
    pub(crate) inflow: Option<RawInflow>,
    /// Settings of the integrator.
    pub(crate) solver: Option<RawSolver>,
}

/// The filling of day 0.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Starter")]
pub(crate) struct RawStarter {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Materials and their weights.
    pub(crate) materials: Option<Vec<RawPart>>,
    /// Water in litres (default 0).
    #[schemars(range(min = WATER_L.low, max = WATER_L.high))]
    pub(crate) water_l: Option<f64>,
    /// Sodium bicarbonate (baking soda) in grams (default 0).
    #[schemars(range(min = ADDITIVE_G.low, max = ADDITIVE_G.high))]
    pub(crate) bicarbonate_g: Option<f64>,
    /// Slaked lime in grams (default 0).
    #[schemars(range(min = ADDITIVE_G.low, max = ADDITIVE_G.high))]
    pub(crate) lime_g: Option<f64>,
    /// Multiplies the living groups that the starter brings (default 1): they are uncertain by a factor of three
    /// either way, so try 0.3 and 3.
    #[schemars(range(min = LIVING_FACTOR.low, max = LIVING_FACTOR.high))]
    pub(crate) living_factor: Option<f64>,
}

/// A mixture that is fed.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Recipe")]
pub(crate) struct RawRecipe {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Materials and their weights.
    pub(crate) materials: Option<Vec<RawPart>>,
    /// Water in litres (default 0).
    #[schemars(range(min = WATER_L.low, max = WATER_L.high))]
    pub(crate) water_l: Option<f64>,
}
