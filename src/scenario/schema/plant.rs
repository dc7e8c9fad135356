//! The plant behind the digester: cleaning, store, appliances, timetable, residue.
//!
//! Ranges stand with the units of the plant, which check them; the descriptions here only name the usual.

use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;

use super::month::RawMonth;
use super::named::Named;
use super::wish::UNITS;

/// What becomes of the gas and of the residue; `marshgas season` runs it through the year.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Plant")]
pub(crate) struct RawPlant {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// How many digesters like that of the scenario stand side by side, each fed as it is, and give their gas to this plant
    /// (default 1).
    #[schemars(range(min = UNITS.low, max = UNITS.high))]
    pub(crate) units: Option<f64>,
    /// Stages between digester and store, in the order of the flow (default none).
    pub(crate) cleaning: Option<Vec<RawStage>>,
    /// What holds the gas.
    #[schemars(required)]
    pub(crate) store: Option<RawStore>,
    /// What uses gas, by names of your own.
    pub(crate) appliances: Option<Named<RawAppliance>>,
    /// Who wants gas when.
    pub(crate) timetable: Option<Vec<RawDemand>>,
    /// Burns what the store cannot take (default none: it escapes).
    pub(crate) flare: Option<RawFlare>,
    /// Pipes, beds and store.
    pub(crate) line: Option<RawLine>,
    /// Where the residue goes.
    pub(crate) residue: Option<RawResidue>,
}

/// A stage of the cleaning: exactly one of the five.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schemars(rename = "Stage")]
pub(crate) enum RawStage {
    /// A cool low point where water runs out of the gas.
    WaterTrap(RawTrap),
    /// Lime against carbon dioxide: "lime-slurry" (default), "damp-lime" or "lime-water".
    Lime(RawBed),
    /// Iron against hydrogen sulphide: "iron-oxide-grains" (default) or "rusted-wool".
    Iron(RawBed),
    /// Carbon against hydrogen sulphide: "carbon" (default) or "carbon-with-oxygen".
    Carbon(RawBed),
    /// Against water: "silica-gel" (default), "drying-clay" or "molecular-sieve".
    Drying(RawBed),
}

/// A water trap.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "WaterTrap")]
pub(crate) struct RawTrap {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Temperature of its coldest point in degrees Celsius (default that of the line).
    pub(crate) temperature_c: Option<f64>,
    /// Pressure that it costs in pascals (default 0).
    pub(crate) drop_pa: Option<f64>,
}

/// A bed; what is left out is that of its material.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Bed")]
pub(crate) struct RawBed {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// What it is filled with.
    pub(crate) material: Option<RawBedMaterial>,
    /// Filling in kilograms, dry; for lime water the water.
    #[schemars(required)]
    pub(crate) mass_kg: Option<f64>,
    /// What a kilogram holds at full use, in kilograms of carbon dioxide, hydrogen sulphide or water.
    pub(crate) capacity_kg_per_kg: Option<f64>,
    /// Share of that which is used when the gas begins to slip by, 0 to 1.
    pub(crate) used_share: Option<f64>,
    /// Share of its target that it takes while it lasts, 0 to 1.
    pub(crate) removal_share: Option<f64>,
    /// Depth that the gas bubbles through in centimetres of water.
    pub(crate) dip_cm: Option<f64>,
    /// Pressure that the bed costs beyond that in pascals.
    pub(crate) drop_pa: Option<f64>,
    /// How often a filling is loaded before it is thrown away.
    pub(crate) cycles: Option<f64>,
    /// Share of its capacity that is loaded at the start, 0 to 1 (default 0).
    pub(crate) loaded_share: Option<f64>,
    /// What happens when it is spent (default "when-spent": it is changed at once).
    pub(crate) refill: Option<RawRefill>,
}

/// What a bed is filled with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "BedMaterial")]
pub(crate) enum RawBedMaterial {
    /// Slaked lime stirred into water.
    LimeSlurry,
    /// Slaked lime as damp grains.
    DampLime,
    /// Clear lime water.
    LimeWater,
    /// Iron oxide as grains.
    IronOxideGrains,
    /// Steel wool that was let rust.
    RustedWool,
    /// Activated carbon in gas without oxygen.
    Carbon,
    /// Activated carbon in gas with a little oxygen.
    CarbonWithOxygen,
    /// Silica gel.
    SilicaGel,
    /// Drying clay.
    DryingClay,
    /// Molecular sieve.
    MolecularSieve,
}

