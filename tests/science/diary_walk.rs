//! The bands of a fit beside those of a long plain walk over the model itself, which costs no thought and much time.

use std::sync::atomic::AtomicBool;

use marshgas::diary::fit::coordinate::Coordinate;
use marshgas::diary::fit::digester::{FitOptions, fit_digester};
use marshgas::diary::fit::least_squares::Residuals as _;
use marshgas::diary::fit::model::Model;
use marshgas::diary::fit::robust::{HUBER, loss};
use marshgas::diary::fit::unknown::unknowns;
use marshgas::study::generator::replicate;

use super::diary_made_up::{Owner, bell, case, readings, truth};

static NEVER: AtomicBool = AtomicBool::new(false);

/// Metropolis' walk that learns its step's shape from where it has been (Haario et al. 2001, from memory); the second
/// half counts.
fn walk(log: &dyn Fn(&[f64]) -> f64, start: &[f64], steps: usize, seed: u64) -> Vec<Vec<f64>> {
    let n = start.len();
    let mut draws = replicate(seed, 9);
    let (mut here, mut now) = (start.to_vec(), log(start));
    let mut all: Vec<Vec<f64>> = Vec::with_capacity(steps);
    let mut root = nalgebra::DMatrix::<f64>::identity(n, n) * 0.3;
    let (mut step, mut taken) = (1.0f64, 0usize);
    for tried in 0..steps {
        if tried >= 200 && tried % 100 == 0 {
            let from = all.len() / 3;
            let seen = &all[from..];
            let count = seen.len() as f64;
            let mean: Vec<f64> = (0..n)
                .map(|j| seen.iter().map(|u| u[j]).sum::<f64>() / count)
                .collect();
            let covariance = nalgebra::DMatrix::from_fn(n, n, |i, j| {
                let sum: f64 = seen
                    .iter()
                    .map(|u| (u[i] - mean[i]) * (u[j] - mean[j]))
                    .sum();
                sum / count + if i == j { 1e-3 } else { 0.0 }
            });
            root = covariance.cholesky().unwrap().l() * (2.38 / (n as f64).sqrt());
        }
        let bells: Vec<f64> = (0..n).map(|_| bell(&mut draws)).collect();
        let next: Vec<f64> = (0..n)
            .map(|i| here[i] + step * (0..=i).map(|j| root[(i, j)] * bells[j]).sum::<f64>())
            .collect();
        let then = log(&next);
        let is = draws.uniform().ln() < then - now;
        if is {
            (here, now) = (next, then);
            taken += 1;
        }
        if tried < steps / 2 {
            let pull = 2.0 / (tried as f64 + 10.0).sqrt();
            step = (step * (pull * (f64::from(u8::from(is)) - 0.25)).exp()).clamp(0.05, 5.0);
        }
        all.push(here.clone());
    }
    println!("    accepted {:.2}", taken as f64 / steps as f64);
    all.split_off(steps / 2)
}

fn quantiles(walk: &[Vec<f64>], j: usize) -> [f64; 3] {
    let mut found: Vec<f64> = walk.iter().map(|u| u[j]).collect();
    found.sort_by(f64::total_cmp);
    [0.05, 0.5, 0.95].map(|p| found[(p * found.len() as f64) as usize])
}

fn env(name: &str, usual: usize) -> usize {
    std::env::var(name).map_or(usual, |n| n.parse().unwrap())
}

#[test]
#[ignore = "minutes: what it showed is in DEVELOPERS.md"]
fn bands_are_those_of_a_long_walk_over_the_model() {
    let (days, steps) = (env("DAYS", 30) as u32, env("STEPS", 4000));
    let all = unknowns();
    let case = case("warm-tote", days + 7);
    let coordinates: Vec<Coordinate> = all.iter().map(|u| u.coordinate()).collect();
    for seed in (env("SEED", 1000)..).take(env("RECORDS", 2)) {
        let seed = seed as u64;
        let values = truth(&all, seed);
        let (readings, usual) =
            readings(&case, &all, &values, &Owner::careful(days), seed).unwrap();
        let options = FitOptions {
            draws: 120,
            seed,
            threads: Some(1),
            stop: &NEVER,
        };
        let fit = fit_digester(&case, &all, &readings, usual, &options, &|_| {}).unwrap();
        println!(
            "{seed}: noise {:.2}, effective {:.0}, runs {}, {:?}",
            fit.noise, fit.effective_draws, fit.runs, fit.stop
        );
        let model = Model::new(&case, &all, &readings, usual).unwrap();
        let mut data = Vec::new();
        for corner in [HUBER, f64::INFINITY] {
            let noise = if corner.is_finite() { fit.noise } else { 1.0 };
            let log = |at: &[f64]| {
                let values: Vec<f64> = coordinates
                    .iter()
                    .zip(at)
                    .map(|(c, &u)| c.value(u))
                    .collect();
                let Ok(residuals) = model.residuals(&values) else {
                    return f64::NEG_INFINITY;
                };
                let data: f64 = residuals.iter().map(|r| loss(r / noise, corner)).sum();
                -0.5 * (data + at.iter().map(|u| u * u).sum::<f64>())
            };
            let best: Vec<f64> = fit
                .unknowns
                .iter()
                .zip(&coordinates)
                .map(|(l, c)| c.of(l.best))
                .collect();
            let own: Vec<f64> = coordinates
                .iter()
                .zip(&values)
                .map(|(c, &v)| c.of(v))
                .collect();
            println!("  log at fit {:.2}, at truth {:.2}", log(&best), log(&own));
            for start in [&own, &best] {
                let found = walk(&log, start, steps, seed + 77);
                data.push(found);
            }
        }
        for (j, unknown) in all.iter().enumerate() {
            let of = |v: f64| coordinates[j].of(v);
            let l = &fit.unknowns[j];
            let each: Vec<String> = data
                .iter()
                .map(|w| quantiles(w, j).map(|q| format!("{q:5.2}")).join(" "))
                .collect();
            println!(
                "  {:12} truth {:5.2} | fit {:5.2} {:5.2} {:5.2} | {}",
                unknown.name,
                of(values[j]),
                of(l.p05),
                of(l.p50),
                of(l.p95),
                each.join(" | ")
            );
        }
    }
}
