//! Weather of the place.

use schemars::JsonSchema;
use serde::Deserialize;

use super::vessel::{RawPoint, RawWave};
use crate::scenario::limits::{DAY_OF_YEAR, HOTTEST_DAY, SWING_K};
use crate::scenario::limits_heat::{AIR_C, DIFFUSIVITY, LATITUDE_DEG, SOIL_C, SUN_KWH, WIND};

/// Weather of the place: needed where a vessel's temperature follows a heat balance.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Climate")]
pub(crate) struct RawClimate {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Course of the outdoor air.
    #[schemars(required)]
    pub(crate) air: Option<RawAir>,
    /// Sun on the level (default none).
    pub(crate) sun: Option<RawSun>,
    /// Latitude in degrees, negative in the south; what an upright sunny face gets of the sun hangs on it.
    #[schemars(range(min = LATITUDE_DEG.low, max = LATITUDE_DEG.high))]
    pub(crate) latitude_deg: Option<f64>,
    /// Wind at the vessel in metres per second (default 2).
    #[schemars(range(min = WIND.low, max = WIND.high))]
    pub(crate) wind_m_per_s: Option<f64>,
    /// The soil (default: mean and yearly wave of the air).
    pub(crate) soil: Option<RawSoil>,
}

/// Course of the outdoor air: exactly one of the four.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schemars(rename = "Air")]
pub(crate) enum RawAir {
    /// The same all the time, in degrees Celsius.
    ConstantC(#[schemars(range(min = AIR_C.low, max = AIR_C.high))] f64),
    /// A yearly wave and a daily wave about a mean.
    Wave(RawWave),
    /// Points of time with straight lines between them.
    Points(Vec<RawPoint>),
    /// Hours or days from a CSV file.
    Table(RawWeatherTable),
}

/// A CSV file with the columns "day" or "date", "air_c", and where you have them "hour", "sun_w_per_m2" or
/// "sun_kwh_per_m2_d", and "wind_m_per_s". Without "hour", rows of whole days stand for the middle of their day.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "WeatherTable")]
pub(crate) struct RawWeatherTable {
    /// File name, counted from the folder of the scenario.
    #[schemars(required)]
    pub(crate) file: Option<String>,
}

/// Sun on the level.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Sun")]
pub(crate) struct RawSun {
    /// Mean over the year in kWh per square metre and day.
    #[schemars(required, range(min = SUN_KWH.low, max = SUN_KWH.high))]
    pub(crate) mean_kwh_per_m2_d: Option<f64>,
    /// How far the brightest day lies above the mean, in kWh per square metre (default 0).
    #[schemars(range(min = SUN_KWH.low, max = SUN_KWH.high))]
    pub(crate) yearly_swing_kwh_per_m2_d: Option<f64>,
    /// The brightest day, counted from 1 January (default 172, the northern solstice; south of the equator 355); needs
    /// "start_date".
    #[schemars(range(min = DAY_OF_YEAR.low, max = DAY_OF_YEAR.high))]
    pub(crate) brightest_day_of_year: Option<f64>,
    /// The brightest day, counted from the start of the run, in place of the day of the year.
    #[schemars(range(min = HOTTEST_DAY.low, max = HOTTEST_DAY.high))]
    pub(crate) brightest_day: Option<f64>,
}

/// The soil.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Soil")]
pub(crate) struct RawSoil {
    /// Mean over the year in degrees Celsius (default that of the air).
    #[schemars(range(min = SOIL_C.low, max = SOIL_C.high))]
    pub(crate) mean_c: Option<f64>,
    /// How far the warmest day of the surface lies above the mean, in kelvin (default that of the air).
    #[schemars(range(min = SWING_K.low, max = SWING_K.high))]
    pub(crate) yearly_swing_k: Option<f64>,
    /// The warmest day of the surface, counted from 1 January (1); needs "start_date" (default that of the air).
    #[schemars(range(min = DAY_OF_YEAR.low, max = DAY_OF_YEAR.high))]
    pub(crate) hottest_day_of_year: Option<f64>,
    /// The same as a day of the run (0 is the first).
    #[schemars(range(min = HOTTEST_DAY.low, max = HOTTEST_DAY.high))]
    pub(crate) hottest_day: Option<f64>,
    /// How fast warmth goes into it, in square millimetres per second (default 0.6, moist soil).
    #[schemars(range(min = DIFFUSIVITY.low, max = DIFFUSIVITY.high))]
    pub(crate) diffusivity_mm2_per_s: Option<f64>,
}
