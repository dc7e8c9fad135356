//! Random materials, starters, recipes and feeding plans.

use marshgas::feedstock::library;
use serde_json::{Map, Value, json};

use crate::dice::Dice;
use crate::draw::{Around, optional};
use crate::ranges::range;

const PIECES: [&str; 4] = ["pulp", "chopped", "coarse", "whole"];
const CLASSES: [&str; 6] = ["fresh", "herbage", "fibrous", "woody", "gut", "digestate"];
/// Starters that make a digester live; others are drawn as well.
const LIVING: [&str; 3] = ["cattle-slurry", "digestate-cattle", "pig-slurry"];

/// A few materials of the scenario's own.
pub(crate) fn own_materials(dice: &mut Dice) -> Map<String, Value> {
    let count = if dice.chance(0.4) {
        1 + dice.below(3)
    } else {
        0
    };
    (0..count)
        .map(|i| {
            let material = match dice.below(3) {
                0 => label(dice),
                1 => analysis(dice),
                _ => like(dice),
            };
            (format!("own-{i}"), material)
        })
        .collect()
}

fn from_library(dice: &mut Dice) -> String {
    let ids: Vec<&str> = library().iter().map(|entry| entry.id.as_str()).collect();
    (*dice.one_of(&ids)).to_owned()
}

fn like(dice: &mut Dice) -> Value {
    let mut like = Map::new();
    like.insert("material".to_owned(), json!(from_library(dice)));
    optional(dice, &mut like, "Like", "total_solids_pct", 0.5);
    optional(dice, &mut like, "Like", "living_factor", 0.5);
    optional(dice, &mut like, "Like", "hydrolysis_factor", 0.5);
    json!({"like": like})
}

/// Shares that add up to one; some of them may be nothing, or everything.
fn shares<const N: usize>(dice: &mut Dice) -> [f64; N] {
    let mut parts = [0.0; N];
    for part in &mut parts {
        if dice.chance(0.7) {
            *part = -(1.0 - dice.uniform()).ln();
        }
    }
    let sum: f64 = parts.iter().sum();
    if sum > 0.0 {
        parts.map(|part| part / sum)
    } else {
        parts[dice.below(N)] = 1.0;
        parts
    }
}

fn label(dice: &mut Dice) -> Value {
    let [water, carbohydrate, protein, fat, ash] = shares::<5>(dice).map(|s| 100.0 * s);
    let fibre = carbohydrate * dice.within((0.0, 1.0));
    let mut label = json!({
        "water_g": water,
        "carbohydrate_g": carbohydrate,
        "fibre_g": fibre,
        "protein_g": protein,
        "fat_g": fat,
    });
    if dice.chance(0.3) {
        label["salt_g"] = json!(ash * dice.uniform());
    }
    if dice.chance(0.3) {
        label["nitrogen_factor"] = json!(dice.within((5.0, 6.5)));
    }
    if dice.chance(0.3) {
        label["strong_ions_eq_per_kg"] = json!(dice.within((-0.5, 1.0)));
    }
    json!({"label_per_100_g": label})
}

fn analysis(dice: &mut Dice) -> Value {
    let [fast_carb, fibre, protein, fat, inert] = shares::<5>(dice);
    let solids = dice.within(range("Analysis", "total_solids_pct"));
    let volatile = dice.within((0.01, 100.0));
    let volatile_g = 0.1 * solids * volatile;
    let protein_n = 0.16 * protein * volatile_g;
    let mut analysis = json!({
        "total_solids_pct": solids,
        "volatile_solids_pct_of_solids": volatile,
        "shares_of_volatile": {
            "fast_carb": fast_carb, "fibre": fibre, "protein": protein, "fat": fat, "inert": inert
        },
        "class": dice.one_of(&CLASSES),
    });
    let mut put = |chance: f64, key: &str, value: f64| {
        if dice.chance(chance) {
            analysis[key] = json!(value);
        }
    };
    put(0.1, "nitrogen_g_per_kg", protein_n);
    put(0.1, "carbon_g_per_kg", 0.5 * volatile_g);
    let figures = [
        ("ammonia_n_g_per_kg", (0.0, 50.0)),
        ("labile_n_g_per_kg", (0.0, 200.0)),
        ("sulfur_g_per_kg", (0.0, 50.0)),
        ("strong_ions_eq_per_kg", (-0.5, 1.0)),
        ("fresh_ph", (4.5, 10.0)),
        ("methane_nl_per_kg_vs", (0.0, 1014.0)),
    ];
    for (key, bounds) in figures {
        if dice.chance(0.15) {
            analysis[key] = json!(dice.within(bounds));
        }
    }
    if dice.chance(0.2) {
        let mut acids = Map::new();
        for acid in ["acetic", "propionic", "butyric"] {
            if dice.chance(0.6) {
                acids.insert(acid.to_owned(), json!(dice.within((0.0, 50.0))));
            }
        }
        analysis["acids_g_per_kg"] = Value::Object(acids);
    }
    if dice.chance(0.2) {
        let mut speed = || dice.within((0.0, 20.0));
        analysis["hydrolysis_per_d"] = json!({
            "fast_carb": speed(), "fibre": speed(), "protein": speed(), "fat": speed()
        });
    }
    if dice.chance(0.3) {
        analysis["living_like"] = json!(dice.one_of(&LIVING));
    }
    json!({"analysis": analysis})
}

