//! The checked input of one run (layer 4). Nothing downstream of it checks again.

use crate::feedstock::Composition;

pub use crate::digester::{TemperatureCourse, Wave};
pub use crate::kinetics::Additive;
use crate::plant::Standing;
use crate::plant::cleaning::Stage;
use crate::plant::store::StoreSettings;
use crate::plant::uses::{Demand, FlareSettings, NamedAppliance};
pub use crate::thermal::{HeatSource, Surroundings};

/// Everything one run needs, checked.
#[derive(Debug, Clone)]
pub struct Case {
    /// Short name of the scenario.
    pub title: String,
    /// What it shows, in the author's words.
    pub about: String,
    /// Calendar date of day 0, where the scenario gives one.
    pub start_date: Option<jiff::civil::Date>,
    /// Length \[d\], whole days, at least 1.
    pub days: u32,
    /// One to several vessels; the overflow of each runs into the next.
    pub vessels: Vec<Vessel>,
    /// The common gas side.
    pub gas: GasSide,
    /// What the vessels are filled with on day 0 (shared out by liquid volume).
    pub starter: Starter,
    /// The materials that starter and doses refer to by index.
    pub materials: Vec<Material>,
    /// Everything that is put into the first vessel, sorted by time.
    pub doses: Vec<Dose>,
    /// A steady stream, as a benchmark or a pumped plant has it; only with one vessel.
    pub inflow: Option<Inflow>,
    /// What becomes of the gas and of the residue.
    pub plant: Option<Plant>,
    /// Which equations, and changed parameters.
    pub model: Model,
    /// Integrator settings.
    pub solver: SolverSettings,
    /// Where the case comes from.
    pub source: Source,
}

/// A material by name.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Key in the library or in the scenario.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Whether it comes from the built-in library.
    pub from_library: bool,
    /// What one kilogram holds, particle size already applied to the hydrolysis constants.
    pub composition: Composition,
}

/// One vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    /// Name for people.
    pub name: String,
    /// Liquid volume at the outlet's level \[m3\].
    pub liquid_m3: f64,
    /// Gas space above that level \[m3\].
    pub headspace_m3: f64,
    /// Course of the liquid's temperature; with `heat` that of lifeless water in its place, as a first answer.
    pub temperature: TemperatureCourse,
    /// Heat balance that the temperature follows in place of the course.
    pub heat: Option<Heat>,
    /// Gas transfer coefficient \[1/d\].
    pub kla_per_d: f64,
    /// Share of the particles that the outlet leaves behind, 0..0.95.
    pub solids_held_back: f64,
    /// Share of each dose that leaves unmixed, 0..0.9.
    pub short_circuit: f64,
    /// Leak on the gas side \[m3/d at the store's pressure, as gas in the headspace\].
    pub leak_m3_per_d: f64,
}

/// A vessel's heat balance.
#[derive(Debug, Clone, PartialEq)]
pub struct Heat {
    /// Weather, faces, heater.
    pub surroundings: Surroundings,
    /// Temperature of the liquor at the start \[C\].
    pub start_c: f64,
    /// Temperature of what is fed \[C\]; that of the air at the time, but never ice, where it is absent.
    pub feed_c: Option<f64>,
}

/// What is fed can be poured: no colder than this \[C\]. Assumption of this project.
const COLDEST_FEED_C: f64 = 1.0;

impl Heat {
    /// Temperature of a dose given at `t` \[d\], in C.
    #[must_use]
    pub fn feed_at(&self, t: f64) -> f64 {
        let air = || self.surroundings.weather.air.at(t).0.max(COLDEST_FEED_C);
        self.feed_c.unwrap_or_else(air)
    }

    /// Temperature of a steady stream \[C\]: the mean of the soil, as in a water main, where none is given.
    #[must_use]
    pub fn stream_c(&self) -> f64 {
        self.feed_c.unwrap_or(self.surroundings.weather.soil.mean_c)
    }
}

impl Vessel {
    /// Makes the vessel warmer by so many kelvin: its course, or its weather and thermostat.
    pub fn warm(&mut self, k: f64) {
        self.temperature.shift(k);
        if let Some(heat) = &mut self.heat {
            heat.start_c += k;
            heat.surroundings.weather.warm(k);
            if let Some(heater) = &mut heat.surroundings.heater {
                heater.set_c += k;
            }
        }
    }

    /// Holds the vessel to a course, whatever it followed before.
    pub fn hold(&mut self, course: TemperatureCourse) {
        self.temperature = course;
        self.heat = None;
    }

    /// Days at which the temperature, the weather or the heater has a kink.
    #[must_use]
    pub fn knots(&self) -> Vec<f64> {
        match &self.heat {
            Some(heat) => heat.surroundings.knots(),
            None => self.temperature.knots(),
        }
    }
}

