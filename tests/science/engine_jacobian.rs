//! The exact Jacobian of a tank against central differences of its right-hand side.

use std::sync::Arc;

use marshgas::digester::{Engine, Plumbing, Tank, TemperatureCourse, Wave};
use marshgas::kinetics::{Network, Parameters, adm1, four_stage};
use marshgas::solver::System;

use crate::table::assert_absolute;

fn tank(network: Network, davies: bool, leak: f64, stream: bool, returns: bool) -> Tank {
    let incoming: Vec<f64> = (0..network.components.len())
        .map(|i| 0.01 * (i + 1) as f64)
        .collect();
    let plumbing = Plumbing {
        kla: 20.0,
        ambient_bar: 1.013,
        back_pressure_bar: 0.008,
        pipe: 500.0,
        returns,
        leak,
        inflow: stream.then_some((0.02, incoming)),
        held_back: 0.3,
    };
    let wave = Wave {
        mean_c: 22.0,
        yearly_swing_k: 8.0,
        hottest_day: 200.0,
        daily_swing_k: 2.0,
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
    let mut y: Vec<f64> = (0..l.dim())
        .map(|i| 0.3 + 0.07 * ((i * 7) % 11) as f64)
        .collect();
    let engine = Arc::clone(tank.engine());
    for (i, c) in engine.network.components.iter().enumerate() {
        match c.name {
            "S_h2" => y[i] = 3e-6,
            "S_IC" => y[i] = 0.12,
            "S_IN" => y[i] = 0.09,
            "S_IS" => y[i] = 0.002,
            "S_ion" | "S_cat" => y[i] = 0.05,
            "S_an" => y[i] = 0.01,
            "S_ac" => y[i] = 1.3,
            _ => {}
        }
    }
    for g in 0..l.gases {
        y[l.gas(g)] = [1e-6, 0.004, 0.0035, 2e-6, 0.0003][g];
    }
    y[l.temperature()] = 301.3;
    y
}

/// The Jacobian with the auxiliary unknowns eliminated, `A - U D^-1 V`.
fn reduced(tank: &mut Tank, t: f64, y: &[f64]) -> Vec<Vec<f64>> {
    let pattern = tank.pattern().clone();
    let n = pattern.dim;
    let mut values = vec![0.0; pattern.entries.len()];
    let (mut dy, mut dt) = (vec![0.0; n], vec![0.0; n]);
    tank.jacobian(t, y, &mut dy, &mut dt, &mut values).unwrap();
    let m = n + pattern.aux;
    let mut full = vec![vec![0.0; m]; m];
    for (&(r, c), v) in pattern.entries.iter().zip(&values) {
        full[usize::from(r)][usize::from(c)] += v;
    }
    for p in (n..m).rev() {
        let (above, pivot) = full.split_at_mut(p);
        for row in above {
            let f = row[p] / pivot[0][p];
            for (v, w) in row.iter_mut().zip(&pivot[0]).take(p) {
                *v -= f * w;
            }
        }
    }
    full.truncate(n);
    full
}

pub(crate) fn check(mut tank: Tank) {
    let y = state(&tank);
    let n = y.len();
    let exact = reduced(&mut tank, 3.3, &y);
    let (mut up, mut down) = (vec![0.0; n], vec![0.0; n]);
    let mut worst: f64 = 0.0;
    for c in 0..n {
        let h = 1e-6 * y[c].abs().max(1e-9);
        let mut z = y.clone();
        z[c] = y[c] + h;
        tank.rhs(3.3, &z, &mut up).unwrap();
        z[c] = y[c] - h;
        tank.rhs(3.3, &z, &mut down).unwrap();
        for r in 0..n {
            let difference = (up[r] - down[r]) / (2.0 * h);
            // Rounding of the difference: a sum is known to the last digits of the largest term that cancels in it, and
            // each term is about its slope by one state times that state.
            let largest = exact[r]
                .iter()
                .zip(&y)
                .fold(0.0, |m: f64, (slope, y)| m.max((slope * y).abs()));
            let floor = 1e-13 * largest / h + 1e-6 * difference.abs();
            let gap = (exact[r][c] - difference).abs();
            worst = worst.max(gap / floor);
            assert!(
                gap <= floor,
                "d {} / d {}: exact {} difference {}",
                tank.name(r),
                tank.name(c),
                exact[r][c],
                difference
            );
        }
    }
    println!("worst gap/floor {worst}");
}

/// The exact partial time derivative against central differences; `floor` is what their rounding may leave.
pub(crate) fn check_time_derivative(mut t: Tank, floor: f64) {
    let y = state(&t);
    let n = y.len();
    let mut values = vec![0.0; t.pattern().entries.len()];
    let (mut dy, mut dt) = (vec![0.0; n], vec![0.0; n]);
    t.jacobian(3.3, &y, &mut dy, &mut dt, &mut values).unwrap();
    let (mut up, mut down) = (vec![0.0; n], vec![0.0; n]);
    t.rhs(3.3 + 1e-5, &y, &mut up).unwrap();
    t.rhs(3.3 - 1e-5, &y, &mut down).unwrap();
    for i in 0..n {
        let difference = (up[i] - down[i]) / 2e-5;
        assert_absolute(
            dt[i],
            difference,
            1e-5 * difference.abs() + floor,
            &t.name(i),
        );
    }
}

#[test]
fn four_stage_davies_with_leak_and_stream() {
    check(tank(
        four_stage(&Parameters::four_stage()).unwrap(),
        true,
        0.01,
        true,
        false,
    ));
}

#[test]
fn four_stage_with_every_inhibition() {
    let mut p = Parameters::four_stage();
    p.set("K_I_acid", 0.002).unwrap();
    p.set("K_I_h2s", 0.003).unwrap();
    check(tank(four_stage(&p).unwrap(), true, 0.0, false, true));
}

#[test]
fn adm1_ideal() {
    check(tank(
        adm1(&Parameters::adm1()).unwrap(),
        false,
        0.01,
        true,
        false,
    ));
}

#[test]
fn time_derivative_is_that_of_the_temperature_course() {
    let t = tank(
        four_stage(&Parameters::four_stage()).unwrap(),
        true,
        0.0,
        false,
        false,
    );
    check_time_derivative(t, 1e-8);
}
