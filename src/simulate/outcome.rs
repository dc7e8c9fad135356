//! What one run gives: daily rows, a finer trajectory, events, closures, statistics, provenance.

use crate::case::Case;
use crate::kinetics::Network;

/// Result of one run. Pure data: no colours, no words.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Outcome {
    /// Scenario title.
    pub title: String,
    /// Scenario description.
    pub about: String,
    /// Calendar date of day 0 (ISO 8601), if given.
    pub start_date: Option<String>,
    /// Days simulated.
    pub days: u32,
    /// One series per vessel, in the order of the flow.
    pub vessels: Vec<VesselSeries>,
    /// The whole plant, day by day (gas and feed summed, shares mixed by volume; liquor columns of the last vessel).
    pub plant: Vec<DayRow>,
    /// What happened, in order of time.
    pub events: Vec<Event>,
    /// Where the fed COD went, whole plant, whole run.
    pub fate: Fate,
    /// Balances of the run.
    pub closures: Vec<Closure>,
    /// Solver statistics, summed over vessels.
    pub solver: SolverRecord,
    /// Where the numbers come from.
    pub provenance: Provenance,
}

/// One vessel's series.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct VesselSeries {
    /// Name for people.
    pub name: String,
    /// Liquid volume at the outlet \[L\].
    pub liquid_l: f64,
    /// One row a day; row `i` covers day `i` to `i + 1`.
    pub days: Vec<DayRow>,
    /// Finer trajectory (several points a day, one on each side of a dose).
    pub trace: Vec<Point>,
    /// Heat flows, where the temperature follows a heat balance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat: Option<HeatSeries>,
}

/// Heat of one vessel.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct HeatSeries {
    /// Where the heater takes its heat; `None` without a heater.
    pub source: Option<HeaterSource>,
    /// Set point of the heater \[C\].
    pub set_c: Option<f64>,
    /// Depth of the soil temperature shown \[m\].
    pub soil_depth_m: f64,
    /// One row a day.
    pub days: Vec<HeatDay>,
}

/// Where a heater takes its heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeaterSource {
    /// The digester's own gas.
    OwnGas,
    /// Electricity or other bought energy.
    Mains,
    /// Waste heat of an engine.
    EngineWaste,
}

/// Heat of one day. Flows are into the liquor where positive.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct HeatDay {
    /// Day number; the row covers `day` to `day + 1`.
    pub day: u32,
    /// Mean temperature of the liquor \[C\].
    pub liquor_c: f64,
    /// Mean temperature of the outdoor air \[C\].
    pub air_c: f64,
    /// Temperature of the soil at the day's middle \[C\].
    pub soil_c: f64,
    /// Through faces in the air \[kWh\].
    pub air_kwh: f64,
    /// Through faces in or on the ground \[kWh\].
    pub ground_kwh: f64,
    /// Sun \[kWh\].
    pub sun_kwh: f64,
    /// Heater, as it reaches the liquor \[kWh\].
    pub heater_kwh: f64,
    /// What the heater took for it \[kWh\]: with own gas its lower heating value.
    pub fuel_kwh: f64,
    /// Evaporation with the gas \[kWh\].
    pub evaporation_kwh: f64,
    /// Heat of the living groups' work \[kWh\].
    pub reaction_kwh: f64,
    /// Feed and steady stream, counted against what overflows, and against the liquor's own temperature where it makes the
    /// liquor more: below zero where it cools \[kWh\].
    pub feed_kwh: f64,
    /// Change of what the liquor holds, without what it grew by, which counts at the liquor's own temperature \[kWh\].
    pub stored_kwh: f64,
    /// Energy of the methane that left for the store, lower heating value \[kWh\].
    pub methane_kwh: f64,
}