/// Some materials and water that weigh `kg` together; a kilogram counts as a litre.
fn mixture(dice: &mut Dice, kg: f64, own: &Map<String, Value>, starts: bool) -> Map<String, Value> {
    let most = range("Part", "kg").1;
    let water = if starts {
        dice.within((0.0, 1.0))
    } else {
        dice.within((0.0, 0.99))
    };
    let count = 1 + dice.below(4);
    let weights = shares::<4>(dice);
    let names: Vec<&String> = own.keys().collect();
    let parts: Vec<Value> = weights[..count]
        .iter()
        .map(|share| {
            let material = match dice.below(10) {
                0..=2 if !names.is_empty() => (*dice.one_of(&names)).clone(),
                0..=5 if starts => (*dice.one_of(&LIVING)).to_owned(),
                _ => from_library(dice),
            };
            let weight = (share * kg * (1.0 - water)).min(most);
            let mut part = json!({"material": material, "kg": weight});
            if dice.chance(0.3) {
                part["pieces"] = json!(dice.one_of(&PIECES));
            }
            part
        })
        .collect();
    let mut mixture = Map::new();
    if water < 1.0 || !starts {
        mixture.insert("materials".to_owned(), json!(parts));
    }
    if water > 0.0 {
        let water_l = (kg * water).min(range("Starter", "water_l").1);
        mixture.insert("water_l".to_owned(), json!(water_l));
    }
    mixture
}

/// Additives: mostly what someone would take for so many litres, now and then anything that can be written.
fn additives(dice: &mut Dice, group: &mut Map<String, Value>, name: &str, litres: f64) {
    for key in ["bicarbonate_g", "lime_g"] {
        if dice.chance(0.15) {
            let (low, high) = range(name, key);
            let grams = if dice.chance(0.9) {
                (litres * dice.decades(1e-3, 30.0)).clamp(low, high)
            } else {
                dice.within((low, high))
            };
            group.insert(key.to_owned(), json!(grams));
        }
    }
}

pub(crate) fn starter(dice: &mut Dice, around: &Around, own: &Map<String, Value>) -> Value {
    let fill = if dice.chance(0.7) {
        dice.between(0.5, 1.0)
    } else {
        dice.decades(1e-6, 1.0)
    };
    let kg = fill * around.liquid_l;
    let mut starter = mixture(dice, kg, own, true);
    additives(dice, &mut starter, "Starter", kg);
    optional(dice, &mut starter, "Starter", "living_factor", 0.3);
    Value::Object(starter)
}

/// Recipes and the lines that feed them.
pub(crate) fn plan(dice: &mut Dice, around: &Around, own: &Map<String, Value>) -> (Value, Value) {
    let count = 1 + dice.below(3);
    let weights: Vec<f64> = (0..count)
        .map(|_| {
            let share = if dice.chance(0.7) {
                dice.decades(1e-3, 0.1)
            } else {
                dice.decades(1e-7, 1.0)
            };
            share * around.first_l
        })
        .collect();
    let recipes: Map<String, Value> = weights
        .iter()
        .enumerate()
        .map(|(i, kg)| {
            (
                format!("recipe-{i}"),
                Value::Object(mixture(dice, *kg, own, false)),
            )
        })
        .collect();
    let lines: Vec<Value> = (0..1 + dice.below(5))
        .map(|_| {
            let which = dice.below(count);
            line(dice, around, which, weights[which])
        })
        .collect();
    (Value::Object(recipes), json!(lines))
}

fn line(dice: &mut Dice, around: &Around, which: usize, recipe_kg: f64) -> Value {
    let recipe = format!("recipe-{which}");
    let last = around.days - 1.0;
    let most = range("Daily", "amount")
        .1
        .min(0.999 * around.first_l / recipe_kg);
    let mut line = Map::new();
    let kind = *dice.one_of(&["daily", "daily", "daily", "on", "pause", "dose"]);
    match kind {
        "daily" => {
            let from = dice.whole_within((0.0, last));
            line.insert("recipe".to_owned(), json!(recipe));
            line.insert("from_day".to_owned(), json!(from));
            if dice.chance(0.3) {
                line.insert("to_day".to_owned(), json!(dice.whole_within((from, last))));
            }
            if dice.chance(0.4) {
                let every = dice.whole_within(range("Daily", "every_days"));
                line.insert("every_days".to_owned(), json!(every));
            }
            if dice.chance(0.3) {
                let over = dice.whole_within(range("Ramp", "over_days"));
                let (from, to) = (dice.within((0.0, most)), dice.within((0.0, most)));
                line.insert(
                    "ramp".to_owned(),
                    json!({"from": from, "to": to, "over_days": over}),
                );
            }
        }
        "on" => {
            line.insert("recipe".to_owned(), json!(recipe));
            when(dice, around, &mut line);
        }
        "pause" => {
            let from = dice.whole_within((0.0, last));
            line.insert("from_day".to_owned(), json!(from));
            line.insert("to_day".to_owned(), json!(dice.whole_within((from, last))));
        }
        _ => {
            when(dice, around, &mut line);
            let water = around.first_l * dice.decades(1e-6, 0.5);
            line.insert("water_l".to_owned(), json!(water));
            additives(dice, &mut line, "Dose", around.first_l);
        }
    }
    let takes_amount = kind == "daily" && !line.contains_key("ramp") || kind == "on";
    if takes_amount && dice.chance(0.5) {
        line.insert("amount".to_owned(), json!(dice.within((0.0, most))));
    }
    if kind != "pause" {
        optional(dice, &mut line, "Daily", "hour", 0.5);
    }
    json!({kind: line})
}

fn when(dice: &mut Dice, around: &Around, line: &mut Map<String, Value>) {
    let days: Vec<f64> = (0..1 + dice.below(4))
        .map(|_| dice.whole_within((0.0, around.days - 1.0)))
        .collect();
    line.insert("days".to_owned(), json!(days));
    if around.dated && dice.chance(0.3) {
        line.insert("dates".to_owned(), json!(["2026-01-15"]));
    }
}