/// What happens when a bed is spent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Refill")]
pub(crate) enum RawRefill {
    /// It is changed or regenerated at once.
    WhenSpent,
    /// It stays, and the gas goes through as it is.
    Never,
}

/// A gas store: exactly one of the two.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schemars(rename = "Store")]
pub(crate) enum RawStore {
    /// A cup upside down in water.
    Bell(RawBell),
    /// A bag under weights.
    Bag(RawGasBag),
}

/// A floating bell.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Bell")]
pub(crate) struct RawBell {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Inner diameter in centimetres.
    #[schemars(required)]
    pub(crate) diameter_cm: Option<f64>,
    /// Height of the skirt, rim to roof, in centimetres.
    #[schemars(required)]
    pub(crate) skirt_cm: Option<f64>,
    /// What it is made of (default "polyethylene").
    pub(crate) shell: Option<RawShell>,
    /// Thickness of the wall in millimetres (default 1 for steel, 4 for the others).
    pub(crate) wall_mm: Option<f64>,
    /// Mass of the empty bell in kilograms (default from its wall).
    pub(crate) shell_mass_kg: Option<f64>,
    /// Weights on top of it in kilograms (default: what gives "gas.store_pressure_mbar" at half its rise).
    pub(crate) ballast_kg: Option<f64>,
    /// Depth of water that the rim can sink to in centimetres (default the skirt).
    pub(crate) seal_depth_cm: Option<f64>,
    /// Density of the liquid in kilograms per cubic metre (default water; brine about 1180).
    pub(crate) liquid_density_kg_m3: Option<f64>,
    /// How much deeper than the pressure the rim should stand in centimetres.
    pub(crate) margin_cm: Option<f64>,
    /// Whether a relief lets gas off, outdoors or into the flare, before the rim comes closer to its blow-out than
    /// "margin_cm" (default false: it escapes under the rim).
    pub(crate) relief: Option<bool>,
}

/// What a bell is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Shell")]
pub(crate) enum RawShell {
    /// Mild steel.
    Steel,
    /// Polyethylene.
    Polyethylene,
    /// Rigid PVC.
    Pvc,
    /// Glass fibre and resin.
    Fibreglass,
}

/// A bag.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "GasBag")]
pub(crate) struct RawGasBag {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Volume when full in litres.
    #[schemars(required)]
    pub(crate) volume_l: Option<f64>,
    /// Its film (default "soft-pvc").
    pub(crate) film: Option<RawFilm>,
    /// Thickness of the film in millimetres (default 0.5).
    pub(crate) thickness_mm: Option<f64>,
    /// Surface in square metres (default that of a tube three times as long as wide).
    pub(crate) area_m2: Option<f64>,
    /// Pressure from its weights in pascals (default "gas.store_pressure_mbar").
    pub(crate) pressure_pa: Option<f64>,
}

/// A film.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Film")]
pub(crate) enum RawFilm {
    /// Low-density polyethylene.
    Ldpe,
    /// High-density polyethylene.
    Hdpe,
    /// PVC with softener.
    SoftPvc,
    /// PVC without.
    RigidPvc,
    /// Natural rubber.
    NaturalRubber,
    /// Butyl rubber.
    Butyl,
    /// EPDM rubber.
    Epdm,
    /// PET.
    Pet,
}

/// Something that uses gas: exactly one of the three.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schemars(rename = "Appliance")]
pub(crate) enum RawAppliance {
    /// A burner under a pot.
    Burner(RawBurner),
    /// A gas lamp.
    Lamp(RawLamp),
    /// An engine with generator.
    Engine(RawEngine),
}

/// A burner.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Burner")]
pub(crate) struct RawBurner {
    /// Gas at full flame in kilowatts, lower heating value.
    pub(crate) power_kw: Option<f64>,
    /// Share that reaches the pot, 0 to 1.
    pub(crate) efficiency: Option<f64>,
}

