//! Lines of the feeding plan.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::scenario::limits::{ADDITIVE_G, AMOUNT, DAY, EVERY_DAYS, HOUR, RAMP_DAYS, WATER_L};

/// One line of the feeding plan: exactly one of the four.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schemars(rename = "FeedingLine")]
pub(crate) enum RawFeeding {
    /// A recipe again and again.
    Daily(RawDaily),
    /// A recipe on chosen days or dates.
    On(RawOn),
    /// No daily feeding from a day to a day; chosen days stay.
    Pause(RawPause),
    /// Water or additives alone on chosen days or dates.
    Dose(RawDose),
}

/// A recipe again and again.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Daily")]
pub(crate) struct RawDaily {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Name of the recipe.
    #[schemars(required)]
    pub(crate) recipe: Option<String>,
    /// First day of feeding, counted from 0.
    #[schemars(required, range(min = DAY.low, max = DAY.high))]
    pub(crate) from_day: Option<f64>,
    /// Last day of feeding (default: the last day of the run).
    #[schemars(range(min = DAY.low, max = DAY.high))]
    pub(crate) to_day: Option<f64>,
    /// Days from one feed to the next (default 1).
    #[schemars(range(min = EVERY_DAYS.low, max = EVERY_DAYS.high))]
    pub(crate) every_days: Option<f64>,
    /// Hour of the day (default 8).
    #[schemars(range(min = HOUR.low, max = HOUR.high))]
    pub(crate) hour: Option<f64>,
    /// How many times the recipe (default 1).
    #[schemars(range(min = AMOUNT.low, max = AMOUNT.high))]
    pub(crate) amount: Option<f64>,
    /// An amount that climbs, in place of "amount".
    pub(crate) ramp: Option<RawRamp>,
}

/// An amount that changes evenly and then stays.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Ramp")]
pub(crate) struct RawRamp {
    /// How many times the recipe on the first day.
    #[schemars(required, range(min = AMOUNT.low, max = AMOUNT.high))]
    pub(crate) from: Option<f64>,
    /// How many times the recipe at the end of the ramp and after it.
    #[schemars(required, range(min = AMOUNT.low, max = AMOUNT.high))]
    pub(crate) to: Option<f64>,
    /// How long it takes from the one to the other, in days.
    #[schemars(required, range(min = RAMP_DAYS.low, max = RAMP_DAYS.high))]
    pub(crate) over_days: Option<f64>,
}

/// A recipe on chosen days.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "On")]
pub(crate) struct RawOn {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Name of the recipe.
    #[schemars(required)]
    pub(crate) recipe: Option<String>,
    /// Days, counted from 0.
    pub(crate) days: Option<Vec<f64>>,
    /// Dates, as "2026-05-01"; need "start_date".
    pub(crate) dates: Option<Vec<String>>,
    /// Hour of the day (default 8).
    #[schemars(range(min = HOUR.low, max = HOUR.high))]
    pub(crate) hour: Option<f64>,
    /// How many times the recipe (default 1).
    #[schemars(range(min = AMOUNT.low, max = AMOUNT.high))]
    pub(crate) amount: Option<f64>,
}

/// No daily feeding for a while.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Pause")]
pub(crate) struct RawPause {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// First day without feed, counted from 0.
    #[schemars(required, range(min = DAY.low, max = DAY.high))]
    pub(crate) from_day: Option<f64>,
    /// Last day without feed.
    #[schemars(required, range(min = DAY.low, max = DAY.high))]
    pub(crate) to_day: Option<f64>,
}

/// Water or additives alone.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Dose")]
pub(crate) struct RawDose {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Days, counted from 0.
    pub(crate) days: Option<Vec<f64>>,
    /// Dates, as "2026-05-01"; need "start_date".
    pub(crate) dates: Option<Vec<String>>,
    /// Hour of the day (default 8).
    #[schemars(range(min = HOUR.low, max = HOUR.high))]
    pub(crate) hour: Option<f64>,
    /// Water in litres (default 0).
    #[schemars(range(min = WATER_L.low, max = WATER_L.high))]
    pub(crate) water_l: Option<f64>,
    /// Sodium bicarbonate (baking soda) in grams (default 0).
    #[schemars(range(min = ADDITIVE_G.low, max = ADDITIVE_G.high))]
    pub(crate) bicarbonate_g: Option<f64>,
    /// Slaked lime in grams (default 0).
    #[schemars(range(min = ADDITIVE_G.low, max = ADDITIVE_G.high))]
    pub(crate) lime_g: Option<f64>,
}
