//! Independent integrators on whole runs: explicit against implicit, two implicit methods against each other.

use std::path::Path;

use marshgas::case::{Case, Dose, MethodKind};
use marshgas::digester::Tank;
use marshgas::scenario;
use marshgas::simulate::{Outcome, run};
use marshgas::solver::{Integrator, Method, Options};

use crate::cases::Sketch;

/// Days of each scenario: the explicit method is bounded by hydrogen's turnover of seconds, a hundred thousand steps
/// a day.
const DAYS: u32 = 2;
/// Shortened runs are compared at this tolerance; they agree within ten times as much.
const RTOL: f64 = 1e-5;

/// The first days of a ready scenario with its own temperatures, fed at once and made to overflow half a day later.
fn shortened(name: &str) -> Case {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenarios/{name}.json"));
    let mut case = scenario::load(&path).unwrap().case;
    let room: f64 = case.vessels.iter().map(|v| 1000.0 * v.liquid_m3).sum();
    let filled = case.starter.parts.iter().map(|(_, kg)| kg).sum::<f64>() + case.starter.water_kg;
    let fed = case.doses.iter().find(|d| !d.parts.is_empty());
    let parts = fed.map_or_else(Vec::new, |d| d.parts.clone());
    case.days = DAYS;
    case.doses.retain(|d| d.day < f64::from(DAYS));
    case.solver.relative_tolerance = RTOL;
    // A steady stream keeps its vessel at the brim.
    if case.inflow.is_none() {
        let dose = |day: f64, parts: Vec<(usize, f64)>, water_kg: f64| Dose {
            day,
            parts,
            water_kg,
            additives: vec![],
        };
        case.doses.push(dose(0.0, parts, 0.01 * room));
        case.doses
            .push(dose(0.5, vec![], room - filled + 0.05 * room));
        case.doses.sort_by(|a, b| a.day.total_cmp(&b.day));
    }
    case
}

fn close(name: &str, what: &str, a: f64, b: f64, scale: f64) {
    let allowed = 10.0 * RTOL * a.abs().max(b.abs()).max(scale);
    assert!(
        (a - b).abs() <= allowed,
        "{name}: {what} {a} implicit, {b} explicit"
    );
}

/// The gas of a day is what the headspace passed on, so it is known to a share of what that holds.
fn compare(name: &str, headspace_l: f64, a: &Outcome, b: &Outcome) {
    for (x, y) in a.plant.iter().zip(&b.plant) {
        close(name, "gas", x.gas_nl, y.gas_nl, headspace_l);
        close(name, "methane", x.ch4_nl, y.ch4_nl, headspace_l);
        close(name, "pH", x.ph, y.ph, 0.0);
        close(name, "acids", x.acids_mg_l, y.acids_mg_l, 10.0);
        close(
            name,
            "alkalinity",
            x.alkalinity_mg_l,
            y.alkalinity_mg_l,
            10.0,
        );
    }
}

fn explicit_agrees(name: &str) {
    let mut case = shortened(name);
    let implicit = run(&case, &mut |_| {}).unwrap();
    assert!(
        case.inflow.is_some() || implicit.plant[0].overflow_l > 0.0,
        "{name}: no overflow"
    );
    case.solver.method = MethodKind::Explicit;
    let explicit = run(&case, &mut |_| {}).unwrap();
    println!("{name}: {:?}", explicit.solver);
    let headspace_l = case.vessels.iter().map(|v| 1000.0 * v.headspace_m3).sum();
    compare(name, headspace_l, &implicit, &explicit);
}

#[test]
fn explicit_agrees_with_implicit() {
    let names = crate::golden::names();
    assert!(names.len() >= 8);
    for name in names {
        explicit_agrees(&name);
    }
}