/// The gas side that all vessels share.
#[derive(Debug, Clone, PartialEq)]
pub struct GasSide {
    /// Pressure of the store above ambient \[bar\].
    pub back_pressure_bar: f64,
    /// Ambient pressure \[bar\].
    pub ambient_bar: f64,
    /// Conductance of the gas pipe \[m3/d/bar\] per vessel.
    pub pipe_m3_per_d_bar: f64,
    /// Whether gas can flow back from the store (no water seal in the way).
    pub returns: bool,
    /// Temperature at which the owner reads gas volumes \[C\].
    pub reading_c: f64,
}

/// The filling of day 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Starter {
    /// (material index, kg).
    pub parts: Vec<(usize, f64)>,
    /// Water \[kg\].
    pub water_kg: f64,
    /// Additives \[kg\].
    pub additives: Vec<(Additive, f64)>,
}

/// Something put into the first vessel at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Dose {
    /// When \[d from the start\].
    pub day: f64,
    /// (material index, kg).
    pub parts: Vec<(usize, f64)>,
    /// Water \[kg\].
    pub water_kg: f64,
    /// Additives \[kg\].
    pub additives: Vec<(Additive, f64)>,
}

/// A steady stream in the components of the chosen network.
#[derive(Debug, Clone, PartialEq)]
pub struct Inflow {
    /// Flow \[m3/d\].
    pub m3_per_d: f64,
    /// (component name, concentration in its unit per m3).
    pub concentrations: Vec<(String, f64)>,
}

/// The plant behind the digester; each setting has passed its unit's own check.
#[derive(Debug, Clone, PartialEq)]
pub struct Plant {
    /// Digesters like that of the case, side by side, each fed as it is; at least 1. What follows is for all of them.
    pub units: u32,
    /// Stages between digester and store, in the order of the flow.
    pub cleaning: Vec<Stage>,
    /// What holds the gas.
    pub store: StoreSettings,
    /// What uses gas.
    pub appliances: Vec<NamedAppliance>,
    /// When.
    pub demands: Vec<Demand>,
    /// What burns the overflow.
    pub flare: Option<FlareSettings>,
    /// Temperature of pipes, beds and store \[C\].
    pub line: TemperatureCourse,
    /// Where the residue goes.
    pub residue: ResidueStore,
    /// Values that the scenario leaves to the program.
    pub assumed: Vec<Assumed>,
}

impl Plant {
    /// Pressure of the store halfway between its ends \[Pa\].
    #[must_use]
    pub fn store_pa(&self) -> f64 {
        self.store.middle_pa()
    }

    /// Pressure that the cleaning costs \[Pa\].
    #[must_use]
    pub fn cleaning_pa(&self) -> f64 {
        self.cleaning.iter().map(Stage::pressure_loss_pa).sum()
    }
}

/// Where the residue goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResidueStore {
    /// Whether its store is gas-tight and the gas is used.
    pub closed: bool,
    /// Temperature of its store \[C\]; `None`: the mean of the line.
    pub store_c: Option<f64>,
    /// Nitrogen that a square metre may get in a year \[g\].
    pub rate_g_n_m2_yr: f64,
    /// Share of the remaining methane that comes out in an open, warm store, 0..1.
    pub continues_share: f64,
}

/// A value that the scenario leaves to the program.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Assumed {
    /// Where it would stand in the scenario.
    pub path: String,
    /// What is taken.
    pub value: f64,
    /// Its unit; empty for a share.
    pub unit: String,
    /// How it became known.
    pub standing: Standing,
    /// Where from.
    pub source: String,
}

/// Which equations.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// Reaction network.
    pub network: NetworkKind,
    /// How activities enter the acid-base balance.
    pub activity: Activity,
    /// Parameters that differ from their defaults: (name, value).
    pub parameters: Vec<(String, f64)>,
}

/// Reaction networks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NetworkKind {
    /// The multi-stage network for home digesters.
    FourStage,
    /// Batstone et al. 2002 in the setting of Rosen and Jeppsson 2006.
    Adm1,
}

/// How activities enter the acid-base balance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Activity {
    /// All activity coefficients one.
    Ideal,
    /// Davies equation.
    Davies,
}

/// Integrator settings.
#[derive(Debug, Clone, PartialEq)]
pub struct SolverSettings {
    /// Method.
    pub method: MethodKind,
    /// Relative tolerance, 1e-9..1e-2.
    pub relative_tolerance: f64,
}

/// Integration methods a user can ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MethodKind {
    /// The implicit default.
    Implicit,
    /// An explicit method, slow, as an independent check.
    Explicit,
}

/// Where a case comes from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Source {
    /// File as the user named it; empty when built in memory.
    pub file: String,
    /// SHA-256 of the scenario's bytes, hexadecimal.
    pub sha256: String,
}
