//! The stiff standards against two independent solvers (tests/data/solver/ode_stiff.csv).

use marshgas::solver::{Integrator, Method, Options, Statistics, System};

use crate::problems::*;
use crate::tables::{number, parameters, rows};

const IMPLICIT: [Method; 3] = [Method::Rodas5P, Method::Rodas4, Method::Rodas4P];

/// Output times in order with the reference states there.
struct Reference {
    problem: Problem,
    points: Vec<(f64, Vec<f64>)>,
}

fn references(name: &str) -> Vec<Reference> {
    let mut out: Vec<(String, Reference)> = Vec::new();
    for row in rows("ode_stiff.csv")
        .iter()
        .filter(|row| row["problem"] == name)
    {
        if out.last().is_none_or(|(key, _)| *key != row["parameters"]) {
            let p = parameters(row);
            let mut problem = match name {
                "robertson" => robertson([p["k"][0], p["k"][1], p["k"][2]]),
                "hires" => hires(),
                _ => van_der_pol(p["mu"][0]),
            };
            problem.start = p["y0"].clone();
            out.push((
                row["parameters"].clone(),
                Reference {
                    problem,
                    points: Vec::new(),
                },
            ));
        }
        let points = &mut out.last_mut().unwrap().1.points;
        let t = number(row, "t");
        if points.last().is_none_or(|(last, _)| *last != t) {
            points.push((t, Vec::new()));
        }
        points.last_mut().unwrap().1.push(number(row, "y_Radau"));
    }
    out.into_iter().map(|(_, reference)| reference).collect()
}

/// Largest error over all points in units of the tolerance, and the counters; one segment between points.
fn run(reference: &Reference, method: Method, rtol: f64, atol: &[f64]) -> (f64, Statistics) {
    let mut system = reference.problem.clone();
    let mut integrator =
        Integrator::new(&system, Options::new(method, rtol, atol.to_vec())).unwrap();
    let (mut y, mut t, mut worst) = (system.start.clone(), 0.0, 0.0f64);
    for (next, expected) in &reference.points {
        integrator
            .advance(&mut system, t, *next, &mut y, &mut |_| {})
            .unwrap();
        t = *next;
        for i in 0..system.dim() {
            worst = worst.max((y[i] - expected[i]).abs() / (atol[i] + rtol * expected[i].abs()));
        }
    }
    assert_eq!(
        system.calls,
        integrator.statistics().rhs,
        "every call is counted"
    );
    (worst, *integrator.statistics())
}

fn check(reference: &Reference, rtol: f64, atol: &[f64]) {
    for method in IMPLICIT {
        let (error, s) = run(reference, method, rtol, atol);
        println!(
            "{} {:?} {method:?} rtol {rtol:.0e}: error {error:.2} tolerances, {} accepted, {} rejected, {} rhs, {} dense",
            reference.problem.name,
            reference.problem.parameters,
            s.accepted,
            s.rejected(),
            s.rhs,
            s.dense_factorisations
        );
    }
}

#[test]
fn explore() {
    for rtol in [1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9, 1e-10] {
        for r in references("robertson") {
            check(&r, rtol, &[1e-2 * rtol, 1e-6 * rtol, 1e-2 * rtol]);
        }
        for r in references("hires") {
            check(&r, rtol, &[1e-2 * rtol; 8]);
        }
        for r in references("vdpol") {
            check(&r, rtol, &[rtol; 2]);
        }
    }
}