/// A year of a fed tank by one implicit method, its outlet in pieces or rounded: state after the last day, and the
/// absolute tolerances.
fn year(method: Method, in_pieces: bool) -> (Vec<f64>, Vec<f64>) {
    let case = Sketch {
        liquid_l: 800.0,
        temperature_c: 30.0,
        days: 365,
        starter: vec![("digestate-cattle", 800.0)],
        starter_water_l: 0.0,
        feed: vec![("kitchen-scraps", 2.0), ("cattle-dung", 2.0)],
        feed_water_l: 12.0,
        first_feed_day: 0,
    }
    .case();
    let engine = marshgas::simulate::engine(&case).unwrap();
    let network = &engine.network;
    let loads: Vec<_> = case
        .materials
        .iter()
        .map(|m| marshgas::kinetics::load_of_material(network, &engine.acid_base, &m.composition))
        .collect();
    let mix = |parts: &[(usize, f64)], water: f64| {
        let mut load = marshgas::kinetics::Load::empty(network);
        for &(i, kg) in parts {
            load.add(&loads[i], kg);
        }
        load.add_water(water);
        load
    };
    let v = &case.vessels[0];
    let plumbing = marshgas::digester::Plumbing {
        kla: v.kla_per_d,
        ambient_bar: case.gas.ambient_bar,
        back_pressure_bar: case.gas.back_pressure_bar,
        pipe: case.gas.pipe_m3_per_d_bar,
        returns: false,
        leak: 0.0,
        inflow: None,
        held_back: 0.0,
    };
    let course = v.temperature.clone();
    let mut tank = Tank::new(
        engine.clone(),
        plumbing,
        course,
        v.liquid_m3,
        v.headspace_m3,
    );
    if in_pieces {
        tank = tank.in_pieces();
    }
    let layout = *tank.layout();
    let mut y = vec![0.0; layout.dim()];
    let filling = mix(&case.starter.parts, case.starter.water_kg);
    for (value, a) in y.iter_mut().zip(&filling.amount) {
        *value = a / filling.volume_m3;
    }
    for (p, pool) in network.pools.iter().enumerate() {
        tank.coefficients[pool.coefficient] = filling.pool_speed[p] / filling.pool_amount[p];
    }
    y[layout.temperature()] = 303.15;
    let air = v.headspace_m3 / (0.083_144_626 * 303.15);
    y[layout.gas(layout.gases - 1)] = air;
    let mut atol: Vec<f64> = network.components.iter().map(|c| c.tolerance).collect();
    atol.resize(layout.dim(), 1e-7 * air);
    let mut integrator = Integrator::new(&tank, Options::new(method, 1e-6, atol.clone())).unwrap();
    let outlet = marshgas::digester::Outlet {
        level_m3: v.liquid_m3,
        held_back: 0.0,
        short_circuit: 0.0,
    };
    let mut t = 0.0;
    for dose in &case.doses {
        integrator
            .advance(&mut tank, t, dose.day, &mut y, &mut |_| {})
            .unwrap();
        t = dose.day;
        tank.dose(&mut y, &mix(&dose.parts, dose.water_kg), &outlet);
    }
    integrator
        .advance(&mut tank, t, 365.0, &mut y, &mut |_| {})
        .unwrap();
    (y, atol)
}

/// Two years agree within ten tolerances, state by state.
fn same_year(a: &(Vec<f64>, Vec<f64>), b: &(Vec<f64>, Vec<f64>)) {
    for (i, ((x, y), atol)) in a.0.iter().zip(&b.0).zip(&a.1).enumerate() {
        let allowed = 1e-5 * x.abs().max(y.abs()) + 10.0 * atol;
        assert!((x - y).abs() <= allowed, "state {i}: {x} and {y}");
    }
    assert!(a.0.iter().any(|v| *v > 1.0));
}

#[test]
fn two_implicit_methods_agree_on_a_year() {
    same_year(&year(Method::Rodas5P, true), &year(Method::Rodas4, true));
}

#[test]
fn the_outlet_in_pieces_and_rounded_agree_on_a_year() {
    same_year(&year(Method::Rodas5P, true), &year(Method::Rodas5P, false));
}
