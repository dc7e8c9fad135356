//! What the integrator costs: the linear algebra of a network of 35 unknowns, a standard problem, a year of restarts.
#![allow(
    missing_docs,
    unreachable_pub,
    unused_imports,
    dead_code,
    reason = "a bench, with parts of the crate by path"
)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
// Those files name it by the root of the crate.
use marshgas::lanes;
use marshgas::solver::{Integrator, Method, Options};

// The elimination is not public; the bench takes the files themselves.
#[path = "../src/solver/block.rs"]
mod block;
#[path = "../src/solver/ordering.rs"]
mod ordering;
#[path = "../tests/numerics/problems.rs"]
mod problems;
#[path = "../src/solver/sparse.rs"]
mod sparse;
#[path = "../src/solver/system.rs"]
mod system;

const STATES: u16 = 33;
const AUXILIARY: u16 = 2;

/// Pattern like that of a digestion network: most states meet in a few hubs (acidity, hydrogen, living groups).
fn network() -> system::Pattern {
    let n = STATES + AUXILIARY;
    let mut entries: Vec<(u16, u16)> = (0..n).map(|i| (i, i)).collect();
    let acidity = STATES;
    entries.extend((0..20).map(|i| (i, acidity)));
    entries.extend([0, 3, 4, 5, 6, 9, 10, 24, 25].map(|j| (acidity, j)));
    entries.extend([3, 9, 10, 24, 25, acidity].map(|j| (acidity + 1, j)));
    for group in 16..23u16 {
        let food = group - 16;
        for row in [food, 5, 6, 7, 9, 10, group] {
            entries.extend([(row, group), (row, food)]);
            if (18..21).contains(&group) {
                entries.push((row, 7));
            }
        }
        entries.push((12, group));
        entries.extend([food, group, 9, 10].map(|row| (row, 10)));
    }
    for pool in 12..16u16 {
        entries.extend([pool, 0, 1, 2, 9, 10].map(|row| (row, pool)));
    }
    for (gas, dissolved) in [(27, 7), (28, 8), (29, 9)] {
        entries.extend([(gas, dissolved), (dissolved, gas)]);
        entries.extend([27, 28, 29].map(|other| (gas, other)));
    }
    entries.sort_unstable();
    entries.dedup();
    system::Pattern {
        dim: usize::from(STATES),
        aux: usize::from(AUXILIARY),
        entries,
    }
}

fn linear_algebra(c: &mut Criterion) {
    let pattern = network();
    let values: Vec<f64> = pattern
        .entries
        .iter()
        .enumerate()
        .map(|(k, (i, j))| if i == j { -10.0 } else { (k as f64).sin() })
        .collect();
    let Some(mut lu) = sparse::SparseLu::new(&pattern, |_| false) else {
        panic!("the network has a diagonal order");
    };
    let a = vec![1.0; pattern.dim];
    let b = vec![0.5; pattern.dim];
    let mut x = vec![0.0; pattern.dim];
    println!(
        "{} unknowns, {} entries",
        pattern.dim + pattern.aux,
        pattern.entries.len()
    );
    c.bench_function("lu/setup", |bench| {
        bench.iter(|| sparse::SparseLu::<f64>::new(black_box(&pattern), |_| false))
    });
    c.bench_function("lu/factor", |bench| {
        bench.iter(|| lu.factor(black_box(&values), 30.0))
    });
    c.bench_function("lu/solve", |bench| {
        bench.iter(|| lu.solve(black_box(&a), black_box(&b), &mut x))
    });
}

/// HIRES to its published end, in `segments` equal pieces; with `jump` set back to the start before each.
fn hires(method: Method, segments: u32, jump: bool) -> f64 {
    let mut system = problems::hires();
    let Ok(mut integrator) = Integrator::new(&system, Options::new(method, 1e-4, vec![1e-6; 8]))
    else {
        panic!("the options are sound");
    };
    let mut y = system.start.clone();
    for k in 0..segments {
        if jump {
            y.copy_from_slice(&system.start);
        }
        let t = |k: u32| 321.8122 * f64::from(k) / f64::from(segments);
        if let Err(failure) = integrator.advance(&mut system, t(k), t(k + 1), &mut y, &mut |_| {}) {
            panic!("{failure}");
        }
    }
    y[7]
}

fn runs(c: &mut Criterion) {
    for method in [Method::Rodas5P, Method::Rodas4, Method::Rodas4P] {
        c.bench_function(&format!("hires/{}", method.name()), |bench| {
            bench.iter(|| hires(method, 1, false))
        });
        c.bench_function(&format!("hires in 365 jumps/{}", method.name()), |bench| {
            bench.iter(|| hires(method, 365, true));
        });
    }
}

criterion_group!(benches, linear_algebra, runs);
criterion_main!(benches);