/// A lamp.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Lamp")]
pub(crate) struct RawLamp {
    /// Gas in kilowatts, lower heating value.
    pub(crate) power_kw: Option<f64>,
}

/// An engine with generator.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Engine")]
pub(crate) struct RawEngine {
    /// Kind (default "piston").
    pub(crate) kind: Option<RawEngineKind>,
    /// Current on its plate in kilowatts.
    #[schemars(required)]
    pub(crate) rated_kw: Option<f64>,
    /// Current from gas at full load on gas without carbon dioxide, 0 to 0.4.
    pub(crate) electric_efficiency: Option<f64>,
    /// Gas at idle as a share of that at full load.
    pub(crate) idle_share: Option<f64>,
    /// Share of the gas that is recovered as heat.
    pub(crate) heat_share: Option<f64>,
    /// Relative loss of efficiency per share of carbon dioxide.
    pub(crate) loss_per_co2: Option<f64>,
    /// Loss of power on methane against the plate.
    pub(crate) power_loss_ch4: Option<f64>,
    /// Further loss of power per share of carbon dioxide.
    pub(crate) power_loss_per_co2: Option<f64>,
    /// Share of carbon dioxide above which it does not run.
    pub(crate) co2_limit: Option<f64>,
    /// Hydrogen sulphide above which it suffers, in parts per million.
    pub(crate) h2s_limit_ppm: Option<f64>,
}

/// Kind of engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "EngineKind")]
pub(crate) enum RawEngineKind {
    /// Piston engine with spark ignition.
    Piston,
    /// Combustion outside the cylinder.
    External,
}

/// One line of the timetable.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Demand")]
pub(crate) struct RawDemand {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Name of the appliance.
    #[schemars(required)]
    pub(crate) appliance: Option<String>,
    /// Days of the week, such as ["sat", "sun"] (default daily).
    pub(crate) weekdays: Option<Vec<RawWeekday>>,
    /// Months, by number or name, such as [6, 7, 8] or ["june", "july"] (default all); needs "start_date".
    #[schemars(with = "Option<Vec<RawMonth>>")]
    pub(crate) months: Option<Vec<Value>>,
    /// Hour at which it begins: 18.5 is half past six.
    #[schemars(required)]
    pub(crate) from_h: Option<f64>,
    /// How long it lasts in hours; it may run past midnight.
    #[schemars(required)]
    pub(crate) hours: Option<f64>,
    /// Share of full power (default 1).
    pub(crate) load_share: Option<f64>,
    /// Who is served first when gas is short: 1 before 2 (default 1).
    pub(crate) priority: Option<f64>,
}

/// A day of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "Weekday")]
pub(crate) enum RawWeekday {
    /// Every day.
    Daily,
    /// Monday.
    Mon,
    /// Tuesday.
    Tue,
    /// Wednesday.
    Wed,
    /// Thursday.
    Thu,
    /// Friday.
    Fri,
    /// Saturday.
    Sat,
    /// Sunday.
    Sun,
}

/// A flare.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Flare")]
pub(crate) struct RawFlare {
    /// Gas that it can burn in kilowatts, lower heating value.
    pub(crate) power_kw: Option<f64>,
}

/// Pipes, beds and store.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Line")]
pub(crate) struct RawLine {
    /// Their temperature in degrees Celsius (default that of the air where "climate" is given, else
    /// "gas.reading_temperature_c").
    pub(crate) temperature_c: Option<f64>,
}

/// Where the residue goes.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "ResidueStore")]
pub(crate) struct RawResidue {
    /// Whether its store is gas-tight and the gas is used (default false).
    pub(crate) store_closed: Option<bool>,
    /// Temperature of its store in degrees Celsius (default the mean of the line).
    pub(crate) store_c: Option<f64>,
    /// Nitrogen that a square metre may get in a year in grams.
    pub(crate) rate_g_n_m2_yr: Option<f64>,
    /// Share of the remaining methane that comes out in an open, warm store.
    pub(crate) continues_share: Option<f64>,
}
