//! What each few centimetres of insulation are worth: the same scenario run again with other thicknesses.

use std::path::Path;

use serde::Serialize;
use serde_json::{Value, json};

use crate::scenario::{self, Problems};
use crate::simulate::{self, HeaterSource, Outcome, RunFailure};
use crate::thermal::METHANE_KWH_PER_NORM_L;

/// Thicknesses that are tried \[cm\].
pub const THICKNESSES_CM: [f64; 4] = [0.0, 5.0, 10.0, 15.0];

/// One thickness.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FoamRow {
    /// Insulation \[cm\].
    pub foam_cm: f64,
    /// Mean temperature of the liquor over the run, first vessel with a heat balance \[C\].
    pub mean_c: f64,
    /// Coldest day of that vessel \[C\].
    pub coldest_c: f64,
    /// Methane that left for the store \[norm litres/d, mean of the run\].
    pub ch4_nl_d: f64,
    /// Its energy, lower heating value \[kWh/d\].
    pub methane_kwh_d: f64,
    /// What the heaters took of it or from outside \[kWh/d\].
    pub fuel_kwh_d: f64,
    /// Methane's energy less own gas burnt for heat \[kWh/d\]; negative where the boiler asks for more than there is.
    pub left_kwh_d: f64,
    /// Whether the gas suffices for its boiler over the run; where not, the row's temperature cannot be held and its gas
    /// never exists.
    pub held: bool,
}

impl FoamRow {
    /// Gas that is there to use \[kWh/d\]: none where the boiler asks for more than there is.
    #[must_use]
    pub fn usable_kwh_d(&self) -> f64 {
        self.left_kwh_d.max(0.0)
    }
}

/// Why the study failed.
#[derive(Debug, thiserror::Error)]
pub enum FoamFailure {
    /// No vessel has a heat balance.
    #[error(
        "no vessel of this scenario follows a heat balance, so foam changes nothing: give one \"temperature\": {{ \
         \"heat\": {{ ... }} }} and the scenario a \"climate\""
    )]
    NoHeat,
    /// A thickness makes the scenario unfit.
    #[error("{0}")]
    Scenario(#[from] Problems),
    /// A run failed.
    #[error("with {foam_cm} cm of foam: {failure}")]
    Run {
        /// Thickness \[cm\].
        foam_cm: f64,
        /// What happened.
        failure: RunFailure,
    },
}

/// Runs a checked scenario with each thickness on all its vessels that keep a heat balance; what has an insulation of
/// its own keeps it, see [`kept`]. `progress` is called with the share done.
///
/// # Errors
/// [`FoamFailure`].
pub fn foam(
    scenario: &Value,
    label: &str,
    folder: Option<&Path>,
    progress: &mut dyn FnMut(f64),
) -> Result<Vec<FoamRow>, FoamFailure> {
    let count = THICKNESSES_CM.len() as f64;
    let mut rows = Vec::new();
    for (i, foam_cm) in THICKNESSES_CM.into_iter().enumerate() {
        let with_foam = with_foam(scenario, foam_cm).ok_or(FoamFailure::NoHeat)?;
        let loaded = scenario::from_value(&with_foam, label, folder)?;
        let outcome = simulate::run(&loaded.case, &mut |share| {
            progress((i as f64 + share) / count)
        })
        .map_err(|failure| FoamFailure::Run { foam_cm, failure })?;
        rows.push(row(foam_cm, &outcome));
    }
    Ok(rows)
}

/// The scenario with another thickness; `None` where no vessel keeps a heat balance.
fn with_foam(scenario: &Value, foam_cm: f64) -> Option<Value> {
    let mut scenario = scenario.clone();
    let mut found = false;
    for vessel in scenario.get_mut("vessels")?.as_array_mut()? {
        let heat = vessel
            .get_mut("temperature")
            .and_then(|t| t.get_mut("heat"))
            .and_then(Value::as_object_mut);
        if let Some(heat) = heat {
            heat.insert("foam_cm".to_owned(), json!(foam_cm));
            found = true;
        }
    }
    found.then_some(scenario)
}

