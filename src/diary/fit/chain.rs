//! Metropolis' walk over something quick to compute, in coordinates scaled to about 1.
//!
//! Source: Metropolis et al., J. Chem. Phys. 21 (1953) 1087; step and aim of a quarter accepted after Roberts, Gelman
//! and Gilks (1997), both from memory.

use crate::study::generator::{Draws, replicate};
use crate::study::normal;

/// Walks side by side, each from a start of its own.
const WALKS: usize = 4;
/// Steps at the beginning of each walk that are forgotten, while the step finds its length.
const FORGOTTEN: usize = 600;
/// Steps from one draw of a walk to its next, for each coordinate.
const APART: usize = 8;
/// Share of tries that are accepted once the step has found its length.
const ACCEPTED: f64 = 0.25;
/// Share of tries that are far: a bell this many times as wide as the scaled coordinates, about their origin. They
/// reach what lies apart.
const FAR: (f64, f64) = (0.1, 1.7);

/// `count` draws from the density whose logarithm is `log`, begun at `starts` (at least one). The draws of all walks
/// alternate.
pub fn walk(
    log: &(dyn Fn(&[f64]) -> f64 + Sync),
    starts: &[Vec<f64>],
    count: usize,
    seed: u64,
    stream: u64,
) -> Vec<Vec<f64>> {
    if starts.is_empty() {
        return Vec::new();
    }
    let each = count.div_ceil(WALKS);
    let walks: Vec<Vec<Vec<f64>>> = (0..WALKS)
        .map(|k| {
            let mut draws = replicate(seed, stream * WALKS as u64 + k as u64);
            one(log, &starts[k % starts.len()], each, &mut draws)
        })
        .collect();
    (0..count)
        .map(|i| walks[i % WALKS][i / WALKS].clone())
        .collect()
}

fn one(
    log: &(dyn Fn(&[f64]) -> f64 + Sync),
    start: &[f64],
    count: usize,
    draws: &mut Draws,
) -> Vec<Vec<f64>> {
    let n = start.len();
    let mut here = start.to_vec();
    let mut now = log(&here);
    let mut step = 2.38 / (n as f64).sqrt();
    let apart = APART * n;
    let mut kept = Vec::with_capacity(count);
    let bell = |draws: &mut Draws| normal::quantile(draws.uniform());
    for tried in 0..FORGOTTEN + apart * count {
        let far = draws.uniform() < FAR.0;
        let next: Vec<f64> = here
            .iter()
            .map(|x| match far {
                true => FAR.1 * bell(draws),
                false => x + step * bell(draws),
            })
            .collect();
        let then = log(&next);
        let size = |z: &[f64]| z.iter().map(|z| z * z).sum::<f64>();
        // A far try is made from the same bell wherever the walk stands.
        let tilt = match far {
            true => 0.5 * (size(&next) - size(&here)) / (FAR.1 * FAR.1),
            false => 0.0,
        };
        let chance = libm::exp((then - now + tilt).min(0.0));
        let taken = draws.uniform() < chance;
        if taken {
            here = next;
            now = then;
        }
        if tried < FORGOTTEN && !far {
            let pull = 3.0 / (tried as f64 + 10.0).sqrt();
            step *= libm::exp(pull * (f64::from(u8::from(taken)) - ACCEPTED));
            step = step.clamp(0.02, 10.0);
        }
        if tried >= FORGOTTEN && (tried - FORGOTTEN) % apart == apart - 1 {
            kept.push(here.clone());
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bell_is_drawn_as_it_is() {
        // Mean 0.7, standard deviation 0.5 in each of three coordinates, by construction.
        let log = |z: &[f64]| -0.5 * z.iter().map(|z| ((z - 0.7) / 0.5).powi(2)).sum::<f64>();
        let drawn = walk(&log, &[vec![0.0; 3], vec![2.0; 3]], 2000, 1, 0);
        assert_eq!(drawn.len(), 2000);
        for j in 0..3 {
            let mean = drawn.iter().map(|z| z[j]).sum::<f64>() / 2000.0;
            let square = drawn.iter().map(|z| (z[j] - mean).powi(2)).sum::<f64>() / 2000.0;
            assert!((mean - 0.7).abs() < 0.05, "{mean}");
            assert!((square.sqrt() - 0.5).abs() < 0.04, "{}", square.sqrt());
        }
    }

    #[test]
    fn two_hills_apart_share_the_draws() {
        let hill = |x: f64| -0.5 * (x / 0.2).powi(2);
        let log = |z: &[f64]| {
            let (a, b) = (hill(z[0] - 2.0), hill(z[0] + 2.0));
            a.max(b) + libm::log1p(libm::exp(-(a - b).abs()))
        };
        let drawn = walk(&log, &[vec![2.0]], 2000, 3, 0);
        let right = drawn.iter().filter(|z| z[0] > 0.0).count();
        assert!((850..1150).contains(&right), "{right}");
    }
}
