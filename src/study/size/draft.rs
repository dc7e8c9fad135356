//! The scenario of a plant: what `marshgas run` takes, and what the study runs.

use serde_json::{Map, Value, json};

use super::feed::MonthFeed;
use super::plant::{Plant, Season};
use super::rules::rules;
use super::wish::{HeaterChoice, SunChoice, Wish};
use super::year::{FIRST_YEAR, LEAD, MONTHS, stretches};
use crate::scenario::{self, Loaded, Problems};
use crate::units::MONTHS as MONTHS_OF_YEAR;

/// Units below this are drums, others boxes \[L\].
const DRUMS_BELOW_L: f64 = 400.0;
/// Height of a drum over its diameter, as of a 200 L drum (58 by 88 cm).
const DRUM_SLENDER: f64 = 88.0 / 58.0;
/// Length, width and height of a 1000 L tote \[cm\] without its frame.
const TOTE_CM: [f64; 3] = [120.0, 100.0, 1e6 / 12_000.0];
/// Heater steps and the smallest that is sold \[W\]. Common practice, no source.
const HEATER_STEP_W: f64 = 50.0;
/// How much stronger a heater is than the mean of its coldest month asks: cold spells. Assumption of this project.
const HEATER_RESERVE: f64 = 1.6;
/// Months from the start of the run to the hottest month.
const BEFORE_HOTTEST: usize = 3;
/// Tolerance of the runs: differences between plants are per cents.
const TOLERANCE: f64 = 1e-3;
/// Days for which a plant that rested is warmed before it is fed.
const WARMED_D: u32 = 14;
/// Share of the sun that falls on a pane which it lets through \[%\]: a scenario's default.
const PANE_PASSES_PCT: f64 = 80.0;
/// Most of what a side shows above the ground that a window takes, and least of a unit's height that leaves room for it.
const MOST_WINDOW: f64 = 0.8;
const LEAST_ABOVE: f64 = 0.2;
const CM2_PER_M2: f64 = 1e4;
/// Warmest and coldest start of an unheated filling \[C\].
const START_C: (f64, f64) = (5.0, 30.0);

/// The month in which the run begins, 0 for January: the warm half lies before the plant; one that rests begins as it does
/// after each rest, and its judged year holds a season of work, the rest and the new beginning.
pub(super) fn start_month(wish: &Wish, plant: &Plant) -> usize {
    (0..MONTHS)
        .find(|m| plant.season(wish, *m) == Season::Begins)
        .unwrap_or((wish.hottest + MONTHS - BEFORE_HOTTEST) % MONTHS)
}

/// Temperature of the filling \[C\].
pub(super) fn start_c(wish: &Wish, plant: &Plant) -> f64 {
    plant
        .set_c
        .unwrap_or_else(|| wish.air_c[start_month(wish, plant)].clamp(START_C.0, START_C.1))
}

/// Units that the scenario holds: side by side they do the same, so one stands for all.
pub(super) fn vessels(plant: &Plant) -> usize {
    if plant.in_row { plant.units } else { 1 }
}

/// How often the scenario stands in the plant.
pub(super) fn copies(plant: &Plant) -> f64 {
    (plant.units / vessels(plant)) as f64
}

/// No feed in any month, as kg/d of the whole plant.
pub(super) fn without_feed() -> [f64; MONTHS] {
    [0.0; MONTHS]
}

/// The kilograms of a plan.
pub(super) fn kilograms(plan: &[MonthFeed; MONTHS]) -> [f64; MONTHS] {
    plan.map(|m| m.kg_per_day)
}

/// Power of the heater of one unit \[W\].
pub(super) fn heater_w(needed_w: f64) -> f64 {
    ((needed_w * HEATER_RESERVE / HEATER_STEP_W).ceil() * HEATER_STEP_W).max(2.0 * HEATER_STEP_W)
}

/// The checked scenario of a plant.
///
/// # Errors
/// [`Problems`] where it is no sound scenario: a fault of this build.
pub(super) fn load(
    wish: &Wish,
    plant: &Plant,
    kg: &[f64; MONTHS],
    heater_w: f64,
) -> Result<Loaded, Problems> {
    scenario::from_value(&scenario(wish, plant, kg, heater_w), "plant.json", None)
}

