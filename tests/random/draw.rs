//! One random scenario: everything hangs together often enough to run, and any number may be anywhere it is allowed.

use serde_json::{Map, Value, json};

use crate::dice::Dice;
use crate::ranges::{range, temperature};
use crate::{feed, place, plant, settings};

/// Most runs are short so that many can be drawn; some go to the end of the range.
const USUAL_DAYS: f64 = 200.0;
const LONG_SHARE: f64 = 0.01;
/// A number is now and then put outside of its range, which must be refused.
const OUTSIDE_SHARE: f64 = 0.02;

/// The place, the plant and rare keys come from dice of their own, so that a number's digester stays what it was.
const OTHER_DICE: u64 = 0x9e37_79b9;
const CLIMATE_SHARE: f64 = 0.3;
const HEAT_SHARE: f64 = 0.7;
const PLANT_SHARE: f64 = 0.3;

/// What the draws of the parts need to know of each other.
pub(crate) struct Around {
    pub(crate) days: f64,
    pub(crate) dated: bool,
    pub(crate) first_l: f64,
    pub(crate) liquid_l: f64,
    pub(crate) vessels: usize,
}

/// The scenario of a number.
pub(crate) fn scenario(number: u64) -> Value {
    let mut dice = Dice::new(number);
    let dice = &mut dice;
    let long = dice.chance(LONG_SHARE);
    let (shortest, longest) = range("", "days");
    let days = if long {
        dice.whole_within((USUAL_DAYS, longest))
    } else {
        dice.decades(shortest, USUAL_DAYS).round()
    };
    let count = match dice.below(20) {
        0 if !long => 1 + dice.below(50),
        1..=3 => 2 + dice.below(3),
        _ => 1,
    };
    let liquid: Vec<f64> = volumes(dice, count);
    let around = Around {
        days,
        dated: dice.chance(0.3),
        first_l: liquid[0],
        liquid_l: liquid.iter().sum(),
        vessels: count,
    };
    let mut top = Map::new();
    let mut put = |key: &str, value: Value| top.insert(key.to_owned(), value);
    put("title", json!(format!("random {number}")));
    put("about", json!("Drawn at random, not measured."));
    put("days", json!(days));
    if around.dated {
        put("start_date", json!("2026-01-15"));
    }
    let vessels: Vec<Value> = liquid.iter().map(|l| vessel(dice, *l, &around)).collect();
    put("vessels", json!(vessels));
    if dice.chance(0.7) {
        put("gas", settings::gas(dice));
    }
    let own = feed::own_materials(dice);
    put("starter", feed::starter(dice, &around, &own));
    if dice.chance(0.85) {
        let (recipes, lines) = feed::plan(dice, &around, &own);
        put("recipes", recipes);
        put("feeding", lines);
    }
    put("materials", Value::Object(own));
    let network = dice.one_of(&["four-stage", "four-stage", "adm1"]);
    put("model", settings::model(dice, network));
    if (count == 1 && dice.chance(0.08)) || dice.chance(0.002) {
        put("inflow", settings::inflow(dice, network, around.first_l));
    }
    if dice.chance(0.5) {
        put("solver", settings::solver(dice, days, count));
    }
    let mut scenario = Value::Object(top);
    settle(&mut Dice::new(number ^ OTHER_DICE), &mut scenario, &around);
    if dice.chance(OUTSIDE_SHARE) {
        let numbers = marshgas::scenario::list_numbers(&scenario);
        let (path, value) = dice.one_of(&numbers);
        let wild = *dice.one_of(&[-1.0, 0.0, 1e12, 0.5, -value, 1000.0 * value, 1e-300]);
        marshgas::scenario::set_number(&mut scenario, path, wild).unwrap();
    }
    scenario
}

/// Puts a digester into the weather, a plant behind it, and keys that little hangs on.
fn settle(dice: &mut Dice, scenario: &mut Value, around: &Around) {
    if dice.chance(CLIMATE_SHARE) {
        scenario["climate"] = place::climate(dice, around);
        for vessel in scenario["vessels"].as_array_mut().unwrap() {
            if dice.chance(HEAT_SHARE) {
                let part = |key: &str| vessel[key].as_f64().unwrap();
                let litres = part("liquid_l") + part("headspace_l");
                vessel["temperature"] = place::heat(dice, litres);
            }
        }
    }
    if dice.chance(PLANT_SHARE) {
        scenario["plant"] = plant::plant(dice, around.liquid_l);
    }
    for material in scenario["materials"].as_object_mut().unwrap().values_mut() {
        if let Some(like) = material.get_mut("like").and_then(Value::as_object_mut) {
            optional(dice, like, "Like", "degradable_factor", 0.5);
        }
        if let Some(label) = material.get_mut("label_per_100_g")
            && dice.chance(0.2)
        {
            let kcal = dice.between(0.0, 900.0);
            label["energy_kcal"] = json!(kcal);
            label["energy_kj"] = json!(4.184 * kcal);
        }
    }
    if around.dated {
        seasons(dice, scenario);
    }
    if let Some(plant) = scenario.get_mut("plant") {
        plant::more(dice, plant);
    }
    if scenario.get("climate").is_some() {
        place::more(dice, scenario);
    }
}