/// One day. Gas is summed over the day; liquor and shares are those at the end of the day, before the next dose.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct DayRow {
    /// Day number; the row covers `day` to `day + 1`.
    pub day: u32,
    /// Mean temperature of the liquor \[C\].
    pub temperature_c: f64,
    /// Material fed, without water \[kg\].
    pub fed_kg: f64,
    /// Water fed \[kg\].
    pub water_kg: f64,
    /// Volatile solids fed \[kg\].
    pub fed_vs_kg: f64,
    /// COD fed \[kg\].
    pub fed_cod_kg: f64,
    /// Theoretical methane of the degradable feed of the day \[norm litres\].
    pub theoretical_ch4_nl: f64,
    /// Organic loading over the past seven days, or the usual time between two feeds if longer \[kg VS/m3/d\].
    pub loading_kg_vs_m3_d: f64,
    /// Retention time over the same days \[d\]; `None` while nothing was fed.
    pub retention_d: Option<f64>,
    /// Gas leaving to the store, dry, 0 C, 101.325 kPa \[norm litres/d\].
    pub gas_nl: f64,
    /// The same gas as the owner reads it: wet, at the reading temperature and the store's pressure \[L/d\].
    pub gas_read_l: f64,
    /// Methane leaving to the store \[norm litres/d\].
    pub ch4_nl: f64,
    /// Gas lost through the leak \[norm litres/d\].
    pub leaked_nl: f64,
    /// Methane lost through the leak \[norm litres/d\].
    pub leaked_ch4_nl: f64,
    /// Methane share of the dry gas in the headspace, 0..1.
    pub ch4_share: f64,
    /// Carbon dioxide share of the dry gas in the headspace, 0..1.
    pub co2_share: f64,
    /// Air share of the dry gas in the headspace, 0..1.
    pub air_share: f64,
    /// Hydrogen sulphide of the dry gas in the headspace \[ppm by volume\].
    pub h2s_ppm: f64,
    /// Hydrogen of the dry gas in the headspace \[ppm by volume\].
    pub h2_ppm: f64,
    /// Water vapour of the wet gas in the headspace, 0..1.
    pub vapour_share: f64,
    /// pH of the liquor.
    pub ph: f64,
    /// Acetate and acetic acid \[mg acetic acid/L\].
    pub acetic_mg_l: f64,
    /// Propionate and acid \[mg propionic acid/L\].
    pub propionic_mg_l: f64,
    /// Butyrate (and valerate) and acid \[mg butyric acid/L\].
    pub butyric_mg_l: f64,
    /// Total volatile acids \[mg/L as acetic acid\].
    pub acids_mg_l: f64,
    /// Alkalinity to pH 4.3 \[mg CaCO3/L\].
    pub alkalinity_mg_l: f64,
    /// Alkalinity to pH 5.75 \[mg CaCO3/L\].
    pub partial_alkalinity_mg_l: f64,
    /// Acids (as acetic acid, mg/L) over alkalinity to pH 4.3 (as CaCO3, mg/L); at most 10: no alkalinity left.
    pub acid_ratio: f64,
    /// Total ammonium and ammonia \[mg N/L\].
    pub ammonium_mg_l: f64,
    /// Free ammonia \[mg N/L\].
    pub free_ammonia_mg_l: f64,
    /// Liquid level \[L\].
    pub level_l: f64,
    /// Overflow of the day \[L\].
    pub overflow_l: f64,
    /// Methane since the start per volatile solids put in since the start, starter included \[norm litres/kg VS\].
    pub yield_nl_kg_vs: f64,
    /// What everything put in so far, starter included, could give at most \[norm litres CH4/kg VS\].
    pub theoretical_yield_nl_kg_vs: f64,
    /// Whether the gas burns (methane share and air against the flame bands).
    pub burns: bool,
    /// Whether the day counts as sour by rule.
    pub sour: bool,
}

