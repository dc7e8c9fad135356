//! Many years of one digester, each with its own feed and growth: one after the other, and several at once.
//!
//! Prints ms of the processor for a year, and how many times more is done abreast; on one thread, and with every core.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a bench that cannot run must stop"
)]

#[allow(dead_code, reason = "the other benches use the rest of it")]
mod workloads;

use std::sync::atomic::AtomicBool;
use std::time::Instant;

use marshgas::case::Case;
use marshgas::kinetics::Parameters;
use marshgas::simulate::{self, Member, Outcome, RunFailure};
use marshgas::study::batch::{self, BatchOptions, Runs};
use workloads::Workload;

/// Members of an ensemble.
const MEMBERS: usize = 64;
/// The best of so many counts.
const REPEATS: usize = 5;
/// Tolerances: that of a loose study, and the one whose error in W4 stays below 1e-3.
const TOLERANCES: [f64; 2] = [1e-2, 3e-3];

/// An ensemble: feed and growth of the acetate users vary by 30 and 20 %.
struct Ensemble(Vec<Member>);

impl Ensemble {
    fn new(workload: Workload, rtol: f64, count: usize) -> Self {
        let base = workload.case(rtol);
        let share = |i: usize| i as f64 / count as f64;
        let members = (0..count).map(|i| {
            let mut case: Case = base.clone();
            for dose in &mut case.doses {
                dose.parts
                    .iter_mut()
                    .for_each(|part| part.1 *= 0.7 + 0.6 * share(i));
            }
            let known = match workload {
                Workload::Adm1 => Parameters::adm1(),
                _ => Parameters::four_stage(),
            };
            let speed = known.value("k_m_ac").unwrap() * (0.8 + 0.4 * share(i * 7 % count));
            case.model.parameters.push(("k_m_ac".into(), speed));
            Member {
                engine: simulate::engine(&case).unwrap(),
                case: Box::new(case),
            }
        });
        Self(members.collect())
    }

    /// One after the other, on one thread.
    fn alone(&self) {
        for Member { engine, case } in &self.0 {
            simulate::run_on(engine, case, &mut |_| {}).unwrap();
        }
    }

    fn abreast(&self, threads: usize) {
        let stop = AtomicBool::new(false);
        let options = BatchOptions {
            threads: Some(threads),
            ..BatchOptions::new(&stop)
        };
        let done = batch::run_cases(self.0.len(), options, self, &|_| {}).unwrap();
        assert!(done.iter().all(|job| matches!(job, Some(Ok(true)))));
    }
}

impl Runs for Ensemble {
    type Kept = ();
    type Result = bool;

    fn before(&self, index: usize) -> Result<(Member, ()), bool> {
        Ok((self.0[index].clone(), ()))
    }

    fn after(&self, _: usize, _: &Case, (): (), outcome: Result<Outcome, RunFailure>) -> bool {
        outcome.is_ok()
    }
}

/// Milliseconds of the clock a year, at best.
fn ms(count: usize, mut work: impl FnMut()) -> f64 {
    let once = |_| {
        let start = Instant::now();
        work();
        start.elapsed().as_secs_f64() * 1e3 / count as f64
    };
    (0..REPEATS).map(once).fold(f64::INFINITY, f64::min)
}

fn main() {
    // `cargo test` runs benches too, to see that they still stand.
    let short = std::env::args().any(|a| a == "--test");
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    println!("| workload | rtol | alone | abreast | times | {cores} threads | times |");
    println!("|---|---|---|---|---|---|---|");
    for workload in Workload::ALL {
        for rtol in TOLERANCES {
            let count = if short { 4 } else { MEMBERS };
            let ensemble = Ensemble::new(workload, rtol, count);
            let alone = ms(count, || ensemble.alone());
            let abreast = ms(count, || ensemble.abreast(1));
            let all = ms(count, || ensemble.abreast(cores));
            println!(
                "| {} | {rtol:.0e} | {alone:.2} ms | {abreast:.2} ms | {:.2} | {all:.2} ms | {:.2} |",
                workload.name(),
                alone / abreast,
                abreast / all
            );
        }
    }
}
