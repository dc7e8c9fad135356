//! The plant of a scenario: what is read, what is assumed, what is refused.

use marshgas::case::TemperatureCourse;
use marshgas::plant::cleaning::{BedMaterial, Stage};
use marshgas::plant::store::StoreSettings;
use marshgas::scenario::schema;
use serde_json::{Value, json};

use crate::support::{complaint, complaints, loaded, problems, warnings};

fn plant() -> Value {
    json!({
        "cleaning": [
            {"water_trap": {}},
            {"iron": {"material": "rusted-wool", "mass_kg": 2}},
            {"drying": {"mass_kg": 1}}
        ],
        "store": {"bell": {"diameter_cm": 100, "skirt_cm": 100, "shell": "steel"}},
        "appliances": {
            "stove": {"burner": {}},
            "generator": {"engine": {"rated_kw": 0.7}}
        },
        "timetable": [
            {"appliance": "stove", "from_h": 18, "hours": 1},
            {"appliance": "generator", "weekdays": ["sat", "sun"], "from_h": 20, "hours": 2, "priority": 2}
        ],
        "flare": {}
    })
}

/// The plant with one value replaced or added by pointer; `null` removes.
fn changed(pointer: &str, value: Value) -> Value {
    let mut plant = plant();
    let (around, key) = pointer.rsplit_once('/').unwrap();
    let group = plant.pointer_mut(around).unwrap();
    match value {
        Value::Null => {
            group.as_object_mut().unwrap().shift_remove(key);
        }
        value => group[key] = value,
    }
    plant
}

fn said(pointer: &str, value: Value) -> String {
    complaint(&[("plant", changed(pointer, value))])
}

#[test]
fn a_sound_plant_is_read_and_what_it_leaves_open_is_listed_with_its_standing() {
    let case = loaded(&[("plant", plant())]).case;
    let plant = case.plant.unwrap();
    let beds: Vec<BedMaterial> = plant
        .cleaning
        .iter()
        .filter_map(|stage| match stage {
            Stage::Bed(bed) => Some(bed.material),
            Stage::WaterTrap(_) => None,
        })
        .collect();
    assert_eq!(beds, [BedMaterial::RustedWool, BedMaterial::SilicaGel]);
    assert_eq!(
        plant.demands[1].weekdays,
        [false, false, false, false, false, true, true]
    );
    assert_eq!(plant.demands[0].weekdays, [true; 7]);
    assert_eq!(
        (plant.demands[1].priority, plant.demands[0].load_share),
        (2, 1.0)
    );
    // No climate: the line has the temperature at which gas is read.
    assert_eq!(plant.line, TemperatureCourse::Constant(20.0));
    let StoreSettings::Bell(bell) = plant.store else {
        panic!("a bell");
    };
    // Ballast is found for the 8 mbar of the gas side, at half the rise.
    assert!((bell.pressure_pa(bell.seal_depth_cm / 2.0) - 800.0).abs() < 1e-9);
    let paths: Vec<&str> = plant.assumed.iter().map(|a| a.path.as_str()).collect();
    for path in [
        "plant.cleaning[1].iron.capacity_kg_per_kg",
        "plant.store.bell.ballast_kg",
        "plant.appliances.stove.burner.efficiency",
        "plant.appliances.generator.engine.idle_share",
        "plant.flare.power_kw",
    ] {
        assert!(paths.contains(&path), "{path} in {paths:?}");
    }
    assert!(plant.assumed.iter().all(|a| a.source.len() > 5));
}

