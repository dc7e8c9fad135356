//! Random weather, and vessels whose temperature follows a heat balance in it.

use serde_json::{Map, Value, json};

use crate::dice::Dice;
use crate::draw::{Around, optional};
use crate::ranges::range;

/// Range of the outdoor air, which stands within a choice of courses \[C\].
const AIR_C: (f64, f64) = (-50.0, 60.0);
const WALLS: [&str; 3] = ["plastic", "steel", "concrete"];
const FOAMS: [&str; 5] = ["eps", "xps", "pur", "glass-wool", "straw"];

pub(crate) fn climate(dice: &mut Dice, around: &Around) -> Value {
    let mut climate = Map::new();
    climate.insert("air".to_owned(), air(dice, around));
    if dice.chance(0.6) {
        climate.insert("sun".to_owned(), sun(dice, around));
    }
    optional(dice, &mut climate, "Climate", "wind_m_per_s", 0.5);
    if dice.chance(0.5) {
        climate.insert("soil".to_owned(), soil(dice, around));
    }
    Value::Object(climate)
}

fn air(dice: &mut Dice, around: &Around) -> Value {
    match dice.below(4) {
        0 => json!({"constant_c": dice.within(AIR_C)}),
        1 => {
            let count = 1 + dice.below(12);
            let points: Vec<Value> = (0..count)
                .map(|i| {
                    let share = (i as f64 + dice.uniform()) / count as f64;
                    json!({"day": share * around.days, "temperature_c": dice.within(AIR_C)})
                })
                .collect();
            json!({"points": points})
        }
        _ => {
            let mean = dice.between(-20.0, 45.0);
            let room = (mean - AIR_C.0).min(AIR_C.1 - mean);
            let yearly = (dice.uniform() * room).min(range("Wave", "yearly_swing_k").1);
            let daily = (dice.uniform() * (room - yearly)).min(range("Wave", "daily_swing_k").1);
            let mut wave = Map::new();
            wave.insert("mean_c".to_owned(), json!(mean));
            wave.insert("yearly_swing_k".to_owned(), json!(yearly));
            wave.insert("daily_swing_k".to_owned(), json!(daily));
            peak(
                dice,
                around,
                &mut wave,
                "Wave",
                ("hottest_day_of_year", "hottest_day"),
            );
            optional(dice, &mut wave, "Wave", "hottest_hour", 0.5);
            json!({"wave": wave})
        }
    }
}

/// The peak of a yearly wave, by the calendar where there is one.
fn peak(
    dice: &mut Dice,
    around: &Around,
    wave: &mut Map<String, Value>,
    group: &str,
    (by_year, by_run): (&str, &str),
) {
    let key = if around.dated && dice.chance(0.5) {
        by_year
    } else {
        by_run
    };
    optional(dice, wave, group, key, 1.0);
}

fn sun(dice: &mut Dice, around: &Around) -> Value {
    let mean = dice.within(range("Sun", "mean_kwh_per_m2_d"));
    let room = mean.min(range("Sun", "mean_kwh_per_m2_d").1 - mean);
    let mut sun = Map::new();
    sun.insert("mean_kwh_per_m2_d".to_owned(), json!(mean));
    sun.insert(
        "yearly_swing_kwh_per_m2_d".to_owned(),
        json!(room * dice.uniform()),
    );
    peak(
        dice,
        around,
        &mut sun,
        "Sun",
        ("brightest_day_of_year", "brightest_day"),
    );
    Value::Object(sun)
}

fn soil(dice: &mut Dice, around: &Around) -> Value {
    let mut soil = Map::new();
    optional(dice, &mut soil, "Soil", "mean_c", 0.8);
    optional(dice, &mut soil, "Soil", "yearly_swing_k", 0.5);
    if dice.chance(0.5) {
        peak(
            dice,
            around,
            &mut soil,
            "Soil",
            ("hottest_day_of_year", "hottest_day"),
        );
    }
    optional(dice, &mut soil, "Soil", "diffusivity_mm2_per_s", 0.5);
    Value::Object(soil)
}

