//! The numbers of a scenario by address.

use marshgas::scenario::{get_number, list_numbers, set_number, templates};
use serde_json::{Value, json};

use crate::support::{good, sound, with};

#[test]
fn every_number_is_listed_in_the_order_of_the_file() {
    let paths: Vec<String> = list_numbers(&good()).into_iter().map(|n| n.0).collect();
    assert_eq!(
        paths,
        [
            "days",
            "vessels[0].liquid_l",
            "vessels[0].headspace_l",
            "vessels[0].temperature.constant_c",
            "gas.store_pressure_mbar",
            "starter.materials[0].kg",
            "starter.water_l",
            "recipes.bucket.materials[0].kg",
            "recipes.bucket.materials[1].kg",
            "recipes.bucket.water_l",
            "feeding[0].daily.from_day",
        ]
    );
}

#[test]
fn what_is_listed_can_be_set_and_read_back() {
    let texts = templates().iter().map(|t| t.text);
    let odd = with(&[("recipes", json!({"mother's soup.1 [x]": {"water_l": 2}}))]);
    for mut scenario in texts
        .map(|text| serde_json::from_str::<Value>(text).unwrap())
        .chain([odd])
    {
        let numbers = list_numbers(&scenario);
        assert!(numbers.len() > 5);
        for (path, value) in &numbers {
            assert_eq!(get_number(&scenario, path).as_ref(), Ok(value), "{path}");
            let before = scenario.clone();
            set_number(&mut scenario, path, value + 1.25).unwrap();
            assert_eq!(get_number(&scenario, path), Ok(value + 1.25), "{path}");
            set_number(&mut scenario, path, *value).unwrap();
            let numbers_again = list_numbers(&scenario);
            assert_eq!(numbers_again, numbers, "{path}");
            drop(before);
        }
    }
}

#[test]
fn a_changed_number_reaches_the_case() {
    let mut scenario = good();
    set_number(&mut scenario, "vessels[0].liquid_l", 1000.5).unwrap();
    set_number(&mut scenario, "recipes.bucket.water_l", 6.0).unwrap();
    set_number(&mut scenario, "days", 50.0).unwrap();
    let case = sound(&scenario).case;
    assert_eq!(case.vessels[0].liquid_m3, 1.0005);
    assert_eq!(case.doses[0].water_kg, 6.0);
    assert_eq!(case.days, 50);
}

#[test]
fn whole_numbers_stay_whole() {
    let mut scenario = good();
    set_number(&mut scenario, "days", 50.0).unwrap();
    assert_eq!(scenario["days"].to_string(), "50");
    set_number(&mut scenario, "days", 50.5).unwrap();
    assert_eq!(scenario["days"].to_string(), "50.5");
}

#[test]
fn what_cannot_be_set_is_explained() {
    let cases = [
        (
            "vessels[0].liquid",
            "the scenario has no `vessels[0].liquid`: `vessels[0]` holds name, liquid_l, headspace_l, temperature; a \
             value that only has a default must first be written into the scenario. Did you mean \"liquid_l\"?",
        ),
        (
            "dayz",
            "the scenario has no `dayz`: it holds title, start_date, days, vessels, gas, starter, recipes, feeding; a \
             value that only has a default must first be written into the scenario. Did you mean \"days\"?",
        ),
        (
            "vessels[3].liquid_l",
            "the scenario has no `vessels[3]`: the list holds 1, counted from 0",
        ),
        (
            "days.length",
            "the scenario has no `days.length`: what stands before it is a number",
        ),
        (
            "days[0]",
            "the scenario has no `days[0]`: what stands before it is a number",
        ),
        (
            "vessels[0].name",
            "`vessels[0].name` is no number: it is the text \"tote\"",
        ),
        ("vessels", "`vessels` is no number: it is a list of 1"),
        (
            "gas",
            "`gas` is no number: it is a group of store_pressure_mbar",
        ),
        (
            "vessels[a].liquid_l",
            "`vessels[a].liquid_l` is not an address of a value: the place in a list is a whole number from 0; write \
             it like vessels[0].liquid_l or recipes.scraps.water_l",
        ),
        (
            "",
            "`` is not an address of a value: it is empty; write it like vessels[0].liquid_l or \
             recipes.scraps.water_l",
        ),
    ];
    for (path, expected) in cases {
        let mut scenario = good();
        let error = set_number(&mut scenario, path, 1.0).unwrap_err();
        assert_eq!(error.to_string(), expected);
        assert_eq!(scenario, good());
        assert_eq!(get_number(&scenario, path), Err(error));
    }
    let mut scenario = good();
    let error = set_number(&mut scenario, "days", f64::NAN).unwrap_err();
    assert_eq!(
        error.to_string(),
        "`days` cannot be set to NaN: it must be finite"
    );
    assert!(set_number(&mut scenario, "days", f64::INFINITY).is_err());
}
