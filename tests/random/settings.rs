//! Random gas sides, equations, streams and integrators.

use marshgas::kinetics::{Network, Parameters, adm1, four_stage};
use serde_json::{Map, Value, json};

use crate::dice::Dice;
use crate::draw::optional;
use crate::ranges::range;

pub(crate) fn gas(dice: &mut Dice) -> Value {
    let mut gas = Map::new();
    optional(dice, &mut gas, "Gas", "store_pressure_mbar", 0.5);
    optional(dice, &mut gas, "Gas", "ambient_mbar", 0.5);
    optional(dice, &mut gas, "Gas", "pipe_l_per_d_per_mbar", 0.3);
    optional(dice, &mut gas, "Gas", "reading_temperature_c", 0.5);
    if dice.chance(0.3) {
        gas.insert("flows_back".to_owned(), json!(dice.chance(0.5)));
    }
    Value::Object(gas)
}

fn parameters_of(network: &str) -> Parameters {
    match network {
        "adm1" => Parameters::adm1(),
        _ => Parameters::four_stage(),
    }
}

fn network_of(name: &str) -> Network {
    let parameters = parameters_of(name);
    match name {
        "adm1" => adm1(&parameters).unwrap(),
        _ => four_stage(&parameters).unwrap(),
    }
}

pub(crate) fn model(dice: &mut Dice, network: &str) -> Value {
    let mut model = Map::new();
    model.insert("network".to_owned(), json!(network));
    if dice.chance(0.4) {
        let kind = dice.one_of(&["davies", "ideal"]);
        model.insert("acid_base".to_owned(), json!(kind));
    }
    let share = match dice.below(10) {
        0..=5 => 0.0,
        6..=8 => 0.05,
        _ => 1.0,
    };
    let mut changed = Map::new();
    for parameter in &parameters_of(network).parameters {
        if share == 0.0 || !dice.chance(share) {
            continue;
        }
        // Shares that split a product must fit each other; all at once they stay near their values.
        let value = if share < 1.0 {
            dice.within((parameter.low, parameter.high))
        } else {
            (parameter.value * dice.between(0.9, 1.02)).clamp(parameter.low, parameter.high)
        };
        changed.insert(parameter.name.clone(), json!(value));
    }
    if !changed.is_empty() {
        model.insert("parameters".to_owned(), Value::Object(changed));
    }
    Value::Object(model)
}

pub(crate) fn inflow(dice: &mut Dice, network: &str, liquid_l: f64) -> Value {
    let flow = if dice.chance(0.7) {
        liquid_l * dice.decades(1e-3, 1.0)
    } else {
        dice.within(range("Inflow", "l_per_d"))
    };
    let mut concentrations = Map::new();
    for component in &network_of(network).components {
        if dice.chance(0.3) {
            let value = if dice.chance(0.9) {
                let most = if component.cod > 0.0 { 50.0 } else { 0.3 };
                dice.decades(1e-6, most)
            } else {
                dice.within((0.0, 1000.0))
            };
            concentrations.insert(component.name.to_owned(), json!(value));
        }
    }
    json!({"l_per_d": flow, "concentrations": concentrations})
}

/// The explicit method takes steps of seconds, so it is given no more days of vessels than this.
const EXPLICIT_DAYS: f64 = 20.0;

pub(crate) fn solver(dice: &mut Dice, days: f64, vessels: usize) -> Value {
    let mut solver = Map::new();
    if days < EXPLICIT_DAYS && dice.chance(0.2) {
        if days * (vessels as f64) < EXPLICIT_DAYS {
            solver.insert("method".to_owned(), json!("explicit"));
        }
    } else if dice.chance(0.3) {
        solver.insert("method".to_owned(), json!("implicit"));
    }
    optional(dice, &mut solver, "Solver", "relative_tolerance", 0.9);
    Value::Object(solver)
}