#[test]
fn the_ranges_of_the_units_reach_the_scenario_with_its_addresses() {
    for (pointer, value, path, words) in [
        (
            "/cleaning/1/iron/mass_kg",
            json!(-1),
            "plant.cleaning[1].iron.mass_kg is -1.",
            "above 0 and up to 10000 kg",
        ),
        (
            "/cleaning/1/iron/removal_share",
            json!(1.5),
            "plant.cleaning[1].iron.removal_share is 1.5.",
            "up to 1",
        ),
        (
            "/store/bell/diameter_cm",
            json!(1),
            "plant.store.bell.diameter_cm is 1.",
            "from 5 to 500 cm",
        ),
        (
            "/timetable/0/hours",
            json!(30),
            "plant.timetable[0].hours is 30.",
            "up to 24 h",
        ),
        (
            "/timetable/0/from_h",
            json!(25),
            "plant.timetable[0].from_h is 25.",
            "from 0 to 24 h",
        ),
        (
            "/timetable/0/priority",
            json!(1.5),
            "plant.timetable[0].priority is 1.5.",
            "whole numbers",
        ),
        (
            "/appliances/stove/burner/power_kw",
            json!(0),
            "plant.appliances.stove.burner.power_kw is 0.",
            "up to 100 kW",
        ),
        (
            "/flare/power_kw",
            json!(-2),
            "plant.flare.power_kw is -2.",
            "up to 1000 kW",
        ),
    ] {
        let said = said(pointer, value);
        assert!(said.starts_with(path) && said.contains(words), "{said}");
        assert!(!said.contains('\n'), "one problem only: {said}");
    }
    let residue = complaint(&[("plant", changed("/residue", json!({"store_c": 99})))]);
    assert!(
        residue.starts_with("plant.residue.store_c is 99."),
        "{residue}"
    );
    let line = complaint(&[("plant", changed("/line", json!({"temperature_c": 99})))]);
    assert!(
        line.starts_with("plant.line.temperature_c is 99."),
        "{line}"
    );
}

#[test]
fn more_than_5_kpa_is_refused_with_the_reason() {
    let said = said("/store/bell/ballast_kg", json!(600));
    assert!(
        said.starts_with("plant.store.bell is ") && said.contains("5000 Pa"),
        "{said}"
    );
    assert!(
        said.contains("pressure vessel") && said.contains("licensed"),
        "{said}"
    );
    let mut deep = changed("/store/bell/ballast_kg", json!(330));
    deep["cleaning"] = json!([
        {"lime": {"mass_kg": 5, "dip_cm": 20}},
        {"lime": {"mass_kg": 5, "dip_cm": 20}}
    ]);
    let said = complaint(&[("plant", deep)]);
    assert!(
        said.starts_with("plant.cleaning is ") && said.contains("store and beds together"),
        "{said}"
    );
}

#[test]
fn what_is_missing_or_misspelt_is_told_with_what_is_near() {
    let told = said("/cleaning/1/iron/mass_kg", Value::Null);
    assert!(told.contains("plant.cleaning[1].iron.mass_kg"), "{told}");
    let told = said("/store", Value::Null);
    assert!(
        told.contains("plant.store") && told.contains("\"bell\""),
        "{told}"
    );
    let told = said("/timetable/0/appliance", json!("stov"));
    assert!(
        told.starts_with("plant.timetable[0].appliance is \"stov\".") && told.contains("\"stove\""),
        "{told}"
    );
    let told = said("/timetable/0/hour", json!(1));
    assert!(told.contains("Did you mean \"hours\"?"), "{told}");
    let told = said("/cleaning/1/iron/material", json!("rusty-wool"));
    assert!(told.contains("Did you mean \"rusted-wool\"?"), "{told}");
    let told = said("/cleaning/1/iron/material", json!("silica-gel"));
    assert!(
        told.contains("rusted-wool") && told.contains("\"drying\""),
        "{told}"
    );
    let told = said("/timetable/0/weekdays", json!([]));
    assert!(told.contains("plant.timetable[0].weekdays"), "{told}");
}

