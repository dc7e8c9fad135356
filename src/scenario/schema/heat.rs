//! Heat balance of a vessel.

use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;

use super::month::RawMonth;

use crate::scenario::limits_heat::{
    AREA_M2, BAND_K, DEPTH_CM, EFFICIENCY_PCT, FEED_C, FOAM_CM, POWER_W, SET_C, SHARE_PCT, SIZE_CM,
    SOIL_CONDUCTS, START_C, U_VALUE, WALL_MM,
};

/// The temperature follows walls, ground, sun, feed and heater; needs "climate" at the top of the scenario.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Heat")]
pub(crate) struct RawHeat {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Temperature of the liquor on day 0 in degrees Celsius.
    #[schemars(required, range(min = START_C.low, max = START_C.high))]
    pub(crate) start_c: Option<f64>,
    /// Outer shape of the vessel.
    #[schemars(required)]
    pub(crate) shape: Option<RawShape>,
    /// What the wall is made of (default "plastic").
    pub(crate) wall: Option<RawWall>,
    /// Thickness of the wall in millimetres (default 4).
    #[schemars(range(min = WALL_MM.low, max = WALL_MM.high))]
    pub(crate) wall_mm: Option<f64>,
    /// Insulation (default "eps").
    pub(crate) foam: Option<RawFoam>,
    /// Thickness of the insulation on all faces in centimetres (default 0: bare).
    #[schemars(range(min = FOAM_CM.low, max = FOAM_CM.high))]
    pub(crate) foam_cm: Option<f64>,
    /// Thickness on the top, where it differs.
    #[schemars(range(min = FOAM_CM.low, max = FOAM_CM.high))]
    pub(crate) foam_top_cm: Option<f64>,
    /// Thickness under the bottom, where it differs.
    #[schemars(range(min = FOAM_CM.low, max = FOAM_CM.high))]
    pub(crate) foam_bottom_cm: Option<f64>,
    /// Whether it stands on the ground (default) or free of it.
    pub(crate) stands_on: Option<RawStandsOn>,
    /// How deep its bottom lies below the ground in centimetres (default 0).
    #[schemars(range(min = DEPTH_CM.low, max = DEPTH_CM.high))]
    pub(crate) buried_cm: Option<f64>,
    /// Conductivity of the soil it stands on in W/m/K (default 1, moist soil).
    #[schemars(range(min = SOIL_CONDUCTS.low, max = SOIL_CONDUCTS.high))]
    pub(crate) soil_w_per_m_k: Option<f64>,
    /// What a buried face passes to the soil around it in W/m2/K, wall and foam left out (default 1.25; a shallow warm
    /// bag showed 3 to 5).
    #[schemars(range(min = U_VALUE.low, max = U_VALUE.high))]
    pub(crate) soil_contact_w_per_m2_k: Option<f64>,
    /// Sun on one face (default none).
    pub(crate) sun: Option<RawSunnyFace>,
    /// A small greenhouse over it (default none).
    pub(crate) greenhouse: Option<RawGreenhouse>,
    /// Temperature of what is fed in degrees Celsius (default that of the air at the time, at least 1).
    #[schemars(range(min = FEED_C.low, max = FEED_C.high))]
    pub(crate) feed_c: Option<f64>,
    /// A heater with a thermostat (default none).
    pub(crate) heater: Option<RawHeater>,
}

/// Outer shape of a vessel: exactly one of the four.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schemars(rename = "Shape")]
pub(crate) enum RawShape {
    /// An upright drum.
    Drum(RawDrum),
    /// A box.
    Tote(RawTote),
    /// A lying tube.
    Bag(RawBag),
    /// Your own list of surfaces.
    Surfaces(Vec<RawSurface>),
}

/// An upright drum.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Drum")]
pub(crate) struct RawDrum {
    /// In centimetres.
    #[schemars(required, range(min = SIZE_CM.low, max = SIZE_CM.high))]
    pub(crate) diameter_cm: Option<f64>,
    /// In centimetres.
    #[schemars(required, range(min = SIZE_CM.low, max = SIZE_CM.high))]
    pub(crate) height_cm: Option<f64>,
}

/// A box.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Tote")]
pub(crate) struct RawTote {
    /// In centimetres.
    #[schemars(required, range(min = SIZE_CM.low, max = SIZE_CM.high))]
    pub(crate) length_cm: Option<f64>,
    /// In centimetres.
    #[schemars(required, range(min = SIZE_CM.low, max = SIZE_CM.high))]
    pub(crate) width_cm: Option<f64>,
    /// In centimetres.
    #[schemars(required, range(min = SIZE_CM.low, max = SIZE_CM.high))]
    pub(crate) height_cm: Option<f64>,
}

/// A lying tube.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Bag")]
pub(crate) struct RawBag {
    /// In centimetres.
    #[schemars(required, range(min = SIZE_CM.low, max = SIZE_CM.high))]
    pub(crate) length_cm: Option<f64>,
    /// In centimetres.
    #[schemars(required, range(min = SIZE_CM.low, max = SIZE_CM.high))]
    pub(crate) diameter_cm: Option<f64>,
}

