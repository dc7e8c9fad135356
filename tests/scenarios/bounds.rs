//! Numbers that are each in range but make no digester together.

use serde_json::{Value, json};

use crate::support::{complaint, complaints, loaded};

#[test]
fn a_headspace_is_no_film_over_the_liquor() {
    // 800 L of liquid: at least 0.08 L.
    let vessel = |liquid: f64, gas: f64| {
        [
            ("vessels[0].liquid_l", json!(liquid)),
            ("vessels[0].headspace_l", json!(gas)),
        ]
    };
    assert!(complaints(&vessel(1000.0, 0.1)).is_empty());
    let told = complaint(&vessel(2000.0, 0.1));
    assert!(
        told.starts_with("vessels[0].headspace_l is 0.1") && told.contains("at least 0.2 L"),
        "{told}"
    );
}

#[test]
fn a_pipe_is_not_so_wide_that_a_headspace_empties_within_a_second() {
    // 200 L at 1.01325 bar, 86 400 times a day.
    let most: f64 = 0.2 * 86_400.0 / 1.013_25;
    let pipe = |l: f64| [("gas.pipe_l_per_d_per_mbar", json!(l))];
    assert!(complaints(&pipe(most - 1.0)).is_empty());
    let told = complaint(&pipe(most + 1.0));
    assert!(
        told.contains("gas.pipe_l_per_d_per_mbar is") && told.contains("at most 17054 L per day"),
        "{told}"
    );
}

#[test]
fn the_usual_pipe_keeps_to_that_bound_too() {
    let case = loaded(&[
        ("vessels[0].headspace_l", json!(10)),
        ("starter.water_l", json!(500)),
    ])
    .case;
    let most = 0.01 * 86_400.0 / 1.013_25;
    assert!((case.gas.pipe_m3_per_d_bar - most).abs() < 1e-9 * most);
}

fn dosed(dose: Value) -> [(&'static str, Value); 1] {
    [("feeding[1]", json!({ "dose": dose }))]
}

#[test]
fn what_is_dosed_dissolves_in_what_is_there_at_the_time() {
    // 600 L from the start, 10 L of water with the dose: 96 g/L and 1.7 g/L (CRC Handbook).
    let with = |key: &str, grams: f64| dosed(json!({"days": [3], "water_l": 10, key: grams}));
    for (key, most) in [("bicarbonate_g", 58_560.0), ("lime_g", 1037.0)] {
        assert!(complaints(&with(key, most - 1.0)).is_empty(), "{key}");
        let told = complaint(&with(key, most + 1.0));
        let path = format!("feeding[1].dose.{key} is {}", most + 1.0);
        let allowed = format!("0 to {most} g");
        assert!(
            told.starts_with(&path) && told.contains(&allowed) && told.contains("day 3"),
            "{told}"
        );
    }
}

#[test]
fn salts_do_not_heap_up_to_a_brine() {
    // Nothing but salt comes in: 20 kg each into 600 L, 57.6 kg of which dissolve.
    let days = |count: usize| {
        let days: Vec<usize> = (1..=count).collect();
        let mut changes = dosed(json!({"days": days, "bicarbonate_g": 20_000})).to_vec();
        changes.push(("feeding[0].daily.from_day", json!(90)));
        complaints(&changes)
    };
    assert!(days(2).is_empty());
    let told = days(3);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].contains("100 g of salt to the litre on day 3"),
        "{told:?}"
    );
    // Spoonfuls of lime for years are none.
    let spoonfuls: Vec<usize> = (0..100).collect();
    assert!(complaints(&dosed(json!({"days": spoonfuls, "lime_g": 50}))).is_empty());
}