/// Months for heaters and uses: they need a date.
fn seasons(dice: &mut Dice, scenario: &mut Value) {
    let months = |dice: &mut Dice| -> Value {
        let list = (0..1 + dice.below(4)).map(|_| match dice.below(2) {
            0 => json!(1 + dice.below(12)),
            _ => json!(*dice.one_of(&["january", "may", "Jul", "sep", "december"])),
        });
        list.collect()
    };
    let vessels = scenario["vessels"].as_array_mut();
    for vessel in vessels.into_iter().flatten() {
        if let Some(heater) = vessel.pointer_mut("/temperature/heat/heater")
            && dice.chance(0.4)
        {
            heater["months"] = months(dice);
        }
    }
    let lines = scenario.pointer_mut("/plant/timetable");
    for line in lines.and_then(Value::as_array_mut).into_iter().flatten() {
        if dice.chance(0.3) {
            line["months"] = months(dice);
        }
    }
}

/// Liquid volumes: those of a row are mostly alike.
fn volumes(dice: &mut Dice, count: usize) -> Vec<f64> {
    let any = range("Vessel", "liquid_l");
    let first = if dice.chance(0.5) {
        dice.decades(1.0, 2000.0)
    } else {
        dice.within(any)
    };
    let alike = dice.chance(0.8);
    (0..count)
        .map(|place| match place {
            0 => first,
            _ if alike => (first * dice.decades(0.2, 5.0)).clamp(any.0, any.1),
            _ => dice.within(any),
        })
        .collect()
}

fn vessel(dice: &mut Dice, liquid_l: f64, around: &Around) -> Value {
    let headspace = range("Vessel", "headspace_l");
    let mut vessel = Map::new();
    vessel.insert("liquid_l".to_owned(), json!(liquid_l));
    let gas_l = if dice.chance(0.7) {
        (liquid_l * dice.decades(0.05, 2.0)).clamp(headspace.0, headspace.1)
    } else {
        dice.within(headspace)
    };
    vessel.insert("headspace_l".to_owned(), json!(gas_l));
    vessel.insert("temperature".to_owned(), course(dice, around));
    if around.vessels == 1 && dice.chance(0.2) {
        vessel.insert("name".to_owned(), json!("tank"));
        vessel.insert("about".to_owned(), json!("a tank"));
    }
    match dice.below(4) {
        0 => {
            let kind = dice.one_of(&["none", "daily", "steady"]);
            vessel.insert("stirring".to_owned(), json!(kind));
        }
        1 => optional(dice, &mut vessel, "Vessel", "gas_transfer_per_d", 1.0),
        _ => {}
    }
    optional(dice, &mut vessel, "Vessel", "solids_held_back_pct", 0.3);
    optional(dice, &mut vessel, "Vessel", "short_circuit_pct", 0.3);
    optional(dice, &mut vessel, "Vessel", "leak_l_per_d", 0.25);
    Value::Object(vessel)
}

/// Puts a number from its whole range into a group, with this chance.
pub(crate) fn optional(
    dice: &mut Dice,
    group: &mut Map<String, Value>,
    name: &str,
    key: &str,
    chance: f64,
) {
    if dice.chance(chance) {
        group.insert(key.to_owned(), json!(dice.within(range(name, key))));
    }
}

fn course(dice: &mut Dice, around: &Around) -> Value {
    let (coldest, hottest) = temperature();
    match dice.below(6) {
        0 | 1 => json!({"constant_c": dice.within((coldest, hottest))}),
        2 => json!({"constant_c": dice.between(10.0, 40.0)}),
        3 | 4 => wave(dice, around),
        _ => {
            let count = 1 + dice.below(12);
            let points: Vec<Value> = (0..count)
                .map(|i| {
                    let day = i as f64 + dice.uniform();
                    json!({
                        "day": (day / count as f64) * around.days,
                        "temperature_c": dice.within((coldest, hottest)),
                    })
                })
                .collect();
            json!({"points": points})
        }
    }
}

fn wave(dice: &mut Dice, around: &Around) -> Value {
    let (coldest, hottest) = temperature();
    let mean = dice.within((coldest, hottest));
    // Both swings together must stay within the range.
    let room = (mean - coldest).min(hottest - mean);
    let yearly = (dice.uniform() * room).min(range("Wave", "yearly_swing_k").1);
    let daily = (dice.uniform() * (room - yearly)).min(range("Wave", "daily_swing_k").1);
    let mut wave = Map::new();
    wave.insert("mean_c".to_owned(), json!(mean));
    wave.insert("yearly_swing_k".to_owned(), json!(yearly));
    wave.insert("daily_swing_k".to_owned(), json!(daily));
    if around.dated && dice.chance(0.5) {
        optional(dice, &mut wave, "Wave", "hottest_day_of_year", 1.0);
    } else {
        optional(dice, &mut wave, "Wave", "hottest_day", 1.0);
    }
    optional(dice, &mut wave, "Wave", "hottest_hour", 0.5);
    json!({"wave": wave})
}
