//! The file of a wish as it stands: nothing is checked here but names and kinds. Ranges of its numbers stand beside it.

use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;

use super::climate::RawClimate;
use super::month::RawMonth;
use crate::scenario::limits::{KG, Limit};

pub(crate) const UNIT_L: Limit = Limit::new(
    20.0,
    50_000.0,
    "L",
    "It is the whole volume of one vessel that you can get.",
);
pub(crate) const UNITS: Limit = Limit::whole(1.0, 20.0, "", "It is a number of vessels.");
pub(crate) const FOAM_CM: Limit = Limit::new(0.0, 50.0, "cm", "It is the thickness of insulation.");
pub(crate) const BURIED_CM: Limit = Limit::new(0.0, 500.0, "cm", "It is how deep you would dig.");
pub(crate) const SET_C: Limit = Limit::new(
    15.0,
    45.0,
    "C",
    "A thermostat of a home digester stands between 15 and 45 C.",
);
pub(crate) const WATER: Limit =
    Limit::new(0.0, 1e5, "L a day", "It is the water that you can carry.");
pub(crate) const HOURS: Limit = Limit::new(
    0.01,
    1000.0,
    "h a day",
    "It is the time that all burners together run in a day.",
);
pub(crate) const KWH: Limit = Limit::new(0.1, 1e6, "kWh", "It is the energy of a whole winter.");
pub(crate) const TREAT: Limit =
    Limit::new(0.01, 1e5, "kg a day", "It is fresh weight without water.");
pub(crate) const CHANCE: Limit = Limit::new(
    50.0,
    99.0,
    "%",
    "It is how sure you want to be; nothing here is certain.",
);
pub(crate) const IDLE: Limit = Limit::new(
    1.0,
    168.0,
    "h",
    "It is the longest time without any use, up to a week.",
);

/// What there is, where, what is wished for and what can be built: for `marshgas size`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Wish")]
pub(crate) struct RawWish {
    /// Address of this description, for editors; nothing else reads it.
    #[serde(rename = "$schema")]
    #[allow(dead_code, reason = "accepted for editors, not used")]
    schema: Option<String>,
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    about: Option<String>,
    /// Short name of the wish (default "A wish").
    pub(crate) title: Option<String>,
    /// Where the plant stands: the name of an invented climate (`marshgas size --climates`), or a group as in a scenario
    /// with "wave" or "constant_c" for the air.
    #[schemars(required, with = "Option<NameOrClimate>")]
    pub(crate) climate: Option<Value>,
    /// What there is to feed.
    #[schemars(required)]
    pub(crate) scraps: Option<Vec<RawScrap>>,
    /// What it is for: exactly one of "burner_hours_per_day", "winter_kwh" and "treat_kg_per_day".
    #[schemars(required)]
    pub(crate) target: Option<RawTarget>,
    /// Share of the draws of what is not known that must reach the target, in per cent (default 75).
    #[schemars(range(min = CHANCE.low, max = CHANCE.high))]
    pub(crate) chance_pct: Option<f64>,
    /// Longest time without any use of gas in hours (default 14); the store is sized by it.
    #[schemars(range(min = IDLE.low, max = IDLE.high))]
    pub(crate) hours_without_use: Option<f64>,
    /// What can be built.
    pub(crate) builder: Option<RawBuilder>,
}

/// Name of a climate, or a climate.
#[derive(JsonSchema)]
#[serde(untagged)]
#[allow(dead_code, reason = "only its description is used")]
enum NameOrClimate {
    /// Name of an invented climate.
    Name(String),
    /// A climate as in a scenario.
    Given(Box<RawClimate>),
}

/// A material that is there.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Scrap")]
pub(crate) struct RawScrap {
    /// Name of a material of the library; `marshgas feedstocks` lists them.
    #[schemars(required)]
    pub(crate) material: Option<String>,
    /// Kilograms a day: one number, or twelve from January to December.
    #[schemars(required, with = "Option<OneOrTwelve>")]
    pub(crate) kg_per_day: Option<Value>,
}

