//! Cost of one right-hand side and of one Jacobian.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "criterion makes undocumented functions; a bench that cannot run must stop"
)]

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use marshgas::digester::{Engine, Plumbing, Tank, TemperatureCourse, Wave};
use marshgas::kinetics::{Network, Parameters, adm1, four_stage};
use marshgas::solver::System;

fn tank(network: Network, davies: bool) -> Tank {
    let plumbing = Plumbing {
        kla: 20.0,
        ambient_bar: 1.013,
        back_pressure_bar: 0.008,
        pipe: 500.0,
        returns: false,
        leak: 0.0,
        inflow: None,
        held_back: 0.0,
    };
    let wave = Wave {
        mean_c: 22.0,
        yearly_swing_k: 8.0,
        hottest_day: 200.0,
        daily_swing_k: 0.0,
        hottest_hour: 15.0,
    };
    Tank::new(
        Arc::new(Engine::new(network, davies)),
        plumbing,
        TemperatureCourse::Wave(wave),
        0.8,
        0.2,
    )
}

fn state(tank: &Tank) -> Vec<f64> {
    let l = *tank.layout();
    let mut y = vec![0.3; l.dim()];
    for (i, c) in tank.engine().network.components.iter().enumerate() {
        match c.name {
            "S_h2" => y[i] = 3e-7,
            "S_IC" => y[i] = 0.12,
            "S_IN" => y[i] = 0.09,
            "S_IS" => y[i] = 0.002,
            "S_ion" | "S_cat" => y[i] = 0.05,
            "S_an" => y[i] = 0.01,
            _ => {}
        }
    }
    for g in 0..l.gases {
        y[l.gas(g)] = [1e-6, 0.004, 0.0035, 2e-6, 0.0003][g];
    }
    y[l.temperature()] = 301.3;
    y
}

fn bench(c: &mut Criterion) {
    let networks: [(&str, Network, bool); 2] = [
        (
            "four-stage davies",
            four_stage(&Parameters::four_stage()).unwrap(),
            true,
        ),
        ("adm1 ideal", adm1(&Parameters::adm1()).unwrap(), false),
    ];
    for (name, network, davies) in networks {
        let mut tank = tank(network, davies);
        let base = state(&tank);
        let n = base.len();
        let (mut dy, mut dt) = (vec![0.0; n], vec![0.0; n]);
        let mut values = vec![0.0; tank.pattern().entries.len()];
        // States wander a little, as between the stages of a step, so that pH must be solved anew each time.
        let mut y = base.clone();
        let mut k = 0_u32;
        let temperature = tank.layout().temperature();
        let mut wander = move |y: &mut [f64]| {
            k = k.wrapping_add(1);
            let f = 1.0 + 1e-3 * f64::from(k % 7);
            for (v, b) in y.iter_mut().zip(&base) {
                *v = b * f;
            }
            y[temperature] = 301.3 + 0.01 * f64::from(k % 7);
        };
        c.bench_function(&format!("{name}: right-hand side"), |b| {
            b.iter(|| {
                wander(&mut y);
                tank.rhs(0.0, black_box(&y), &mut dy).unwrap();
            });
        });
        c.bench_function(&format!("{name}: Jacobian"), |b| {
            b.iter(|| {
                wander(&mut y);
                tank.jacobian(0.0, black_box(&y), &mut dy, &mut dt, &mut values)
                    .unwrap();
            });
        });
        println!("{name}: {} states, {} entries", n, values.len());
    }
}

criterion_group!(benches, bench);
criterion_main!(benches);
