//! What each few centimetres of insulation are worth: the same scenario run again with other thicknesses.

use std::path::Path;

use serde::Serialize;
use serde_json::{Value, json};

use crate::scenario::{self, Problems};
use crate::simulate::{self, HeatDay, HeaterSource, Outcome, RunFailure};

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
    /// Methane's energy less own gas burnt for heat \[kWh/d\].
    pub left_kwh_d: f64,
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

/// Runs a checked scenario with each thickness on all its vessels that keep a heat balance; `foam_top_cm` and
/// `foam_bottom_cm` stay as they are where the scenario sets them. `progress` is called with the share done.
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

fn row(foam_cm: f64, outcome: &Outcome) -> FoamRow {
    let days = f64::from(outcome.days);
    let heats = || outcome.vessels.iter().filter_map(|v| v.heat.as_ref());
    let liquor = || {
        heats()
            .next()
            .map(|h| h.days.as_slice())
            .unwrap_or_default()
    };
    let methane = |d: &HeatDay| d.methane_kwh;
    let sum = |own_only: bool| -> f64 {
        heats()
            .filter(|h| !own_only || h.source == Some(HeaterSource::OwnGas))
            .flat_map(|h| &h.days)
            .map(|d| d.fuel_kwh)
            .sum()
    };
    let ch4_nl: f64 = outcome.plant.iter().map(|r| r.ch4_nl).sum();
    // Per norm litre the energy is the same in every vessel.
    let (known_kwh, known_nl) = outcome
        .vessels
        .iter()
        .filter_map(|v| Some((v.heat.as_ref()?, v)))
        .fold((0.0, 0.0), |(kwh, nl), (h, v)| {
            (
                kwh + h.days.iter().map(methane).sum::<f64>(),
                nl + v.days.iter().map(|r| r.ch4_nl).sum::<f64>(),
            )
        });
    let methane_kwh = if known_nl > 0.0 {
        known_kwh * ch4_nl / known_nl
    } else {
        0.0
    };
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
        left_kwh_d: (methane_kwh - sum(true)) / days,
    }
}
