//! Scenarios drawn at random over the whole allowed range of every key: each is refused in words or runs soundly.
//!
//! A few hundred are drawn in the normal suite. `MARSHGAS_RANDOM=100000` draws as many, `MARSHGAS_RANDOM_FIRST=5000`
//! begins at that number, and `MARSHGAS_RANDOM_SHOW=5017` prints one of them with what became of it. A number always
//! stands for the same scenario. Run with `-- --nocapture` to see the counts.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test stops where something is missing"
)]

mod abreast;
mod coverage;
mod dice;
mod draw;
mod feed;
mod integrators;
mod judge;
mod place;
mod plant;
#[path = "../scenarios/quay.rs"]
mod quay;
mod ranges;
mod settings;

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use judge::Verdict;

/// Scenarios of the normal suite, and the longest runs among them; longer ones are left to the long run.
const USUAL: u64 = 300;
const USUAL_DAYS: f64 = 250.0;
/// Scenarios that once failed, beyond those or longer: gas taken back by an outlet that closed or opened and closed
/// within a step (523, 660, 100067, 100196), a search for a crossing in splinters (1794, 2634, 3504, 3700, 100349), an
/// interpolated state below the floor of a rate (100356), a plant behind next to no gas or behind gas that flows back
/// (91, 413), a boiling liquor (2511, 2582, 3767), an explicit run thrown about (1617, 3045), a base colder than ice
/// (2397), gas that flowed back only within a step that went over its whole outflow (4208, 20391), a leak that gave gas
/// back at the end of its flow (7118, 7674, 21571, 21629), an explicit run whose steps swing about the limit of
/// stability (7330), a knot of the temperature next to the start (20014), hydrogen known worse than a constant it
/// inhibits by (202923, 1004522, 1009675), nitrogen taken up by decay without an end (1004128), a frozen morning after
/// a warm day (1001640), less than none of an acid in the barest water (1011824), a corner so near to a start that no
/// time lies between (1017524), living or gas of less than none that grows (1019586, 1022500), an explicit run thrown
/// to where there is no pH (1018876), a knot of the temperature whose far side a step saw (1025409), water in which
/// less than none of an acid left several pH (1052034).
const ONCE_FAILED: [u64; 38] = [
    91, 413, 523, 660, 1617, 1794, 2397, 2511, 2582, 2634, 3045, 3504, 3700, 3767, 4208, 7118,
    7330, 7674, 20_014, 20_391, 21_571, 21_629, 100_067, 100_196, 100_349, 100_356, 202_923,
    1_001_640, 1_004_128, 1_004_522, 1_009_675, 1_011_824, 1_017_524, 1_018_876, 1_019_586,
    1_022_500, 1_025_409, 1_052_034,
];
/// How many of the slowest are named.
const SLOWEST: usize = 5;

fn asked(variable: &str, default: u64) -> u64 {
    std::env::var(variable).map_or(default, |text| {
        text.parse()
            .unwrap_or_else(|_| panic!("{variable} must be a whole number"))
    })
}

/// What became of all of them.
#[derive(Default)]
struct Counts {
    by_verdict: BTreeMap<String, u64>,
    faults: Vec<String>,
    slowest: Vec<(f64, u64)>,
}

impl Counts {
    fn note(&mut self, number: u64, seconds: f64, verdict: &Verdict) {
        *self.by_verdict.entry(verdict.kind()).or_default() += 1;
        if let Some(fault) = verdict.fault() {
            let line = format!("scenario {number}: {fault}");
            println!("{line}");
            self.faults.push(line);
        }
        self.slowest.push((seconds, number));
        self.slowest.sort_by(|a, b| b.0.total_cmp(&a.0));
        self.slowest.truncate(SLOWEST);
    }

    fn print(&self) {
        for (kind, count) in &self.by_verdict {
            println!("{count:>8}  {kind}");
        }
        for (seconds, number) in &self.slowest {
            println!("{seconds:>7.1} s  scenario {number}");
        }
    }
}

fn try_one(number: u64) -> Verdict {
    catch_unwind(AssertUnwindSafe(|| judge::judge(&draw::scenario(number)))).unwrap_or_else(
        |panic| {
            let text = panic
                .downcast_ref::<String>()
                .cloned()
                .or_else(|| panic.downcast_ref::<&str>().map(|s| (*s).to_owned()));
            Verdict::Panicked(text.unwrap_or_default())
        },
    )
}

#[test]
fn every_scenario_is_refused_in_words_or_runs_soundly() {
    if let Ok(text) = std::env::var("MARSHGAS_RANDOM_SHOW") {
        let number = text.parse().expect("a whole number");
        println!("{:#}", draw::scenario(number));
        println!("{:?}", try_one(number));
        return;
    }
    let first = asked("MARSHGAS_RANDOM_FIRST", 0);
    let end = first + asked("MARSHGAS_RANDOM", USUAL);
    let next = AtomicU64::new(first);
    let counts = Mutex::new(Counts::default());
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= end {
                        return;
                    }
                    if end <= USUAL && draw::scenario(number)["days"].as_f64() > Some(USUAL_DAYS) {
                        continue;
                    }
                    let start = Instant::now();
                    let verdict = try_one(number);
                    let seconds = start.elapsed().as_secs_f64();
                    counts.lock().unwrap().note(number, seconds, &verdict);
                }
            });
        }
    });
    let counts = counts.into_inner().unwrap();
    counts.print();
    assert!(counts.faults.is_empty(), "{}", counts.faults.join("\n"));
}

#[test]
fn what_once_failed_runs_soundly() {
    let faults: Vec<String> = ONCE_FAILED
        .iter()
        .filter_map(|number| {
            let fault = try_one(*number).fault()?;
            Some(format!("scenario {number}: {fault}"))
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
