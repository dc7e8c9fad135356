//! Fits to made-up records whose truth is known.

use std::sync::atomic::AtomicBool;

use marshgas::diary::fit::digester::{FitOptions, fit_digester};
use marshgas::diary::fit::result::Fit;
use marshgas::diary::fit::unknown::unknowns;
use marshgas::study::batch::{self, BatchOptions};

use super::diary_made_up::{Owner, case, coordinates, readings, rows, truth};

static NEVER: AtomicBool = AtomicBool::new(false);

fn options(seed: u64) -> FitOptions<'static> {
    FitOptions {
        draws: 160,
        seed,
        threads: None,
        stop: &NEVER,
    }
}

fn fitted(seed: u64, days: u32) -> (Vec<f64>, Fit) {
    let all = unknowns();
    let case = case("warm-tote", days + 7);
    let values = truth(&all, seed);
    let (readings, usual) = readings(&case, &all, &values, &Owner::careful(days), seed).unwrap();
    let fit = fit_digester(&case, &all, &readings, usual, &options(seed), &|_| {}).unwrap();
    (values, fit)
}

#[test]
#[ignore = "a look, not a check"]
fn look() {
    for seed in 1..6 {
        let begin = std::time::Instant::now();
        let (values, fit) = fitted(seed, 90);
        println!(
            "seed {seed}: {:?} {:?}, {} runs ({} failed), {:.2} s, noise {:.2}, effective {:.0}, starts {:?}",
            fit.stop,
            fit.readings,
            fit.runs,
            fit.failed,
            begin.elapsed().as_secs_f64(),
            fit.noise,
            fit.effective_draws,
            fit.starts
        );
        let all = unknowns();
        println!("  z {:?}", coordinates(&all, &values));
        for (value, l) in values.iter().zip(&fit.unknowns) {
            println!(
                "  {:12} true {value:.3} best {:.3} band {:.3}..{:.3}..{:.3} learnt {:.2}",
                l.unknown.name, l.best, l.p05, l.p50, l.p95, l.learnt
            );
        }
        for d in &fit.directions {
            println!(
                "   info {:.2} {:?}",
                d.information,
                d.along
                    .iter()
                    .map(|x| (x * 100.0).round() / 100.0)
                    .collect::<Vec<_>>()
            );
        }
        println!("  {:?}", fit.open);
    }
}

/// How often the truth lies within the band of nine in ten, by unknown, and gas of the days ahead within its bands.
struct Coverage {
    within: Vec<usize>,
    records: usize,
    ahead: (usize, usize),
}

fn coverage(records: usize, days: u32, draws: usize) -> Coverage {
    let all = unknowns();
    let case = case("warm-tote", days + 7);
    let one = |index: usize| {
        let seed = 1000 + index as u64;
        let values = truth(&all, seed);
        let (readings, usual) = readings(&case, &all, &values, &Owner::careful(days), seed)?;
        let options = FitOptions {
            draws,
            threads: Some(1),
            ..options(seed)
        };
        let fit = fit_digester(&case, &all, &readings, usual, &options, &|_| {}).ok()?;
        let inside: Vec<bool> = values
            .iter()
            .zip(&fit.unknowns)
            .map(|(v, l)| (l.p05..=l.p95).contains(v))
            .collect();
        // The week after the record, as the truth has it.
        let rows = rows(&case, &all, &values)?;
        let factor = marshgas::diary::fit::unknown::reading_factor(&all, &values);
        let ahead = fit.days.iter().filter(|d| d.ahead).map(|d| {
            let gas = factor * rows[d.day as usize].gas_nl;
            (d.gas_nl[0]..=d.gas_nl[4]).contains(&gas)
        });
        let ahead: Vec<bool> = ahead.collect();
        Some((inside, ahead, fit.effective_draws))
    };
    let jobs = batch::run_all(records, BatchOptions::new(&NEVER), one, &|_| {}).unwrap();
    let mut coverage = Coverage {
        within: vec![0; all.len()],
        records: 0,
        ahead: (0, 0),
    };
    let mut effective = Vec::new();
    for (inside, ahead, draws) in jobs.into_iter().filter_map(|job| job.unwrap().unwrap()) {
        coverage.records += 1;
        for (count, inside) in coverage.within.iter_mut().zip(inside) {
            *count += usize::from(inside);
        }
        coverage.ahead.0 += ahead.iter().filter(|a| **a).count();
        coverage.ahead.1 += ahead.len();
        effective.push(draws);
    }
    effective.sort_by(f64::total_cmp);
    println!(
        "{} records: within 90 % bands {:?} = {:.1} %, ahead {}/{} = {:.1} %, effective draws {:.0}/{:.0}/{:.0}",
        coverage.records,
        coverage.within,
        100.0 * coverage.within.iter().sum::<usize>() as f64
            / (coverage.records * all.len()) as f64,
        coverage.ahead.0,
        coverage.ahead.1,
        100.0 * coverage.ahead.0 as f64 / coverage.ahead.1 as f64,
        effective[0],
        effective[effective.len() / 2],
        effective[effective.len() - 1],
    );
    coverage
}

#[test]
#[ignore = "minutes: run once, counts in DEVELOPERS.md"]
fn bands_of_nine_in_ten_hold_nine_truths_in_ten() {
    let records = std::env::var("RECORDS").map_or(200, |n| n.parse().unwrap());
    let found = coverage(records, 90, 200);
    assert_eq!(found.records, records);
}