/// The heat balance of a vessel of so many litres, liquor and gas.
pub(crate) fn heat(dice: &mut Dice, litres: f64) -> Value {
    let mut heat = Map::new();
    optional(dice, &mut heat, "Heat", "start_c", 1.0);
    heat.insert("shape".to_owned(), shape(dice, litres));
    for (key, chance) in [
        ("wall_mm", 0.3),
        ("foam_cm", 0.6),
        ("foam_top_cm", 0.2),
        ("foam_bottom_cm", 0.2),
        ("buried_cm", 0.2),
        ("soil_w_per_m_k", 0.2),
        ("soil_contact_w_per_m2_k", 0.2),
        ("feed_c", 0.4),
    ] {
        optional(dice, &mut heat, "Heat", key, chance);
    }
    if dice.chance(0.4) {
        heat.insert("wall".to_owned(), json!(dice.one_of(&WALLS)));
        heat.insert("foam".to_owned(), json!(dice.one_of(&FOAMS)));
    }
    if dice.chance(0.2) {
        let below = dice.one_of(&["ground", "air"]);
        heat.insert("stands_on".to_owned(), json!(below));
    }
    if dice.chance(0.3) {
        heat.insert("sun".to_owned(), sunny_face(dice));
    }
    if dice.chance(0.2) {
        let mut house = Map::new();
        optional(dice, &mut house, "Greenhouse", "cover_m2", 1.0);
        optional(dice, &mut house, "Greenhouse", "floor_m2", 1.0);
        for key in ["cover_w_per_m2_k", "floor_absorbs_pct", "passes_pct"] {
            optional(dice, &mut house, "Greenhouse", key, 0.4);
        }
        heat.insert("greenhouse".to_owned(), Value::Object(house));
    }
    if dice.chance(0.5) {
        heat.insert("heater".to_owned(), heater(dice, litres));
    }
    json!({"heat": heat})
}

/// Keys that came later. Drawn last, so that a number still means the scenario it meant.
pub(crate) fn more(dice: &mut Dice, scenario: &mut Value) {
    if !dice.chance(0.5) {
        return;
    }
    scenario["climate"]["latitude_deg"] = json!(dice.within(range("Climate", "latitude_deg")));
    let dated = scenario.get("start_date").is_some();
    for vessel in scenario["vessels"].as_array_mut().unwrap() {
        let Some(heat) = vessel["temperature"].get_mut("heat") else {
            continue;
        };
        let alone = heat.get("greenhouse").is_none();
        if let Some(sun) = heat.get_mut("sun").filter(|_| dated && alone) {
            sun["upright"] = json!(dice.chance(0.8));
        }
    }
}

fn sunny_face(dice: &mut Dice) -> Value {
    let mut face = Map::new();
    face.insert("area_m2".to_owned(), json!(dice.decades(0.01, 100.0)));
    optional(dice, &mut face, "SunnyFace", "absorbs_pct", 0.5);
    optional(dice, &mut face, "SunnyFace", "foam_cm", 0.3);
    if dice.chance(0.5) {
        face.insert("glazed".to_owned(), json!(true));
        optional(dice, &mut face, "SunnyFace", "passes_pct", 0.5);
    }
    Value::Object(face)
}

fn heater(dice: &mut Dice, litres: f64) -> Value {
    let mut heater = Map::new();
    if dice.chance(0.7) {
        heater.insert(
            "power_w".to_owned(),
            json!(litres * dice.decades(0.01, 10.0)),
        );
    } else {
        optional(dice, &mut heater, "Heater", "power_w", 1.0);
    }
    optional(dice, &mut heater, "Heater", "set_c", 1.0);
    optional(dice, &mut heater, "Heater", "band_k", 0.3);
    let source = *dice.one_of(&["own-gas", "mains", "engine-waste"]);
    heater.insert("source".to_owned(), json!(source));
    if source == "own-gas" {
        optional(dice, &mut heater, "Heater", "efficiency_pct", 0.5);
    }
    Value::Object(heater)
}

/// A shape that mostly holds the litres.
fn shape(dice: &mut Dice, litres: f64) -> Value {
    let any = range("Drum", "height_cm");
    let side = (1000.0 * litres).cbrt();
    let length = |dice: &mut Dice| {
        if dice.chance(0.8) {
            (side * dice.decades(0.5, 2.0)).clamp(any.0, any.1)
        } else {
            dice.within(any)
        }
    };
    match dice.below(4) {
        0 => json!({"drum": {"diameter_cm": length(dice), "height_cm": length(dice)}}),
        1 => json!({"tote": {
            "length_cm": length(dice), "width_cm": length(dice), "height_cm": length(dice)
        }}),
        2 => json!({"bag": {"length_cm": length(dice), "diameter_cm": length(dice)}}),
        _ => {
            let surfaces: Vec<Value> = (0..1 + dice.below(4)).map(|_| surface(dice)).collect();
            json!({"surfaces": surfaces})
        }
    }
}

fn surface(dice: &mut Dice) -> Value {
    let mut surface = Map::new();
    let ground = dice.chance(0.4);
    surface.insert(
        "area_m2".to_owned(),
        json!(dice.within(range("Surface", "area_m2"))),
    );
    if ground {
        surface.insert("meets".to_owned(), json!("ground"));
        optional(dice, &mut surface, "Surface", "depth_cm", 0.5);
    } else if dice.chance(0.5) {
        surface.insert("meets".to_owned(), json!("air"));
    }
    optional(dice, &mut surface, "Surface", "u_w_per_m2_k", 0.3);
    if !surface.contains_key("u_w_per_m2_k") {
        optional(dice, &mut surface, "Surface", "foam_cm", 0.3);
    }
    if dice.chance(0.2) {
        surface.insert("name".to_owned(), json!("side"));
    }
    Value::Object(surface)
}