/// One number for the year, or one for each month.
#[derive(JsonSchema)]
#[serde(untagged)]
#[allow(dead_code, reason = "only its description is used")]
enum OneOrTwelve {
    /// The same all year.
    One(#[schemars(range(min = KG.low, max = KG.high))] f64),
    /// From January to December.
    Twelve(#[schemars(length(equal = 12), inner(range(min = KG.low, max = KG.high)))] Vec<f64>),
}

/// What the plant is for.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Target")]
pub(crate) struct RawTarget {
    /// Hours of one burner a day in the mean of each month that counts; two burners of an hour are two hours.
    #[schemars(range(min = HOURS.low, max = HOURS.high))]
    pub(crate) burner_hours_per_day: Option<f64>,
    /// Energy over the three coldest months in kilowatt-hours.
    #[schemars(range(min = KWH.low, max = KWH.high))]
    pub(crate) winter_kwh: Option<f64>,
    /// What that energy is: needed with "winter_kwh".
    pub(crate) winter_as: Option<RawAs>,
    /// Fresh material to take in, in each month that counts, in kilograms a day.
    #[schemars(range(min = TREAT.low, max = TREAT.high))]
    pub(crate) treat_kg_per_day: Option<f64>,
    /// Months that count, by number or name, such as [5, 6, 7] or ["may", "june"] (default all); not with "winter_kwh".
    #[schemars(with = "Option<Vec<RawMonth>>")]
    pub(crate) months: Option<Vec<Value>>,
}

/// What the energy of a winter is.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "WinterAs")]
pub(crate) enum RawAs {
    /// Useful heat.
    Heat,
    /// Current of a small engine.
    Current,
}

/// What can be built.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Builder")]
pub(crate) struct RawBuilder {
    /// Whole volumes of one vessel that you can get in litres (default 200 and 1000), up to six.
    #[schemars(inner(range(min = UNIT_L.low, max = UNIT_L.high)))]
    pub(crate) unit_sizes_l: Option<Vec<f64>>,
    /// Most vessels (default 4).
    #[schemars(range(min = UNITS.low, max = UNITS.high))]
    pub(crate) most_units: Option<f64>,
    /// How several vessels stand (default "either").
    pub(crate) arrangement: Option<RawArrangement>,
    /// Thicknesses of foam in centimetres (default 0, 5 and 10), up to six.
    #[schemars(inner(range(min = FOAM_CM.low, max = FOAM_CM.high)))]
    pub(crate) foam_cm: Option<Vec<f64>>,
    /// What may catch the sun (default all three): nothing, a dark glazed window in one side, or a small greenhouse of
    /// film over each vessel.
    pub(crate) sun: Option<Vec<RawSunChoice>>,
    /// How deep the bottom may lie below the ground in centimetres (default 0 and 50), up to six; 0 stands on a pallet.
    #[schemars(inner(range(min = BURIED_CM.low, max = BURIED_CM.high)))]
    pub(crate) buried_cm: Option<Vec<f64>>,
    /// Whether a plant may rest in the months that the wish leaves out, unfed and with its heater off (default true), in
    /// winter or in summer. It then begins again one to three months before the wish counts; fewer than three months in a
    /// row are no rest.
    pub(crate) pause: Option<bool>,
    /// What may heat it (default "own-gas"). Unheated plants are always tried too.
    pub(crate) heater: Option<RawHeaterChoice>,
    /// Set points of the thermostat in degrees Celsius (default 25, 30 and 35), up to six; not without a heater.
    #[schemars(inner(range(min = SET_C.low, max = SET_C.high)))]
    pub(crate) set_c: Option<Vec<f64>>,
    /// Most water that can be carried in litres a day (default no limit).
    #[schemars(range(min = WATER.low, max = WATER.high))]
    pub(crate) water_l_per_day: Option<f64>,
}

/// How several vessels stand.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Arrangement")]
pub(crate) enum RawArrangement {
    /// Whatever suits.
    Either,
    /// Each fed by itself.
    Parallel,
    /// The overflow of one feeds the next.
    Row,
}

/// What may catch the sun.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "SunChoice")]
pub(crate) enum RawSunChoice {
    /// Nothing: foam or bare wall all round.
    None,
    /// A dark window behind a pane in one side, without foam.
    Window,
    /// A small greenhouse of film over each vessel.
    Greenhouse,
}

/// What may heat it.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "HeaterChoice")]
pub(crate) enum RawHeaterChoice {
    /// Nothing.
    None,
    /// A boiler on the own gas.
    OwnGas,
    /// Bought heat.
    Mains,
}