#[test]
fn a_faulty_appliance_is_told_once_and_not_again_where_it_is_called() {
    for (pointer, value, about) in [
        ("/appliances/stove", json!({"burnr": {}}), "burnr"),
        ("/appliances/stove", json!({"burner": 5}), "burner"),
        (
            "/appliances/stove",
            json!({"burner": {"powr_kw": 1}}),
            "powr_kw",
        ),
        ("/appliances/generator", json!({"engine": {}}), "rated_kw"),
        (
            "/appliances/generator",
            json!({"engine": {"rated": 0.7}}),
            "rated",
        ),
        (
            "/appliances/generator",
            json!({"engine": {"rated_kw": "0.7"}}),
            "rated_kw",
        ),
        ("/appliances", json!([]), "appliances"),
    ] {
        let told = complaints(&[("plant", changed(pointer, value))]);
        assert_eq!(told.len(), 1, "{about}: {told:?}");
        assert!(told[0].contains(about), "{about}: {told:?}");
    }
    // A name that stands for nothing is told beside the fault of another.
    let mut plant = changed("/appliances/generator", json!({"engine": {}}));
    plant["timetable"][0]["appliance"] = json!("oven");
    let told = complaints(&[("plant", plant)]);
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(told.iter().any(|t| t.contains("\"oven\"")), "{told:?}");
}

#[test]
fn only_the_fillings_of_its_own_stage_are_offered() {
    for given in ["steel-wool", "damp-lime"] {
        let found = problems(&[("plant", changed("/cleaning/1/iron/material", json!(given)))]);
        let allowed = found[0].allowed.as_deref().unwrap_or_default();
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(
            allowed.contains("rusted-wool") && allowed.contains("iron-oxide-grains"),
            "{allowed}"
        );
        assert!(
            !allowed.contains("lime") && !allowed.contains("carbon"),
            "{allowed}"
        );
    }
}

#[test]
fn all_problems_come_at_once() {
    let mut plant = changed("/timetable/0/hours", json!(30));
    plant["timetable"][1]["appliance"] = json!("none");
    plant["store"]["bell"]["skirt_cm"] = json!(1);
    assert_eq!(complaints(&[("plant", plant)]).len(), 3);
    assert!(problems(&[("plant", json!({}))]).len() == 1);
}

#[test]
fn a_store_against_another_pressure_than_the_digester_is_told() {
    let told = warnings(&[("plant", changed("/store/bell/ballast_kg", json!(200)))]);
    let found = told.iter().any(|w| {
        w.starts_with("gas.store_pressure_mbar: The digester is computed against 8.0 mbar")
    });
    assert!(found, "{told:?}");
    let mut silent = plant();
    silent["cleaning"] = json!([{"water_trap": {}}]);
    let told = warnings(&[("plant", silent)]);
    assert!(!told.iter().any(|w| w.starts_with("gas.")), "{told:?}");
}

#[test]
fn the_schema_knows_the_plant() {
    let schema = schema();
    let plant = &schema["$defs"]["Plant"];
    for key in [
        "cleaning",
        "store",
        "appliances",
        "timetable",
        "flare",
        "line",
        "residue",
    ] {
        let described = plant["properties"][key].to_string();
        assert!(described.contains("description"), "{key}: {described}");
    }
    assert_eq!(plant["required"], json!(["store"]));
}

#[test]
fn a_use_may_belong_to_some_months_and_then_needs_a_date() {
    let months = json!(["may", "jun", 7]);
    let with_date = loaded(&[
        ("start_date", json!("2026-03-01")),
        ("plant", changed("/timetable/0/months", months.clone())),
    ]);
    let plant = with_date.case.plant.unwrap();
    let on: Vec<usize> = (0..12).filter(|m| plant.demands[0].months[*m]).collect();
    assert_eq!(on, [4, 5, 6]);
    assert!(plant.demands[1].months.iter().all(|m| *m));
    let told = complaint(&[
        ("start_date", Value::Null),
        ("plant", changed("/timetable/0/months", months)),
    ]);
    assert!(told.contains("start_date"), "{told}");
    let told = complaint(&[
        ("start_date", json!("2026-03-01")),
        ("plant", changed("/timetable/0/months", json!(["mai"]))),
    ]);
    assert!(told.contains("Did you mean \"may\"?"), "{told}");
}
