//! The sampler of a fit held to what a sampler must do, on closed forms that cost nothing.

use std::sync::atomic::AtomicBool;

use marshgas::diary::fit::coordinate::Coordinate;
use marshgas::diary::fit::information::Information;
use marshgas::diary::fit::least_squares::{self, Options, Residuals};
use marshgas::diary::fit::posterior::{Drawing, Posterior, Predicts, draw};
use marshgas::study::batch::BatchOptions;
use marshgas::study::distribution::Distribution;
use marshgas::study::generator::replicate;

use super::diary_made_up::bell;

static NEVER: AtomicBool = AtomicBool::new(false);

const DAYS: u32 = 30;
/// Error of a reading, in parts of 100 litres.
const ERROR: f64 = 8.0;

/// A batch of one pool with a hole in its bell: `a (1 - exp(-k t)) - l t`, read every third day.
struct Batch(Vec<(f64, f64)>);

fn gas(values: &[f64], t: f64) -> f64 {
    values[0] * (1.0 - (-values[1] * t).exp()) - values[2] * t
}

impl Residuals for Batch {
    fn count(&self) -> usize {
        self.0.len()
    }

    fn residuals(&self, values: &[f64]) -> Result<Vec<f64>, String> {
        let points = self.0.iter();
        Ok(points.map(|&(t, y)| (gas(values, t) - y) / ERROR).collect())
    }
}

impl Predicts for Batch {
    type More = ();

    fn predict(&self, values: &[f64]) -> Result<(Vec<f64>, ()), String> {
        Ok((self.residuals(values)?, ()))
    }
}

/// As badly known and as crooked as those of a digester: a size, a speed, and a leak that may be next to nothing.
fn coordinates() -> [Coordinate; 3] {
    let drawn = |median, factor| {
        Coordinate::Drawn(Distribution::LogNormal {
            median,
            factor,
            low: None,
            high: None,
        })
    };
    [drawn(100.0, 1.3), drawn(0.1, 2.5), drawn(0.3, 6.0)]
}

/// A truth from the priors, a record of it, and what the sampler makes of that.
fn sampled(seed: u64, draws: usize) -> (Vec<f64>, Posterior<()>) {
    let coordinates = coordinates();
    let mut chance = replicate(seed, 1);
    let truth: Vec<f64> = coordinates
        .iter()
        .map(|c| c.value(bell(&mut chance)))
        .collect();
    let days = (1..=DAYS).step_by(3).map(f64::from);
    let model = Batch(
        days.map(|t| (t, gas(&truth, t) + ERROR * bell(&mut chance)))
            .collect(),
    );
    let walk = Options::closed_form(&NEVER);
    let fitted = least_squares::fit(&model, &coordinates, &[vec![0.0; 3]], &walk).unwrap();
    let information = Information::of(&fitted, &coordinates, 1.0).unwrap();
    let drawing = Drawing {
        draws,
        taught: true,
        seed,
        huber: None,
        noise: 1.0,
        batch: BatchOptions {
            threads: Some(1),
            ..BatchOptions::new(&NEVER)
        },
    };
    let drawn = draw(
        &model,
        &coordinates,
        &fitted,
        &information,
        &drawing,
        &|_| {},
    )
    .unwrap();
    (truth, drawn)
}

/// Simulation-based calibration (Talts et al. 2018, from memory): with truths from the priors and readings from the same
/// errors, the share of draws below the truth is spread evenly.
#[test]
fn truths_lie_anywhere_among_the_draws() {
    let records = 300;
    let mut bins = [[0usize; 10]; 3];
    let mut within = [0usize; 3];
    let mut effective = Vec::new();
    for seed in 0..records {
        let (truth, drawn) = sampled(7000 + seed, 100);
        effective.push(drawn.effective);
        for j in 0..3 {
            let below = drawn.mean(|d| f64::from(u8::from(d.values[j] < truth[j])));
            bins[j][((10.0 * below) as usize).min(9)] += 1;
            let ends = drawn.quantiles(|d| d.values[j], &[0.05, 0.95]);
            within[j] += usize::from((ends[0]..=ends[1]).contains(&truth[j]));
        }
    }
    effective.sort_by(f64::total_cmp);
    println!(
        "bins {bins:?} within {within:?} effective {:?}",
        (effective[0], effective[150], effective[299])
    );
    for j in 0..3 {
        let even = records as f64 / 10.0;
        let chi: f64 = bins[j]
            .iter()
            .map(|&n| (n as f64 - even).powi(2) / even)
            .sum();
        // Chi-square with 9 degrees of freedom: 27.88 is passed once in a thousand times (tables).
        assert!(chi < 27.88, "{j}: {chi} {:?}", bins[j]);
        // 300 of nine in ten: 270, standard deviation 5.2; three of these.
        assert!((254..=286).contains(&within[j]), "{j}: {}", within[j]);
    }
    // The floor of the sampler itself is 40; below it the draws were made three times in vain.
    assert!(effective[effective.len() / 20] >= 40.0, "{}", effective[15]);
}

/// The mean of each unknown against plain summing over a fine grid of all three.
#[test]
fn means_are_those_of_a_grid() {
    let (_, drawn) = sampled(42, 2000);
    let coordinates = coordinates();
    let mut chance = replicate(42, 1);
    let truth: Vec<f64> = coordinates
        .iter()
        .map(|c| c.value(bell(&mut chance)))
        .collect();
    let days: Vec<f64> = (1..=DAYS).step_by(3).map(f64::from).collect();
    let seen: Vec<f64> = days
        .iter()
        .map(|&t| gas(&truth, t) + ERROR * bell(&mut chance))
        .collect();
    let places: Vec<f64> = (-60..=60).map(|i| 0.08 * f64::from(i)).collect();
    let (mut total, mut sums, mut squares) = (0.0, [0.0; 3], [0.0; 3]);
    for &a in &places {
        for &b in &places {
            for &c in &places {
                let at = [a, b, c];
                let values = [0, 1, 2].map(|j| coordinates[j].value(at[j]));
                let data = days.iter().zip(&seen);
                let data: f64 = data
                    .map(|(&t, y)| ((gas(&values, t) - y) / ERROR).powi(2))
                    .sum();
                let weight = (-0.5 * (data + a * a + b * b + c * c)).exp();
                total += weight;
                for j in 0..3 {
                    sums[j] += weight * at[j];
                    squares[j] += weight * at[j] * at[j];
                }
            }
        }
    }
    for j in 0..3 {
        let mean = sums[j] / total;
        let sd = (squares[j] / total - mean * mean).sqrt();
        let found = drawn.mean(|d| coordinates[j].of(d.values[j]));
        let width = drawn.sd(|d| coordinates[j].of(d.values[j]));
        println!("{j}: grid {mean:.3} {sd:.3}, draws {found:.3} {width:.3}");
        // Draws of a walk are not independent; a tenth of the width is four standard errors of 1600 good ones.
        assert!((found - mean).abs() < 0.1 * sd, "{j}: {mean} {found}");
        assert!((width / sd - 1.0).abs() < 0.08, "{j}: {sd} {width}");
    }
}
