//! Random plants behind the digester. Their ranges stand with the units of the plant, which refuse what lies outside;
//! `outside_is_refused` holds the lists here to them.

use marshgas::plant::HIGHEST_GAUGE_PA;
use serde_json::{Map, Value, json};

use crate::dice::Dice;
use crate::ranges::range;

/// Keys with their ranges, and how often each is given.
type Keys = [(&'static str, (f64, f64), f64)];

const TRAP: &Keys = &[
    ("temperature_c", (0.0, 50.0), 0.4),
    ("drop_pa", (0.0, 1000.0), 0.4),
];
const BED: &Keys = &[
    ("mass_kg", (1e-6, 1e4), 1.0),
    ("capacity_kg_per_kg", (1e-6, 2.0), 0.2),
    ("used_share", (1e-3, 1.0), 0.2),
    ("removal_share", (1e-3, 1.0), 0.3),
    ("dip_cm", (0.0, 50.0), 0.2),
    ("drop_pa", (0.0, 3000.0), 0.2),
    ("cycles", (1.0, 1e4), 0.2),
    ("loaded_share", (0.0, 1.0), 0.3),
];
const BELL: &Keys = &[
    ("diameter_cm", (5.0, 500.0), 1.0),
    ("skirt_cm", (5.0, 500.0), 1.0),
    ("wall_mm", (0.1, 50.0), 0.3),
    ("shell_mass_kg", (1e-3, 1e4), 0.2),
    ("ballast_kg", (0.0, 5000.0), 0.2),
    ("seal_depth_cm", (1.0, 500.0), 0.1),
    ("liquid_density_kg_m3", (700.0, 1400.0), 0.2),
    ("margin_cm", (0.0, 50.0), 0.2),
];
const BAG: &Keys = &[
    ("volume_l", (1.0, 1e5), 1.0),
    ("thickness_mm", (0.01, 20.0), 0.3),
    ("area_m2", (0.0, 1000.0), 0.3),
    ("pressure_pa", (0.0, HIGHEST_GAUGE_PA), 0.3),
];
const BURNER: &Keys = &[
    ("power_kw", (1e-3, 100.0), 0.5),
    ("efficiency", (1e-3, 1.0), 0.5),
];
const LAMP: &Keys = &[("power_kw", (1e-3, 10.0), 0.5)];
const ENGINE: &Keys = &[
    ("rated_kw", (1e-3, 50.0), 1.0),
    ("electric_efficiency", (1e-3, 0.4), 0.3),
    ("idle_share", (0.0, 0.95), 0.3),
    ("heat_share", (0.0, 0.9), 0.3),
    ("loss_per_co2", (0.0, 1.0), 0.3),
    ("power_loss_ch4", (0.0, 0.5), 0.3),
    ("power_loss_per_co2", (0.0, 1.0), 0.3),
    ("co2_limit", (0.0, 0.7), 0.3),
    ("h2s_limit_ppm", (0.0, 1e4), 0.3),
];
const DEMAND: &Keys = &[
    ("from_h", (0.0, 24.0), 1.0),
    ("hours", (1e-3, 24.0), 1.0),
    ("load_share", (1e-3, 1.0), 0.3),
];
const FLARE: &Keys = &[("power_kw", (1e-3, 1000.0), 0.7)];
const LINE: &Keys = &[("temperature_c", (-40.0, 80.0), 0.8)];
const RESIDUE: &Keys = &[
    ("store_c", (-20.0, 60.0), 0.5),
    ("rate_g_n_m2_yr", (1e-3, 100.0), 0.5),
    ("continues_share", (0.0, 1.0), 0.5),
];

/// Stages with what may fill them.
const STAGES: [(&str, &[&str]); 4] = [
    ("lime", &["lime-slurry", "damp-lime", "lime-water"]),
    ("iron", &["iron-oxide-grains", "rusted-wool"]),
    ("carbon", &["carbon", "carbon-with-oxygen"]),
    ("drying", &["silica-gel", "drying-clay", "molecular-sieve"]),
];
const SHELLS: [&str; 4] = ["steel", "polyethylene", "pvc", "fibreglass"];
const FILMS: [&str; 8] = [
    "ldpe",
    "hdpe",
    "soft-pvc",
    "rigid-pvc",
    "natural-rubber",
    "butyl",
    "epdm",
    "pet",
];
const DAYS: [&str; 8] = ["daily", "mon", "tue", "wed", "thu", "fri", "sat", "sun"];

fn numbers(dice: &mut Dice, keys: &Keys) -> Map<String, Value> {
    let mut group = Map::new();
    for (key, range, chance) in keys {
        if dice.chance(*chance) {
            group.insert((*key).to_owned(), json!(dice.within(*range)));
        }
    }
    group
}

/// Puts a word now and then.
fn word(dice: &mut Dice, group: &mut Map<String, Value>, key: &str, words: &[&str]) {
    if dice.chance(0.4) {
        group.insert(key.to_owned(), json!(dice.one_of(words)));
    }
}

pub(crate) fn plant(dice: &mut Dice, liquid_l: f64) -> Value {
    let mut plant = Map::new();
    if dice.chance(0.6) {
        let stages: Vec<Value> = (0..1 + dice.below(4)).map(|_| stage(dice)).collect();
        plant.insert("cleaning".to_owned(), json!(stages));
    }
    plant.insert("store".to_owned(), store(dice, liquid_l));
    let names: Vec<String> = (0..dice.below(4)).map(|i| format!("use-{i}")).collect();
    if !names.is_empty() {
        let all: Map<String, Value> = names
            .iter()
            .map(|name| (name.clone(), appliance(dice)))
            .collect();
        plant.insert("appliances".to_owned(), Value::Object(all));
        let lines: Vec<Value> = (0..dice.below(6)).map(|_| demand(dice, &names)).collect();
        plant.insert("timetable".to_owned(), json!(lines));
    }
    if dice.chance(0.3) {
        plant.insert("flare".to_owned(), Value::Object(numbers(dice, FLARE)));
    }
    if dice.chance(0.3) {
        plant.insert("line".to_owned(), Value::Object(numbers(dice, LINE)));
    }
    if dice.chance(0.4) {
        let mut residue = numbers(dice, RESIDUE);
        if dice.chance(0.5) {
            residue.insert("store_closed".to_owned(), json!(dice.chance(0.5)));
        }
        plant.insert("residue".to_owned(), Value::Object(residue));
    }
    Value::Object(plant)
}

/// Keys that came later. Drawn last, so that a number still means the scenario it meant.
pub(crate) fn more(dice: &mut Dice, plant: &mut Value) {
    if dice.chance(0.3) {
        plant["units"] = json!(dice.whole_within(range("Plant", "units")));
    }
    if let Some(bell) = plant["store"].get_mut("bell")
        && dice.chance(0.3)
    {
        bell["relief"] = json!(dice.chance(0.8));
    }
}

fn stage(dice: &mut Dice) -> Value {
    if dice.chance(0.25) {
        return json!({"water_trap": numbers(dice, TRAP)});
    }
    let (kind, fillings) = *dice.one_of(&STAGES);
    let mut bed = numbers(dice, BED);
    word(dice, &mut bed, "material", fillings);
    word(dice, &mut bed, "refill", &["when-spent", "never"]);
    json!({kind: bed})
}

/// A store that mostly fits the digester.
fn store(dice: &mut Dice, liquid_l: f64) -> Value {
    if dice.chance(0.5) {
        let mut bell = numbers(dice, BELL);
        word(dice, &mut bell, "shell", &SHELLS);
        return json!({"bell": bell});
    }
    let mut bag = numbers(dice, BAG);
    if dice.chance(0.7) {
        let volume = (liquid_l * dice.decades(0.05, 5.0)).clamp(1.0, 1e5);
        bag.insert("volume_l".to_owned(), json!(volume));
    }
    word(dice, &mut bag, "film", &FILMS);
    json!({"bag": bag})
}

fn appliance(dice: &mut Dice) -> Value {
    match dice.below(3) {
        0 => json!({"burner": numbers(dice, BURNER)}),
        1 => json!({"lamp": numbers(dice, LAMP)}),
        _ => {
            let mut engine = numbers(dice, ENGINE);
            word(dice, &mut engine, "kind", &["piston", "external"]);
            json!({"engine": engine})
        }
    }
}

fn demand(dice: &mut Dice, names: &[String]) -> Value {
    let mut line = numbers(dice, DEMAND);
    line.insert("appliance".to_owned(), json!(dice.one_of(names)));
    if dice.chance(0.4) {
        let days: Vec<&str> = (0..1 + dice.below(3))
            .map(|_| *dice.one_of(&DAYS))
            .collect();
        line.insert("weekdays".to_owned(), json!(days));
    }
    if dice.chance(0.4) {
        line.insert(
            "priority".to_owned(),
            json!(dice.whole_within((1.0, 1000.0))),
        );
    }
    Value::Object(line)
}

/// What a unit says of a number out of its range, and not of numbers that do not go together.
const OUTSIDE: &str = "outside what is computed";
const STOPS: &str = "This stops at";

/// Where each list stands in the plant of the test below.
const PLACES: [(&str, &Keys); 11] = [
    ("cleaning[0].water_trap", TRAP),
    ("cleaning[1].lime", BED),
    ("store.bell", BELL),
    ("store.bag", BAG),
    ("appliances.burner.burner", BURNER),
    ("appliances.lamp.lamp", LAMP),
    ("appliances.engine.engine", ENGINE),
    ("timetable[0]", DEMAND),
    ("flare", FLARE),
    ("line", LINE),
    ("residue", RESIDUE),
];

/// Whether a scenario is told that a number of its plant is out of range.
fn is_told(scenario: &Value, at: &str) -> bool {
    let told = marshgas::scenario::from_value(scenario, "plant.json", None);
    told.is_err_and(|told| {
        told.problems
            .iter()
            .any(|p| p.path == at && (p.why.contains(OUTSIDE) || p.why.starts_with(STOPS)))
    })
}

#[test]
fn the_lists_are_the_ranges_of_the_units() {
    for (place, keys) in PLACES {
        let store = if place == "store.bag" {
            json!({"bag": {"volume_l": 100}})
        } else {
            json!({"bell": {"diameter_cm": 100, "skirt_cm": 500}})
        };
        let mut scenario = json!({
            "title": "plant",
            "days": 10,
            "vessels": [{"liquid_l": 100, "headspace_l": 20, "temperature": {"constant_c": 30}}],
            "starter": {"materials": [{"material": "cattle-slurry", "kg": 80}]},
            "plant": {
                "cleaning": [{"water_trap": {}}, {"lime": {"mass_kg": 1}}],
                "store": store,
                "appliances": {
                    "burner": {"burner": {}}, "lamp": {"lamp": {}}, "engine": {"engine": {"rated_kw": 1}}
                },
                "timetable": [{"appliance": "lamp", "from_h": 1, "hours": 1}],
                "flare": {},
                "line": {"temperature_c": 20},
                "residue": {}
            }
        });
        let pointer = format!("/plant/{}", place.replace(['.', '['], "/").replace(']', ""));
        for (key, (low, high), _) in keys {
            let mut try_value = |value: f64| {
                let group = scenario
                    .pointer_mut(&pointer)
                    .expect("a place of the plant");
                let before = group[*key].take();
                group[*key] = json!(value);
                let told = is_told(&scenario, &format!("plant.{place}.{key}"));
                let group = scenario
                    .pointer_mut(&pointer)
                    .expect("a place of the plant");
                match before {
                    Value::Null => drop(group.as_object_mut().expect("a group").shift_remove(*key)),
                    before => group[*key] = before,
                }
                told
            };
            let width = high - low;
            assert!(try_value(high + 0.01 * width), "{place}.{key} above {high}");
            assert!(try_value(low - 0.01 * width), "{place}.{key} below {low}");
            assert!(!try_value(*high), "{place}.{key} at {high}");
            assert!(!try_value(*low), "{place}.{key} at {low}");
        }
    }
}