/// A surface of your own.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Surface")]
pub(crate) struct RawSurface {
    /// Name for people.
    pub(crate) name: Option<String>,
    /// In square metres.
    #[schemars(required, range(min = AREA_M2.low, max = AREA_M2.high))]
    pub(crate) area_m2: Option<f64>,
    /// What lies outside (default "air").
    pub(crate) meets: Option<RawMeets>,
    /// Depth of its middle below the ground in centimetres; only with "ground".
    #[schemars(range(min = DEPTH_CM.low, max = DEPTH_CM.high))]
    pub(crate) depth_cm: Option<f64>,
    /// Its U-value in W/m2/K, films included, in place of wall and foam.
    #[schemars(range(min = U_VALUE.low, max = U_VALUE.high))]
    pub(crate) u_w_per_m2_k: Option<f64>,
    /// Thickness of the insulation in centimetres (default that of the vessel).
    #[schemars(range(min = FOAM_CM.low, max = FOAM_CM.high))]
    pub(crate) foam_cm: Option<f64>,
}

/// What lies outside a surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "Meets")]
pub(crate) enum RawMeets {
    /// Outdoor air.
    Air,
    /// Soil.
    Ground,
}

/// What an unburied vessel stands on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "StandsOn")]
pub(crate) enum RawStandsOn {
    /// The soil.
    Ground,
    /// A pallet or legs, with air below.
    Air,
}

/// What a wall is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "Wall")]
pub(crate) enum RawWall {
    /// Polyethylene and the like.
    Plastic,
    /// Steel.
    Steel,
    /// Concrete or masonry.
    Concrete,
}

/// Insulation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Foam")]
pub(crate) enum RawFoam {
    /// Expanded polystyrene.
    Eps,
    /// Extruded polystyrene.
    Xps,
    /// Polyurethane.
    Pur,
    /// Glass wool, kept dry.
    GlassWool,
    /// Straw, kept dry.
    Straw,
}

/// Sun on one face.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "SunnyFace")]
pub(crate) struct RawSunnyFace {
    /// Area as the sun sees it in square metres.
    #[schemars(required, range(min = AREA_M2.low, max = AREA_M2.high))]
    pub(crate) area_m2: Option<f64>,
    /// Share of the sun that its colour takes in per cent (default 90, black; green 65, white 30).
    #[schemars(range(min = SHARE_PCT.low, max = SHARE_PCT.high))]
    pub(crate) absorbs_pct: Option<f64>,
    /// Whether it stands upright, towards the equator: the sun on it then follows the season by "climate.latitude_deg"
    /// (default false: the sun on level ground falls on its area).
    pub(crate) upright: Option<bool>,
    /// Whether a pane or film with a gap of air lies before it (default false).
    pub(crate) glazed: Option<bool>,
    /// Share of the sun that the pane lets through in per cent (default 80); only with "glazed".
    #[schemars(range(min = SHARE_PCT.low, max = SHARE_PCT.high))]
    pub(crate) passes_pct: Option<f64>,
    /// Thickness of the insulation behind it in centimetres (default that of the vessel).
    #[schemars(range(min = FOAM_CM.low, max = FOAM_CM.high))]
    pub(crate) foam_cm: Option<f64>,
}

/// A small greenhouse.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Greenhouse")]
pub(crate) struct RawGreenhouse {
    /// Area of film or glass in square metres.
    #[schemars(required, range(min = AREA_M2.low, max = AREA_M2.high))]
    pub(crate) cover_m2: Option<f64>,
    /// Its U-value in W/m2/K (default 6.5, one film).
    #[schemars(range(min = U_VALUE.low, max = U_VALUE.high))]
    pub(crate) cover_w_per_m2_k: Option<f64>,
    /// Floor beside the vessel that the sun reaches in square metres.
    #[schemars(required, range(min = 0.0, max = AREA_M2.high))]
    pub(crate) floor_m2: Option<f64>,
    /// Share of the sun that this floor gives to the air in per cent (default 60).
    #[schemars(range(min = SHARE_PCT.low, max = SHARE_PCT.high))]
    pub(crate) floor_absorbs_pct: Option<f64>,
    /// Share of the sun that the cover lets through in per cent (default 80).
    #[schemars(range(min = SHARE_PCT.low, max = SHARE_PCT.high))]
    pub(crate) passes_pct: Option<f64>,
}

/// A heater with a thermostat.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Heater")]
pub(crate) struct RawHeater {
    /// Most heat to the liquor in watts.
    #[schemars(required, range(min = POWER_W.low, max = POWER_W.high))]
    pub(crate) power_w: Option<f64>,
    /// Temperature at which it gives half its power, in degrees Celsius.
    #[schemars(required, range(min = SET_C.low, max = SET_C.high))]
    pub(crate) set_c: Option<f64>,
    /// Width of the thermostat's band in kelvin (default 1).
    #[schemars(range(min = BAND_K.low, max = BAND_K.high))]
    pub(crate) band_k: Option<f64>,
    /// Where the heat comes from.
    #[schemars(required)]
    pub(crate) source: Option<RawHeatSource>,
    /// Share of the gas's energy that reaches the liquor in per cent (default 80); only with "own-gas".
    #[schemars(range(min = EFFICIENCY_PCT.low, max = EFFICIENCY_PCT.high))]
    pub(crate) efficiency_pct: Option<f64>,
    /// Months in which it is on, by number or name, such as [3, 4, 5] or ["march", "april"] (default all). It comes on
    /// over the first day of a month and goes off over the first day of the next; needs "start_date".
    #[schemars(with = "Option<Vec<RawMonth>>")]
    pub(crate) months: Option<Vec<Value>>,
}

/// Where a heater takes its heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "HeatSource")]
pub(crate) enum RawHeatSource {
    /// A boiler that burns the digester's own gas.
    OwnGas,
    /// Electricity or bought fuel.
    Mains,
    /// Waste heat of an engine.
    EngineWaste,
}
