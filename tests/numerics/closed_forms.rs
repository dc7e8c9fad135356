//! Every method against closed forms (tests/data/solver/closed_forms.csv).

use std::collections::BTreeMap;

use marshgas::solver::{Integrator, Method, Options, System};

use crate::problems::*;
use crate::tables::{Row, number, parameters, rows};

const RTOL: f64 = 1e-8;

/// The explicit method would need more steps than the test has time for: the steady states are left to the others.
const LONGEST_EXPLICIT: f64 = 1e6;

fn parameter(row: &Row, key: &str) -> f64 {
    parameters(row)[key][0]
}

/// State at the end of the segments; before each of them `jump` is added.
fn integrate(
    mut system: Problem,
    method: Method,
    segments: &[(f64, f64)],
    jump: &[f64],
) -> Vec<f64> {
    let mut y = system.start.clone();
    let atol = vec![1e-3 * RTOL; y.len()];
    let mut integrator = Integrator::new(&system, Options::new(method, RTOL, atol)).unwrap();
    for &(t0, t1) in segments {
        y.iter_mut().zip(jump).for_each(|(y, jump)| *y += jump);
        integrator
            .advance(&mut system, t0, t1, &mut y, &mut |_| {})
            .unwrap();
    }
    assert_eq!(integrator.statistics().rhs, system.calls);
    y
}

/// Value of the row's quantity by integration.
fn value(row: &Row, method: Method) -> Option<f64> {
    let t = number(row, "t_d");
    if method == Method::Dopri5 && t > LONGEST_EXPLICIT {
        return None;
    }
    let p = |key: &str| parameter(row, key);
    let (system, index) = match row["form"].as_str() {
        "first_order_batch" => {
            // Nothing happens before the lag: the right-hand side jumps there, so the segment begins there.
            let y = integrate(
                first_order_batch(p("y_inf"), p("k")),
                method,
                &[(p("lag"), t)],
                &[0.0],
            );
            return Some(y[0]);
        }
        "feed_pulse_series" => {
            let mut segments = Vec::new();
            let interval = p("interval_d");
            let mut k = 0.0;
            while k * interval < t {
                segments.push((k * interval, t.min((k + 1.0) * interval)));
                k += 1.0;
            }
            let y = integrate(
                dosed(p("k"), p("D")),
                method,
                &segments,
                &[p("dose"), 0.0, 0.0],
            );
            let index = ["S", "converted", "washed_out"]
                .iter()
                .position(|q| *q == row["quantity"]);
            return index.map(|i| y[i]);
        }
        "chain_two_step" => {
            let index = ["S", "I", "P"].iter().position(|q| *q == row["quantity"])?;
            (chain(p("S0"), p("k1"), p("k2")), index)
        }
        "first_order_stirred_tank" => (stirred_tank(p("S0"), p("S_in"), p("k"), p("HRT")), 0),
        "saturation_batch" => (saturation(p("S0"), p("K"), p("vmax")), 0),
        "lumped_heat_sinusoid" => (
            heat(
                p("T0"),
                [
                    p("tau_d"),
                    p("T_mean"),
                    p("A"),
                    p("P_over_UA_K"),
                    p("period_d"),
                ],
            ),
            0,
        ),
        "growth_stirred_tank_steady" => {
            let system = growth([p("S_in"), p("K"), p("mu"), p("kd"), p("Y"), p("HRT")]);
            (system, usize::from(row["quantity"] == "X"))
        }
        other => panic!("no such form: {other}"),
    };
    Some(integrate(system, method, &[(0.0, t)], &[0.0; 3])[index])
}

#[test]
fn every_method_meets_every_closed_form() {
    let table = rows("closed_forms.csv");
    for method in Method::ALL {
        let mut worst: BTreeMap<&str, (f64, u32)> = BTreeMap::new();
        for row in &table {
            let Some(found) = value(row, method) else {
                continue;
            };
            let expected = number(row, "value");
            let tolerance = 1e-3 * RTOL + RTOL * expected.abs();
            // Twelve digits stand in the table.
            let error = (found - expected).abs() / (tolerance + 1e-12 * expected.abs());
            assert!(
                error < 10.0,
                "{method:?} {row:?}: {found} is {error:.1} tolerances off"
            );
            let entry = worst.entry(&row["form"]).or_default();
            *entry = (entry.0.max(error), entry.1 + 1);
        }
        println!("{method:?}: {worst:.2?}");
        let forms = if method == Method::Dopri5 { 6 } else { 7 };
        assert_eq!(worst.len(), forms, "every form was tried");
    }
}

#[test]
fn jump_values_are_met_at_the_last_output_point_of_each_segment() {
    // A wrong last point is the classical fault of an output grid kept beside the steps.
    for method in Method::ALL {
        let mut system = dosed(0.3, 0.05);
        let (rate, dose) = (0.35f64, 2.0);
        let options = Options::new(method, RTOL, vec![1e-3 * RTOL; 3]);
        let mut integrator = Integrator::new(&system, options).unwrap();
        let mut y = system.start.clone();
        let mut expected = 0.0;
        for day in 0..30 {
            y[0] += dose;
            expected += dose;
            let (t0, t1) = (f64::from(day), f64::from(day + 1));
            let mut last = (0.0, 0.0);
            integrator
                .advance(&mut system, t0, t1, &mut y, &mut |step| {
                    last = (step.end(), step.y_end()[0])
                })
                .unwrap();
            expected *= (-rate).exp();
            assert_eq!(last, (t1, y[0]), "{method:?} day {day}");
            assert!(
                (y[0] - expected).abs() < 10.0 * RTOL * expected,
                "{method:?} day {day}"
            );
        }
    }
}

#[test]
fn names_are_those_of_the_problem() {
    assert_eq!(chain(1.0, 1.0, 1.0).name(1), "chain 2");
}