/// A point of the finer trajectory.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Point {
    /// Time \[d\].
    pub t_d: f64,
    /// Temperature \[C\].
    pub temperature_c: f64,
    /// Gas to the store since the point before, as a rate \[norm litres/d\]: the points add up to what was sent, but for
    /// those within a thousandth of a day of the one before (beside a dose), which repeat its rate.
    pub gas_nl_d: f64,
    /// Gas to the store since the start \[norm litres\]; kept in no file.
    #[serde(skip)]
    pub sent_nl: f64,
    /// Methane share of the dry gas in the headspace, 0..1.
    pub ch4_share: f64,
    /// Air share of the dry gas in the headspace, 0..1.
    pub air_share: f64,
    /// pH.
    pub ph: f64,
    /// Total volatile acids \[mg/L as acetic acid\].
    pub acids_mg_l: f64,
    /// Pressure of the headspace above ambient \[mbar\].
    pub pressure_mbar: f64,
}

/// Kinds of events.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EventKind {
    /// The first gas worth the name leaves for the store.
    FirstGas,
    /// The gas burns for the first time: methane share passes the flame limit and the air is gone.
    FirstFlame,
    /// The gas has burnt on several days running.
    BurnsSteadily,
    /// The digester turns sour.
    TurnsSour,
    /// It is no longer sour.
    Recovers,
    /// The acetate-using methanogens are washed out or dead.
    WashesOut,
    /// The liquor reaches freezing point.
    Freezes,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Event {
    /// When \[d\].
    pub day: f64,
    /// Vessel index.
    pub vessel: usize,
    /// What.
    pub kind: EventKind,
}

/// Where the COD went \[kg COD\]. `start + fed` equals the sum of the rest within the closure.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Fate {
    /// In the vessels on day 0.
    pub start: f64,
    /// Fed.
    pub fed: f64,
    /// Left as methane for the store.
    pub methane: f64,
    /// Left as hydrogen for the store.
    pub hydrogen: f64,
    /// Lost through the leak (methane and hydrogen).
    pub leaked: f64,
    /// Overflowed: degradable particles.
    pub out_degradable: f64,
    /// Overflowed: acids and other dissolved matter.
    pub out_dissolved: f64,
    /// Overflowed: living groups.
    pub out_living: f64,
    /// Overflowed: inert matter.
    pub out_inert: f64,
    /// Still in the vessels (liquor and headspace).
    pub left: f64,
}

/// One balance: what came in, what went out or stayed, and the relative gap.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Closure {
    /// COD, carbon, nitrogen, sulphur, charge, water, air.
    pub quantity: String,
    /// Unit of the two amounts.
    pub unit: String,
    /// Start plus everything that entered.
    pub entered: f64,
    /// Everything that left plus what is still there.
    pub accounted: f64,
    /// `|accounted - entered|` over what entered, by size (start and feed each), at least 1e-12.
    pub relative_gap: f64,
    /// The run fails above this gap.
    pub limit: f64,
}

/// Solver statistics.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize)]
pub struct SolverRecord {
    /// Method name.
    pub method: String,
    /// Relative tolerance.
    pub relative_tolerance: f64,
    /// Segments between jumps.
    pub segments: u64,
    /// Accepted steps.
    pub accepted: u64,
    /// Rejected steps.
    pub rejected: u64,
    /// Right-hand sides.
    pub rhs: u64,
    /// Jacobians.
    pub jacobians: u64,
    /// Factorisations.
    pub factorisations: u64,
    /// Smallest and largest accepted step \[d\].
    pub smallest_step_d: f64,
    /// Largest accepted step \[d\].
    pub largest_step_d: f64,
}

/// Where the numbers come from.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize)]
pub struct Provenance {
    /// Version of marshgas.
    pub version: String,
    /// Scenario file.
    pub file: String,
    /// SHA-256 of the scenario's bytes.
    pub sha256: String,
    /// Network name.
    pub network: String,
    /// Activity model.
    pub activity: String,
    /// Parameters that differ from their defaults.
    pub parameters: Vec<(String, f64)>,
}

impl Provenance {
    /// That of a case computed with a network by this build.
    #[must_use]
    pub fn of(case: &Case, network: &Network) -> Self {
        Self {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            file: case.source.file.clone(),
            sha256: case.source.sha256.clone(),
            network: network.name.to_owned(),
            activity: format!("{:?}", case.model.activity).to_lowercase(),
            parameters: case.model.parameters.clone(),
        }
    }
}
