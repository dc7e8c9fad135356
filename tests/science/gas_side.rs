//! The gas side of whole runs: gas flows one way only, and the trajectory tells what the days sum up.

use marshgas::case::{Additive, Case, TemperatureCourse, Wave};
use marshgas::simulate::{Outcome, run};

use crate::cases::Sketch;

/// Ten tolerances of the integrator, each a millionth of what fills the gas space of 180 L; what came back through the
/// seal had been litres a day.
const KNOWN_TO_NL: f64 = 10.0 * 180e-6;

/// Twenty kilograms of digestate in 700 L of water, never fed, through a year's wave of temperature.
fn cooling() -> Case {
    let mut case = Sketch {
        liquid_l: 720.0,
        temperature_c: 12.0,
        days: 200,
        starter: vec![("digestate-cattle", 20.0)],
        starter_water_l: 700.0,
        feed: vec![],
        feed_water_l: 0.0,
        first_feed_day: 0,
    }
    .case();
    case.vessels[0].temperature = TemperatureCourse::Wave(Wave {
        mean_c: 12.0,
        yearly_swing_k: 10.0,
        hottest_day: 30.0,
        daily_swing_k: 0.0,
        hottest_hour: 15.0,
    });
    case
}

#[test]
fn no_gas_comes_back_through_a_water_seal() {
    let outcome = run(&cooling(), &mut |_| {}).unwrap();
    for row in &outcome.plant {
        assert!(
            row.gas_nl >= -KNOWN_TO_NL && row.ch4_nl >= -KNOWN_TO_NL,
            "day {}: {} NL, {} NL of methane",
            row.day,
            row.gas_nl,
            row.ch4_nl
        );
    }
    for point in &outcome.vessels[0].trace {
        assert!(
            point.gas_nl_d >= -KNOWN_TO_NL,
            "day {}: {} NL/d",
            point.t_d,
            point.gas_nl_d
        );
    }
    // Cooling from day 30 on draws the headspace together: the seal must hold that back, not just see no reason to.
    assert!(
        outcome.vessels[0]
            .trace
            .iter()
            .any(|p| p.pressure_mbar < 4.0)
    );
}

/// Fifteen grams of lime for each litre, where one or two are a dose.
#[test]
fn too_much_lime_ends_the_gas() {
    let mut case = Sketch {
        liquid_l: 100.0,
        temperature_c: 30.0,
        days: 40,
        starter: vec![("digestate-cattle", 100.0)],
        starter_water_l: 0.0,
        feed: vec![("cattle-dung", 0.5)],
        feed_water_l: 1.0,
        first_feed_day: 0,
    }
    .case();
    let healthy = run(&case, &mut |_| {}).unwrap();
    let dose = case.doses.iter_mut().find(|d| d.day > 20.0).unwrap();
    dose.additives = vec![(Additive::Lime, 1.5)];
    let limed = run(&case, &mut |_| {}).unwrap();
    assert!(limed.plant[25].ph > 9.0, "pH {}", limed.plant[25].ph);
    let methane =
        |outcome: &Outcome| -> f64 { outcome.plant[25..40].iter().map(|row| row.ch4_nl).sum() };
    assert!(
        methane(&limed) < 0.2 * methane(&healthy),
        "{} NL with lime, {} NL without",
        methane(&limed),
        methane(&healthy)
    );
}

#[test]
fn gas_comes_back_where_nothing_holds_it() {
    let mut case = cooling();
    case.gas.returns = true;
    let outcome = run(&case, &mut |_| {}).unwrap();
    assert!(outcome.plant.iter().any(|row| row.gas_nl < -0.1));
}

#[test]
fn the_trajectory_integrates_to_the_days() {
    let outcome = run(&cooling(), &mut |_| {}).unwrap();
    let trace = &outcome.vessels[0].trace;
    let integral: f64 = trace
        .windows(2)
        .map(|w| w[1].gas_nl_d * (w[1].t_d - w[0].t_d))
        .sum();
    let days: f64 = outcome.plant.iter().map(|row| row.gas_nl).sum();
    assert!(days > 1.0, "{days}");
    assert!(
        (integral - days).abs() <= 1e-6 * days,
        "trajectory {integral} NL, days {days} NL"
    );
}