/// The scenario of a plant: a row as it is, or one of the units that stand side by side.
pub(super) fn scenario(wish: &Wish, plant: &Plant, kg: &[f64; MONTHS], heater_w: f64) -> Value {
    let start = start_month(wish, plant);
    let stretches = stretches(start);
    let days = stretches.last().map_or(1, |s| s.2);
    let liquid = plant.unit_liquid_l();
    let vessels: Vec<Value> = (0..vessels(plant))
        .map(|i| vessel(wish, plant, i, heater_w))
        .collect();
    let filling = liquid * vessels.len() as f64;
    let mut recipes = Map::new();
    let mut feeding = Vec::new();
    let key = |month: usize| MONTHS_OF_YEAR[month].to_lowercase();
    for &(month, from, to, ramp) in &stretches {
        if kg[month] <= 0.0 || wish.kg(month) <= 0.0 {
            continue;
        }
        recipes.insert(key(month), recipe(wish, plant, month, kg[month]));
        let from = match plant.season(wish, month) {
            Season::Begins if plant.set_c.is_some() => from + WARMED_D,
            Season::Begins | Season::Works | Season::Rests => from,
        };
        feeding.push(json!({"daily": {
            "recipe": key(month), "from_day": from, "to_day": to - 1, "hour": 14, "amount": ramp
        }}));
    }
    let one_of = match plant.units {
        n if !plant.in_row && n > 1 => {
            format!(
                " This is one of {n} equal units, with its share of the feed: run and its like show that one, season counts all \
                 of them."
            )
        }
        _ => String::new(),
    };
    let mut out = json!({
        "title": format!("{}: the plant", wish.title),
        "about": format!(
            "A plant proposed by marshgas size, computed and not measured. The first {LEAD} months run it in; the \
             twelve after them are the year that was judged. It is a usual year, and {FIRST_YEAR} stands for any: \
             set start_date to the same day of the year in which you begin.{one_of}"
        ),
        "start_date": format!("{FIRST_YEAR}-{:02}-01", start + 1),
        "days": days,
        "climate": wish.climate,
        "vessels": vessels,
        "gas": {"store_pressure_mbar": 8, "reading_temperature_c": 20},
        "starter": {"materials": [{"material": "digestate-cattle", "kg": rounded(filling, 1)}]},
        "solver": {"relative_tolerance": TOLERANCE}
    });
    if !feeding.is_empty() {
        out["recipes"] = Value::Object(recipes);
        out["feeding"] = Value::Array(feeding);
    }
    out
}

fn recipe(wish: &Wish, plant: &Plant, month: usize, kg: f64) -> Value {
    let share = kg / wish.kg(month) / copies(plant);
    let materials: Vec<Value> = wish
        .scraps
        .iter()
        .filter(|s| s.kg_per_day[month] > 0.0)
        .map(|s| json!({"material": s.material, "kg": rounded(s.kg_per_day[month] * share, 4)}))
        .collect();
    json!({"materials": materials, "water_l": rounded(kg * plant.water_per_kg / copies(plant), 4)})
}

