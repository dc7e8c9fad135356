//! The explicit method from a library against the implicit ones: independent code, same answers.

use marshgas::solver::{Integrator, Method, Options, System};

use crate::problems::*;

const IMPLICIT: [Method; 3] = [Method::Rodas5P, Method::Rodas4, Method::Rodas4P];
const RTOL: f64 = 1e-8;

/// States on a grid of 30 points, by the inside of the steps, and at the end.
fn trajectory<S: System>(mut system: S, method: Method, start: &[f64], end: f64) -> Vec<Vec<f64>> {
    let options = Options::new(method, RTOL, vec![1e-2 * RTOL; start.len()]);
    let mut integrator = Integrator::new(&system, options).unwrap();
    let mut y = start.to_vec();
    let mut out: Vec<Vec<f64>> = Vec::new();
    integrator
        .advance(&mut system, 0.0, end, &mut y, &mut |step| {
            loop {
                let t = end * out.len() as f64 / 30.0;
                if t > step.end() || out.len() == 30 {
                    break;
                }
                let mut state = vec![0.0; start.len()];
                step.eval(t, &mut state);
                out.push(state);
            }
        })
        .unwrap();
    out.push(y);
    assert_eq!(out.len(), 31, "{method:?}: a point of the grid is missing");
    out
}

fn compare<S: System + Clone>(name: &str, system: S, start: &[f64], end: f64, allowed: f64) {
    let explicit = trajectory(system.clone(), Method::Dopri5, start, end);
    for method in IMPLICIT {
        let implicit = trajectory(system.clone(), method, start, end);
        let mut worst = 0.0f64;
        for (a, b) in explicit.iter().zip(&implicit) {
            for i in 0..start.len() {
                worst = worst.max((a[i] - b[i]).abs() / (1.0 + a[i].abs()));
            }
        }
        println!("{name} {method:?}: {worst:.1e}");
        assert!(worst < allowed, "{name} {method:?}: {worst:.1e}");
    }
}

#[test]
fn explicit_and_implicit_agree() {
    compare("kaps", kaps(1.0), &[1.0, 1.0], 5.0, 1e-7);
    compare("moving", moving(), &[1.0, 1.0], 6.0, 1e-6);
    compare(
        "growth",
        growth([14.31, 1.127, 0.5734, 0.01824, 0.0309, 54.17]),
        &[14.31, 0.1],
        60.0,
        1e-6,
    );
    compare(
        "heat",
        heat(10.0, [2.0, 20.0, 5.0, 3.0, 1.0]),
        &[10.0],
        30.0,
        1e-6,
    );
    compare("auxiliary", Auxiliary::new(), &[1.0, 0.0], 5.0, 1e-6);
}

#[test]
fn states_of_very_different_size_each_keep_their_tolerance() {
    // The library knows one absolute tolerance; the facade scales the states. Twelve decades lie between these.
    let mut system = chain(1e6, 0.5, 0.2);
    let start = system.start.clone();
    let options = Options::new(Method::Dopri5, 1e-8, vec![1e-3, 1e-3, 1e-3]);
    let mut integrator = Integrator::new(&system, options).unwrap();
    let mut large = start.clone();
    integrator
        .advance(&mut system, 0.0, 10.0, &mut large, &mut |_| {})
        .unwrap();
    let mut system = chain(1e-6, 0.5, 0.2);
    let options = Options::new(Method::Dopri5, 1e-8, vec![1e-15, 1e-15, 1e-15]);
    let mut integrator = Integrator::new(&system, options).unwrap();
    let mut small = system.start.clone();
    integrator
        .advance(&mut system, 0.0, 10.0, &mut small, &mut |_| {})
        .unwrap();
    for i in 0..3 {
        assert!(
            (large[i] * 1e-12 - small[i]).abs() < 1e-12 * small[i],
            "{large:?} and {small:?}"
        );
    }
}
