//! At the edge of what can be asked for: what physics says must come out.

use marshgas::simulate::{Outcome, RunFailure, run};
use serde_json::{Value, json};

use crate::support::{sound, with};

/// Norm litres of methane from a kilogram of COD: 22.414 m3/kmol over 64 kg COD/kmol.
const CH4_NL_PER_KG_COD: f64 = 350.2;
/// Methane that a pure fat can give at most \[NL/kg\]: C57H104O6 by Buswell's equation, as for triolein.
const FAT_CH4_NL_PER_KG: f64 = 1014.0;

fn outcome(scenario: &Value) -> Outcome {
    run(&sound(scenario).case, &mut |_| {})
        .unwrap_or_else(|failure: RunFailure| panic!("{failure}"))
}

fn ran(changes: &[(&str, Value)]) -> Outcome {
    outcome(&with(changes))
}

fn methane(outcome: &Outcome) -> f64 {
    outcome
        .plant
        .iter()
        .map(|d| d.ch4_nl + d.leaked_ch4_nl)
        .sum()
}

fn close(what: &str, found: f64, expected: f64, share: f64) {
    assert!(
        (found - expected).abs() <= share * expected.abs(),
        "{what}: {found}, expected {expected}"
    );
}

#[test]
fn nothing_fed_gives_what_the_filling_holds_and_then_nothing() {
    let fed_nothing = ran(&[("feeding", json!([])), ("days", json!(730))]);
    let total = methane(&fed_nothing);
    let most = CH4_NL_PER_KG_COD * fed_nothing.fate.start;
    assert!(total > 0.1 * most && total < most, "{total} of {most}");
    let of = |days: std::ops::Range<usize>| -> f64 {
        fed_nothing.plant[days].iter().map(|d| d.ch4_nl).sum()
    };
    assert!(
        of(670..730) < 0.02 * of(0..60),
        "{} {}",
        of(670..730),
        of(0..60)
    );
    assert!(fed_nothing.plant.iter().all(|d| d.overflow_l == 0.0));
    let f = &fed_nothing.fate;
    close("COD", f.methane + f.hydrogen + f.left, f.start, 1e-6);
}

#[test]
fn nothing_living_makes_neither_acids_nor_methane() {
    // Oil and sugar carry nothing that lives; what grows on them has to come from somewhere.
    let dead = ran(&[
        (
            "materials",
            json!({"syrup": {"label_per_100_g": {
                "water_g": 20, "carbohydrate_g": 80, "fibre_g": 0, "protein_g": 0, "fat_g": 0
            }}}),
        ),
        (
            "starter",
            json!({"materials": [{"material": "syrup", "kg": 8}], "water_l": 792}),
        ),
        ("feeding", json!([])),
    ]);
    assert_eq!(methane(&dead), 0.0);
    for day in &dead.plant {
        assert!(day.acids_mg_l.abs() < 0.1, "{day:?}");
    }
    close(
        "the sugar is still there",
        dead.fate.left,
        dead.fate.start,
        1e-6,
    );
}

/// Saturation pressure of water over its liquid \[bar\]: 0.6113 kPa at 0 C and 19.95 kPa at 60 C (steam tables).
#[test]
fn at_freezing_and_at_sixty_degrees_nothing_lives_and_the_vapour_follows_the_steam_table() {
    for (celsius, vapour_bar) in [(0.0, 0.006_113), (60.0, 0.1995)] {
        let run = ran(&[("vessels[0].temperature", json!({"constant_c": celsius}))]);
        let fed: f64 = run.plant.iter().map(|d| d.theoretical_ch4_nl).sum();
        assert!(methane(&run) < 1e-3 * fed, "{celsius} C: {}", methane(&run));
        let point = run.vessels[0].trace.last().unwrap();
        let pressure = 1.013_25 + 1e-3 * point.pressure_mbar;
        let share = run.plant.last().unwrap().vapour_share;
        close("vapour", share * pressure, vapour_bar, 0.01);
    }
}

/// pKw at 35 C is 13.68 (Harned and Owen 1958).
#[test]
fn pure_water_stays_neutral_and_gives_nothing() {
    let water = ran(&[
        ("starter", json!({"water_l": 800})),
        ("recipes.bucket", json!({"water_l": 10})),
    ]);
    let last = water.plant.last().unwrap();
    assert!((last.ph - 13.68 / 2.0).abs() < 0.01, "{}", last.ph);
    assert_eq!(methane(&water), 0.0);
    assert_eq!((water.fate.start, water.fate.fed), (0.0, 0.0));
    assert!(!last.burns);
    close("it all runs out again", last.overflow_l, 10.0, 1e-9);
}

#[test]
fn pure_fat_gives_at_most_its_theory_and_most_of_it_in_time() {
    let fat = json!({"lard": {"label_per_100_g": {
        "water_g": 0, "carbohydrate_g": 0, "fibre_g": 0, "protein_g": 0, "fat_g": 100
    }}});
    let with_fat = |kg: f64| {
        ran(&[
            ("days", json!(400)),
            ("materials", fat.clone()),
            (
                "starter",
                json!({"materials": [{"material": "digestate-cattle", "kg": 600}]}),
            ),
            (
                "recipes.bucket",
                json!({"materials": [{"material": "lard", "kg": kg}]}),
            ),
            (
                "feeding",
                json!([{"on": {"recipe": "bucket", "days": [20]}}]),
            ),
        ])
    };
    let kg = 0.5;
    let gained = methane(&with_fat(kg)) - methane(&with_fat(0.0));
    let most = kg * FAT_CH4_NL_PER_KG;
    assert!(gained < most && gained > 0.7 * most, "{gained} of {most}");
}

