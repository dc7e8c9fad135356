//! Vessels and their temperature.

use schemars::JsonSchema;
use serde::Deserialize;

use super::heat::RawHeat;
use crate::scenario::limits::{
    DAY_OF_YEAR, GAS_TRANSFER, HEADSPACE_L, HELD_BACK_PCT, HOTTEST_DAY, HOUR, LEAK_L_PER_D,
    LIQUID_L, SHORT_CIRCUIT_PCT, SWING_K, TEMPERATURE_C,
};

/// One vessel.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Vessel")]
pub(crate) struct RawVessel {
    /// Name for people (default "vessel 1" and so on).
    pub(crate) name: Option<String>,
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Liquid up to the outlet's level in litres.
    #[schemars(required, range(min = LIQUID_L.low, max = LIQUID_L.high))]
    pub(crate) liquid_l: Option<f64>,
    /// Gas space above that level in litres; at least a ten-thousandth of the liquid.
    #[schemars(required, range(min = HEADSPACE_L.low, max = HEADSPACE_L.high))]
    pub(crate) headspace_l: Option<f64>,
    /// Course of the liquor's temperature.
    #[schemars(required)]
    pub(crate) temperature: Option<RawTemperature>,
    /// How the liquor is moved (default "daily"); sets how easily gas leaves it.
    pub(crate) stirring: Option<RawStirring>,
    /// Gas transfer coefficient per day, in place of "stirring".
    #[schemars(range(min = GAS_TRANSFER.low, max = GAS_TRANSFER.high))]
    pub(crate) gas_transfer_per_d: Option<f64>,
    /// Share of the particles that the outlet leaves behind, in per cent (default 0).
    #[schemars(range(min = HELD_BACK_PCT.low, max = HELD_BACK_PCT.high))]
    pub(crate) solids_held_back_pct: Option<f64>,
    /// Share of each dose that leaves unmixed, in per cent (default 0).
    #[schemars(range(min = SHORT_CIRCUIT_PCT.low, max = SHORT_CIRCUIT_PCT.high))]
    pub(crate) short_circuit_pct: Option<f64>,
    /// Gas lost through a hole, in litres per day at the store's pressure (default 0).
    #[schemars(range(min = LEAK_L_PER_D.low, max = LEAK_L_PER_D.high))]
    pub(crate) leak_l_per_d: Option<f64>,
}

/// How the liquor is moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "Stirring")]
pub(crate) enum RawStirring {
    /// Never but by feeding.
    None,
    /// Once or twice a day by hand.
    Daily,
    /// All the time.
    Steady,
}

/// Course of a temperature: exactly one of the five.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schemars(rename = "Temperature")]
pub(crate) enum RawTemperature {
    /// The same all the time, in degrees Celsius.
    ConstantC(#[schemars(range(min = TEMPERATURE_C.low, max = TEMPERATURE_C.high))] f64),
    /// A yearly wave and a daily wave about a mean.
    Wave(RawWave),
    /// Points of time with straight lines between them.
    Points(Vec<RawPoint>),
    /// Points of time from a CSV file.
    Table(RawTable),
    /// A heat balance: walls, ground, sun, feed, heater.
    Heat(Box<RawHeat>),
}

/// A yearly wave and a daily wave about a mean.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Wave")]
pub(crate) struct RawWave {
    /// Mean over the year in degrees Celsius.
    #[schemars(required, range(min = TEMPERATURE_C.low, max = TEMPERATURE_C.high))]
    pub(crate) mean_c: Option<f64>,
    /// How far the warmest day lies above the mean, in kelvin (default 0).
    #[schemars(range(min = SWING_K.low, max = SWING_K.high))]
    pub(crate) yearly_swing_k: Option<f64>,
    /// The warmest day, counted from 1 January (1); needs "start_date".
    #[schemars(range(min = DAY_OF_YEAR.low, max = DAY_OF_YEAR.high))]
    pub(crate) hottest_day_of_year: Option<f64>,
    /// The warmest day, counted from the start of the run (0), in place of the day of the year.
    #[schemars(range(min = HOTTEST_DAY.low, max = HOTTEST_DAY.high))]
    pub(crate) hottest_day: Option<f64>,
    /// How far the warmest hour lies above the day's mean, in kelvin (default 0).
    #[schemars(range(min = SWING_K.low, max = SWING_K.high))]
    pub(crate) daily_swing_k: Option<f64>,
    /// The warmest hour of the day (default 15).
    #[schemars(range(min = HOUR.low, max = HOUR.high))]
    pub(crate) hottest_hour: Option<f64>,
}

/// One point of a temperature course.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Point")]
pub(crate) struct RawPoint {
    /// Day of the run, counted from 0; fractions are hours.
    #[schemars(required)]
    pub(crate) day: Option<f64>,
    /// Temperature in degrees Celsius.
    #[schemars(required, range(min = TEMPERATURE_C.low, max = TEMPERATURE_C.high))]
    pub(crate) temperature_c: Option<f64>,
}

/// A CSV file with the columns "day" or "date", and "temperature_c".
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Table")]
pub(crate) struct RawTable {
    /// File name, counted from the folder of the scenario.
    #[schemars(required)]
    pub(crate) file: Option<String>,
}