/// What keeps its own insulation whatever is tried, by vessel, in words; empty where the thickness reaches all faces.
#[must_use]
pub fn kept(scenario: &Value) -> Vec<String> {
    let vessels = scenario.get("vessels").and_then(Value::as_array);
    let heats = vessels.into_iter().flatten().filter_map(|vessel| {
        let name = vessel.get("name").and_then(Value::as_str);
        Some((name, vessel.get("temperature")?.get("heat")?))
    });
    let mut out = Vec::new();
    for (name, heat) in heats {
        let name = name.unwrap_or("the vessel");
        let has = |part: &Value, key: &str| part.get(key).is_some_and(|v| !v.is_null());
        for (key, words) in [("foam_top_cm", "top"), ("foam_bottom_cm", "bottom")] {
            if has(heat, key) {
                out.push(format!("the {words} of {name}"));
            }
        }
        if heat.get("sun").is_some_and(|sun| has(sun, "foam_cm")) {
            out.push(format!("the sunny face of {name}"));
        }
        let surfaces = heat
            .get("shape")
            .and_then(|shape| shape.get("surfaces"))
            .and_then(Value::as_array);
        for (i, surface) in surfaces.into_iter().flatten().enumerate() {
            if has(surface, "u_w_per_m2_k") || has(surface, "foam_cm") {
                let own = surface.get("name").and_then(Value::as_str);
                let own = own.map_or_else(|| format!("surface {}", i + 1), str::to_owned);
                out.push(format!("{own} of {name}"));
            }
        }
    }
    out
}

fn row(foam_cm: f64, outcome: &Outcome) -> FoamRow {
    let days = f64::from(outcome.days);
    let heats = || outcome.vessels.iter().filter_map(|v| v.heat.as_ref());
    let liquor = || {
        heats()
            .next()
            .map(|h| h.days.as_slice())
            .unwrap_or_default()
    };
    let sum = |own_only: bool| -> f64 {
        heats()
            .filter(|h| !own_only || h.source == Some(HeaterSource::OwnGas))
            .flat_map(|h| &h.days)
            .map(|d| d.fuel_kwh)
            .sum()
    };
    let ch4_nl: f64 = outcome.plant.iter().map(|r| r.ch4_nl).sum();
    let methane_kwh = ch4_nl * METHANE_KWH_PER_NORM_L;
    let left_kwh = methane_kwh - sum(true);
    FoamRow {
        foam_cm,
        mean_c: liquor().iter().map(|d| d.liquor_c).sum::<f64>() / days,
        coldest_c: liquor()
            .iter()
            .map(|d| d.liquor_c)
            .fold(f64::INFINITY, f64::min),
        ch4_nl_d: ch4_nl / days,
        methane_kwh_d: methane_kwh / days,
        fuel_kwh_d: sum(false) / days,
        left_kwh_d: left_kwh / days,
        held: left_kwh >= 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_its_own_insulation_is_told() {
        let scenario = json!({"vessels": [
            {"name": "tote", "temperature": {"heat": {
                "foam_cm": 5, "foam_top_cm": 10, "sun": {"area_m2": 1, "foam_cm": 0}
            }}},
            {"name": "pit", "temperature": {"heat": {"shape": {"surfaces": [
                {"name": "lid", "area_m2": 1, "u_w_per_m2_k": 2}, {"area_m2": 1, "foam_cm": 3}, {"area_m2": 1}
            ]}}}},
            {"name": "warm", "temperature": {"constant_c": 30}}
        ]});
        assert_eq!(
            kept(&scenario),
            [
                "the top of tote",
                "the sunny face of tote",
                "lid of pit",
                "surface 2 of pit"
            ]
        );
    }
}