#[test]
fn where_carbon_runs_out_uptake_ends_and_the_published_network_says_that_it_does_not() {
    let lard = |network: &str| {
        with(&[
            ("days", json!(30)),
            ("model", json!({"network": network})),
            (
                "materials",
                json!({"lard": {"label_per_100_g": {
                    "water_g": 0, "carbohydrate_g": 0, "fibre_g": 0, "protein_g": 0, "fat_g": 100
                }}}),
            ),
            (
                "starter",
                json!({"materials": [
                    {"material": "lard", "kg": 50}, {"material": "cattle-slurry", "kg": 1}
                ], "water_l": 700}),
            ),
            ("feeding", json!([])),
        ])
    };
    let ended = outcome(&lard("four-stage"));
    assert!(ended.fate.left > 0.9 * ended.fate.start);
    let failure = run(&sound(&lard("adm1")).case, &mut |_| {}).unwrap_err();
    let RunFailure::Negative { component, .. } = &failure else {
        panic!("{failure}")
    };
    assert_eq!(component, "S_IC");
}

#[test]
fn twenty_times_the_feed_turns_it_sour_and_costs_the_methane() {
    let fed = |amount: f64| {
        ran(&[
            ("days", json!(200)),
            // Scraps alone: neither dung, which brings life and buffer, nor water.
            (
                "recipes.bucket",
                json!({"materials": [{"material": "kitchen-scraps", "kg": 3}]}),
            ),
            (
                "feeding[0].daily",
                json!({"recipe": "bucket", "from_day": 14, "amount": amount}),
            ),
        ])
    };
    let (usual, heaped) = (fed(1.0), fed(20.0));
    let last = |run: &Outcome| *run.plant.last().unwrap();
    assert!(
        !last(&usual).sour && last(&usual).ph > 6.5,
        "{}",
        last(&usual).ph
    );
    assert!(
        last(&heaped).sour && last(&heaped).ph < 6.0,
        "{:?}",
        last(&heaped)
    );
    // Twenty times as much food gives less than one time did.
    assert!(last(&heaped).ch4_nl < last(&usual).ch4_nl);
    assert!(last(&heaped).acids_mg_l > 5000.0);
}

#[test]
fn a_leak_larger_than_the_production_takes_the_gas_but_not_the_methane_made() {
    let tight = ran(&[]);
    let open = ran(&[("vessels[0].leak_l_per_d", json!(1e5))]);
    let day = |run: &Outcome| *run.plant.last().unwrap();
    assert!(day(&tight).gas_nl > 10.0);
    assert!(day(&open).gas_nl.abs() < 1e-6, "{}", day(&open).gas_nl);
    close("leaked", day(&open).leaked_ch4_nl, day(&tight).ch4_nl, 0.01);
    let over = open.vessels[0].trace.last().unwrap().pressure_mbar;
    assert!((0.0..8.0).contains(&over), "{over} mbar");
}

#[test]
fn a_headspace_of_a_tenth_of_a_litre_passes_the_same_gas() {
    let wide = ran(&[]);
    let tight = ran(&[
        ("vessels[0].headspace_l", json!(0.1)),
        // Full to the outlet, or the room above the liquor counts as headspace.
        ("starter.water_l", json!(500)),
    ]);
    let same = ran(&[("starter.water_l", json!(500))]);
    let day = |run: &Outcome| *run.plant.last().unwrap();
    close("gas", day(&tight).gas_nl, day(&same).gas_nl, 0.01);
    close("methane", day(&tight).ch4_share, day(&same).ch4_share, 0.01);
    assert!(day(&wide).gas_nl > 0.0);
}

/// The same digester in another size: all weights, volumes and streams go along.
fn scaled(factor: f64) -> Outcome {
    ran(&[
        ("vessels[0].liquid_l", json!(800.0 * factor)),
        ("vessels[0].headspace_l", json!(200.0 * factor)),
        ("starter.materials[0].kg", json!(300.0 * factor)),
        ("starter.water_l", json!(300.0 * factor)),
        ("recipes.bucket.materials[0].kg", json!(2.0 * factor)),
        ("recipes.bucket.materials[1].kg", json!(factor)),
        ("recipes.bucket.water_l", json!(4.0 * factor)),
    ])
}

#[test]
fn a_litre_and_ten_thousand_cubic_metres_do_the_same_per_litre() {
    let usual = scaled(1.0);
    for liquid_l in [1.0, 1e7] {
        let factor = liquid_l / 800.0;
        let other = scaled(factor);
        for (a, b) in usual.plant.iter().zip(&other.plant) {
            close("gas", b.gas_nl / factor, a.gas_nl, 1e-3);
            close("acids", b.acids_mg_l, a.acids_mg_l, 1e-3);
            assert!((a.ph - b.ph).abs() < 1e-3, "{} {}", a.ph, b.ph);
        }
    }
}

#[test]
fn after_twenty_years_nothing_drifts() {
    let long = ran(&[
        ("days", json!(7300)),
        (
            "feeding[0].daily",
            json!({"recipe": "bucket", "from_day": 0}),
        ),
    ]);
    assert_eq!(long.plant.len(), 7300);
    let (settled, last) = (&long.plant[3650], &long.plant[7299]);
    close("gas", last.gas_nl, settled.gas_nl, 1e-4);
    close("acids", last.acids_mg_l, settled.acids_mg_l, 1e-4);
    assert!((last.ph - settled.ph).abs() < 1e-4);
    for closure in &long.closures {
        assert!(closure.relative_gap < 1e-9, "{closure:?}");
    }
}
