//! What an owner waits for: a fit and a diagnosis of a made-up record of 90 days.
#![allow(missing_docs, clippy::expect_used, reason = "a bench")]

use std::hint::black_box;
use std::path::Path;
use std::sync::atomic::AtomicBool;

use criterion::{Criterion, criterion_group, criterion_main};
use marshgas::case::Case;
use marshgas::diary::diagnose::story::Book;
use marshgas::diary::diagnose::{self, WEEK, diagnose};
use marshgas::diary::fit::ahead::continued;
use marshgas::diary::fit::digester::{FitOptions, fit_digester};
use marshgas::diary::fit::model::{Model, usual_gas};
use marshgas::diary::fit::readings::{Reading, Readings, What};
use marshgas::diary::fit::unknown::unknowns;
use marshgas::scenario;
use marshgas::study::generator::replicate;

const DAYS: u32 = 90;
/// Draws of a fit, as the command makes them.
const DRAWS: usize = 120;

static NEVER: AtomicBool = AtomicBool::new(false);

/// The first 90 days of a bundled scenario and a reading of gas each day, a tenth of it lost, each off by up to a tenth.
fn made_up() -> (Case, Readings, f64) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/warm-tote.json");
    let mut case = scenario::load(&path).expect("a bundled scenario").case;
    case.days = DAYS;
    case.doses.retain(|d| d.day < f64::from(DAYS));
    let usual = usual_gas(&case, f64::from(DAYS)).expect("it runs");
    let all = unknowns();
    let nothing = Readings::default();
    let middle: Vec<f64> = all.iter().map(|u| u.middle()).collect();
    let model = Model::new(&case, &all, &nothing, usual).expect("it runs");
    let rows = model.run(&middle).expect("it runs");
    let mut chance = replicate(1, 1);
    let readings = rows.iter().map(|row| {
        let off = 0.9 + 0.2 * (chance.uniform() - 0.5);
        Reading {
            line: u64::from(row.day) + 2,
            what: What::Gas,
            from_day: f64::from(row.day),
            day: f64::from(row.day) + 1.0,
            value: off * row.gas_nl,
            sd: 0.04 * usual,
            wider: 1.0,
        }
    });
    let readings = Readings {
        readings: readings.collect(),
        last_day: f64::from(DAYS) - 1.0,
        notes: Vec::new(),
        absurd: Vec::new(),
    };
    (continued(&case, readings.last_day, WEEK), readings, usual)
}

fn fit(criterion: &mut Criterion) {
    let (case, readings, usual) = made_up();
    let all = unknowns();
    let options = FitOptions {
        draws: DRAWS,
        seed: 1,
        threads: None,
        stop: &NEVER,
    };
    let mut group = criterion.benchmark_group("diary");
    group.sample_size(10);
    group.bench_function("fit of 90 days", |b| {
        b.iter(|| {
            fit_digester(black_box(&case), &all, &readings, usual, &options, &|_| {})
                .expect("it fits")
        });
    });
    let book = Book::standard();
    let options = diagnose::Options {
        seed: 1,
        threads: None,
        stop: &NEVER,
    };
    group.bench_function("diagnosis of 90 days", |b| {
        b.iter(|| {
            diagnose(&book, black_box(&case), &readings, usual, &options, &|_| {})
                .expect("it is told")
        });
    });
    group.finish();
}

criterion_group!(benches, fit);
criterion_main!(benches);
