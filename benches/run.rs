//! A year of a small digester, from engine to outcome, and what accuracy costs.
//!
//! Before the timings a table of work against precision is printed: errors against a reference at a relative
//! tolerance of 1e-9.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "criterion makes undocumented functions; a bench that cannot run must stop"
)]

mod workloads;

use criterion::{Criterion, criterion_group, criterion_main};
use workloads::{Workload, engine, error, year};

/// Relative tolerances of the table and of the reference.
const TOLERANCES: [f64; 5] = [1e-2, 1e-3, 1e-4, 1e-5, 1e-6];
const REFERENCE: f64 = 1e-9;
/// Tolerance of the timed runs.
const TIMED: f64 = 1e-3;

fn table(workload: Workload) {
    let case = workload.case(REFERENCE);
    let engine = engine(&case);
    let reference = year(&engine, &case);
    println!(
        "{}\n| rtol | error | steps | not kept | rhs |",
        workload.name()
    );
    for tolerance in TOLERANCES {
        let run = year(&engine, &workload.case(tolerance));
        let s = &run.solver;
        println!(
            "| {tolerance:.0e} | {:.1e} | {} | {} | {} |",
            error(&run, &reference),
            s.accepted,
            s.rejected,
            s.rhs
        );
    }
}

fn bench(c: &mut Criterion) {
    for workload in Workload::ALL {
        // `cargo bench -- --test` and a profiler want the runs alone.
        if std::env::args().all(|a| a != "--test") {
            table(workload);
        }
        let case = workload.case(TIMED);
        let ready = engine(&case);
        c.bench_function(&format!("{}: a year", workload.name()), |b| {
            b.iter(|| year(&ready, &case));
        });
        c.bench_function(&format!("{}: building the engine", workload.name()), |b| {
            b.iter(|| engine(&case));
        });
    }
}

criterion_group!(benches, bench);
criterion_main!(benches);
