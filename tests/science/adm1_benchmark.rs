//! The tank of the published ADM1 benchmark, for tests that need one.

use std::sync::Arc;

use marshgas::digester::{Engine, Plumbing, Tank, TemperatureCourse};
use marshgas::kinetics::{Parameters, adm1};

pub(crate) fn reference() -> serde_json::Value {
    serde_json::from_str(include_str!("../../src/study/data/benchmark.json")).unwrap()
}

/// The benchmark's tank: 3400 m3 of liquor under 300 m3 of gas, fed 170 m3/d at 35 C.
pub(crate) fn benchmark_tank(flow: f64) -> Tank {
    let network = adm1(&Parameters::adm1()).unwrap();
    let reference = reference();
    let incoming = network
        .components
        .iter()
        .map(|c| reference["influent"][c.name].as_f64().unwrap())
        .collect();
    let plumbing = Plumbing {
        kla: 200.0,
        ambient_bar: 1.013,
        back_pressure_bar: 0.0,
        pipe: 5e4,
        returns: true,
        leak: 0.0,
        inflow: Some((flow, incoming)),
        held_back: 0.0,
    };
    let engine = Arc::new(Engine::new(network, false));
    Tank::new(
        engine,
        plumbing,
        TemperatureCourse::Constant(35.0),
        3400.0,
        300.0,
    )
}

/// State vector of the published steady state.
pub(crate) fn published_state(tank: &Tank, field: &str) -> Vec<f64> {
    let r = reference();
    let l = *tank.layout();
    let mut y = vec![0.0; l.dim()];
    let engine = Arc::clone(tank.engine());
    for (i, c) in engine.network.components.iter().enumerate() {
        y[i] = r["steady"][c.name][field].as_f64().unwrap();
    }
    // Headspace in kmol: kg COD/m3 over 16 or 64, times 300 m3.
    for (g, (name, cod)) in [("S_gas_h2", 16.0), ("S_gas_ch4", 64.0), ("S_gas_co2", 1.0)]
        .into_iter()
        .enumerate()
    {
        y[l.gas(g)] = r["steady"][name][field].as_f64().unwrap() / cod * 300.0;
    }
    y[l.temperature()] = 308.15;
    y
}

use marshgas::solver::{Integrator, Method, Options};

/// Integrates long enough for the start to be forgotten.
pub(crate) fn settle(mut y: Vec<f64>, tank: &mut Tank, days: f64) -> Vec<f64> {
    let atol = (0..y.len()).map(|i| 1e-9 * y[i].abs().max(1e-6)).collect();
    let mut integrator = Integrator::new(tank, Options::new(Method::Rodas5P, 1e-7, atol)).unwrap();
    integrator
        .advance(tank, 0.0, days, &mut y, &mut |_| {})
        .unwrap();
    println!("{:?}", integrator.statistics());
    y
}
