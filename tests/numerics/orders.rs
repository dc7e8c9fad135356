//! Orders of convergence at fixed steps: end point and inside of the step.

use marshgas::solver::{Integrator, Method, Options, System};

use crate::problems::*;

const IMPLICIT: [Method; 3] = [Method::Rodas5P, Method::Rodas4, Method::Rodas4P];

/// Largest errors at the end and inside the steps, with `steps` equal steps from 0 to `end`.
fn errors<S: System>(
    mut system: S,
    method: Method,
    start: &[f64],
    end: f64,
    steps: u32,
    solution: impl Fn(f64, &mut [f64]),
) -> (f64, f64) {
    let h = end / f64::from(steps);
    // A tolerance that never speaks leaves the longest step as the only rule.
    let mut options = Options::new(method, 0.1, vec![1e9; start.len()]);
    options.first_step = Some(h);
    options.max_step = h;
    let mut integrator = Integrator::new(&system, options).unwrap();
    let mut y = start.to_vec();
    let (mut found, mut exact) = (vec![0.0; y.len()], vec![0.0; y.len()]);
    let mut inside = 0.0f64;
    let mut count = 0;
    integrator
        .advance(&mut system, 0.0, end, &mut y, &mut |step| {
            count += 1;
            for share in [0.2, 0.5, 0.7] {
                let t = step.start() + share * (step.end() - step.start());
                step.eval(t, &mut found);
                solution(t, &mut exact);
                inside = found
                    .iter()
                    .zip(&exact)
                    .map(|(a, b)| (a - b).abs())
                    .fold(inside, f64::max);
            }
        })
        .unwrap();
    assert_eq!(count, steps, "the steps were not the asked ones");
    solution(end, &mut exact);
    (
        y.iter()
            .zip(&exact)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max),
        inside,
    )
}

/// Slope of log error over log step by least squares.
fn slope(steps: &[u32], errors: &[f64]) -> f64 {
    let x: Vec<f64> = steps.iter().map(|n| -f64::from(*n).ln()).collect();
    let y: Vec<f64> = errors.iter().map(|e| e.ln()).collect();
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let (mx, my) = (mean(&x), mean(&y));
    let top: f64 = x.iter().zip(&y).map(|(a, b)| (a - mx) * (b - my)).sum();
    top / x.iter().map(|a| (a - mx).powi(2)).sum::<f64>()
}

fn slopes<S: System + Clone>(
    system: &S,
    method: Method,
    start: &[f64],
    end: f64,
    steps: &[u32],
    solution: impl Fn(f64, &mut [f64]) + Copy,
) -> (f64, f64) {
    let all: Vec<_> = steps
        .iter()
        .map(|&n| errors(system.clone(), method, start, end, n, solution))
        .collect();
    let (at_end, inside): (Vec<_>, Vec<_>) = all.into_iter().unzip();
    (slope(steps, &at_end), slope(steps, &inside))
}

fn assert_order(name: &str, method: Method, found: (f64, f64), order: u32) {
    println!(
        "{name} {method:?}: {:.2} at the end, {:.2} inside",
        found.0, found.1
    );
    assert!(
        found.0 >= f64::from(order) - 0.5,
        "{name} {method:?}: order {:.2} at the end",
        found.0
    );
    assert!(
        found.1 >= f64::from(order - 1) - 0.5,
        "{name} {method:?}: order {:.2} inside",
        found.1
    );
}

/// A problem with its solution converges as its method says.
fn keeps_its_order<const N: usize>(
    system: &Problem,
    method: Method,
    steps: &[u32],
    solution: fn(f64) -> [f64; N],
) {
    let found = slopes(system, method, &system.start, 2.0, steps, |t, y| {
        y.copy_from_slice(&solution(t));
    });
    assert_order(system.name, method, found, method.order());
}

const FEW: [u32; 5] = [10, 15, 22, 33, 50];
const MORE: [u32; 5] = [16, 24, 36, 54, 80];

#[test]
fn autonomous() {
    for method in Method::ALL {
        keeps_its_order(&kaps(1.0), method, &FEW, kaps_solution);
    }
}

#[test]
fn non_autonomous() {
    for method in Method::ALL {
        keeps_its_order(&moving(), method, &MORE, moving_solution);
    }
}

#[test]
fn algebraic_rows_of_index_one() {
    for method in IMPLICIT {
        keeps_its_order(&kaps(0.0), method, &FEW, kaps_solution);
        let moving = moving_algebraic();
        keeps_its_order(&moving, method, &MORE, moving_algebraic_solution);
    }
}

/// Slope of the largest error over all stiffnesses: the order that survives whatever the product of step and
/// stiffness.
fn uniform_order(method: Method) -> f64 {
    let steps = [10, 15, 22, 33, 50];
    let worst: Vec<f64> = steps
        .iter()
        .map(|&n| {
            (2..=16)
                .map(|k| {
                    let system = prothero_robinson(10f64.powf(0.5 * f64::from(k)));
                    let start = system.start.clone();
                    let solution =
                        |t: f64, y: &mut [f64]| y.copy_from_slice(&prothero_robinson_solution(t));
                    errors(system, method, &start, 2.0, n, solution).0
                })
                .fold(0.0, f64::max)
        })
        .collect();
    slope(&steps, &worst)
}

#[test]
fn prothero_robinson_keeps_the_order_claimed() {
    // Steinebach (1995, 2023): Rodas4P and Rodas5P keep order 4 for every stiffness.
    for method in [Method::Rodas4P, Method::Rodas5P] {
        let found = uniform_order(method);
        println!("{method:?}: {found:.2}");
        assert!(found >= 3.5, "{method:?}: order {found:.2}");
    }
    // Rodas4 was not made for it and loses one: the reason why the others stand beside it.
    let found = uniform_order(Method::Rodas4);
    println!("Rodas4: {found:.2}");
    assert!((2.5..3.5).contains(&found), "Rodas4: order {found:.2}");
}