fn vessel(wish: &Wish, plant: &Plant, i: usize, heater_w: f64) -> Value {
    let liquid = plant.unit_liquid_l();
    let mut heat = json!({
        "start_c": rounded(start_c(wish, plant), 1),
        "shape": shape(plant.unit_l),
        "foam_cm": plant.foam_cm
    });
    if plant.buried_cm > 0.0 {
        heat["buried_cm"] = json!(plant.buried_cm);
    } else {
        heat["stands_on"] = json!("air");
    }
    match plant.sun {
        SunChoice::None => {}
        SunChoice::Window => {
            heat["sun"] = json!({
                "area_m2": window_m2(plant.unit_l, plant.buried_cm), "absorbs_pct": 90, "glazed": true, "foam_cm": 0
            });
            if wish.latitude_deg().is_some() {
                heat["sun"]["upright"] = json!(true);
                heat["sun"]["passes_pct"] = json!(PANE_PASSES_PCT);
            } else {
                let share = PANE_PASSES_PCT * rules().upright_share.value;
                heat["sun"]["passes_pct"] = json!(rounded(share, 0));
            }
        }
        SunChoice::Greenhouse => {
            let (cover, floor) = greenhouse_m2(plant.unit_l, plant.buried_cm);
            heat["greenhouse"] = json!({"cover_m2": cover, "floor_m2": floor});
        }
    }
    if let Some(set_c) = plant.set_c {
        let source = match wish.builder.heater {
            HeaterChoice::Mains => json!({"power_w": heater_w, "set_c": set_c, "source": "mains"}),
            _ => json!({
                "power_w": heater_w, "set_c": set_c, "source": "own-gas", "efficiency_pct": 80
            }),
        };
        heat["heater"] = source;
        if plant.rests.is_some() {
            let on = (0..MONTHS).filter(|m| plant.season(wish, *m) != Season::Rests);
            heat["heater"]["months"] = on.map(|m| MONTHS_OF_YEAR[m].to_lowercase()).collect();
        }
    }
    json!({
        "name": format!("unit {}", i + 1),
        "liquid_l": liquid,
        "headspace_l": plant.unit_l - liquid,
        "temperature": {"heat": heat},
        "stirring": "daily"
    })
}

/// Rounded as a person reads it; the runs take the same number.
fn rounded(value: f64, decimals: i32) -> f64 {
    let unit = 10f64.powi(decimals);
    (value * unit).round() / unit
}

/// Length, width and height of a unit \[cm\]; of a drum its diameter twice.
fn sides(unit_l: f64) -> [f64; 3] {
    let cm3 = unit_l * 1000.0;
    if unit_l < DRUMS_BELOW_L {
        let diameter = (4.0 * cm3 / (std::f64::consts::PI * DRUM_SLENDER)).cbrt();
        return [diameter, diameter, diameter * DRUM_SLENDER];
    }
    let scale = (cm3 / TOTE_CM.iter().product::<f64>()).cbrt();
    TOTE_CM.map(|cm| cm * scale)
}

/// Area of a window \[m2\].
pub(super) fn window_m2(unit_l: f64, buried_cm: f64) -> f64 {
    let [length, _, height] = sides(unit_l);
    let above = length * (height - buried_cm).max(0.0);
    rounded(
        (rules().window_share.value * length * height).min(MOST_WINDOW * above) / CM2_PER_M2,
        3,
    )
}

/// Film and free floor of a greenhouse over one unit \[m2\].
fn greenhouse_m2(unit_l: f64, buried_cm: f64) -> (f64, f64) {
    let gap = rules().greenhouse_gap_cm.value;
    let [length, width, height] = sides(unit_l);
    let (long, wide) = (length + 2.0 * gap, width + 2.0 * gap);
    let high = (height - buried_cm).max(0.0) + gap;
    let cover = long * wide + 2.0 * (long + wide) * high;
    (
        rounded(cover / CM2_PER_M2, 2),
        rounded((long * wide - length * width) / CM2_PER_M2, 2),
    )
}

/// Whether a unit of this volume \[L\] can be placed so: its top stays above the ground, and a window has room there.
pub(super) fn stands(unit_l: f64, sun: SunChoice, buried_cm: f64) -> bool {
    let [_, _, height] = sides(unit_l);
    let above = height - buried_cm;
    buried_cm == 0.0 || above > 0.0 && (sun != SunChoice::Window || above >= LEAST_ABOVE * height)
}

/// A shape of this volume \[L\].
fn shape(unit_l: f64) -> Value {
    let [length, width, height] = sides(unit_l).map(|cm| rounded(cm, 1));
    if unit_l < DRUMS_BELOW_L {
        return json!({"drum": {"diameter_cm": length, "height_cm": height}});
    }
    json!({"tote": {"length_cm": length, "width_cm": width, "height_cm": height}})
}
