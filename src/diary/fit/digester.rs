//! From a case and its readings to what they teach: typical run, walks, widths, draws, bands.

use std::sync::atomic::{AtomicBool, Ordering};

use super::coordinate::Coordinate;
use super::information::{Information, OPEN_BELOW, Singular};
use super::jump::jump;
use super::least_squares::{self, FitFailure, Fitted, Options, Residuals as _, Step};
use super::model::{Day, Model};
use super::posterior::{self, Draw, DrawFailure, Drawing, Posterior, weighted_quantiles};
use super::readings::{GAS_LEAST_SD, Readings, gas_of_size, gas_size};
use super::result::{DayBand, Fit, HARDLY, Learnt, Residual};
use super::robust::{self, HUBER};
use super::unknown::Unknown;
use crate::case::Case;
use crate::simulate::RunFailure;
use crate::study::batch::{self, BatchError, BatchOptions};
use crate::study::normal;
use crate::study::sampling::{self, Method, SamplingError};

/// Step of the differences in prior standard deviations. The runs of a fit are good to about a thousandth, a hundredth
/// of a reading's standard deviation: over twice this step that makes slopes good to a twentieth of the prior's own
/// information, while the bend of the model over it stays small.
const STEP: f64 = 0.1;
/// Relative change at which a walk has settled: below it nothing moves by a tenth of its width.
const SETTLED: f64 = 1e-3;
/// Most points of a walk for each unknown.
const PATIENCE: usize = 8;
/// Bound of the first step.
const FIRST_STEP: f64 = 10.0;
/// Points among which the start is looked for: the middle of all priors, and draws of them.
const SCOUTS: usize = 12;
/// A fit whose readings scatter wider than this, or that did not settle, is tried again from the middle.
const POOR_SCATTER: f64 = 1.5;
/// Effective draws below which weights are not trusted.
const FEWEST_EFFECTIVE: f64 = 15.0;
/// Mean of Huber's loss of a standard normal number at the corner 1.345.
const MEAN_LOSS: f64 = 0.9327;
/// Days that a forecast can look ahead.
pub const MOST_AHEAD: usize = 60;
/// Fewest and most draws of a fit.
pub const FEWEST_DRAWS: usize = 20;
/// See [`FEWEST_DRAWS`].
pub const MOST_DRAWS: usize = 20_000;

/// How a digester is fitted.
#[derive(Debug, Clone, Copy)]
pub struct FitOptions<'a> {
    /// Draws for bands, 20 to 20000.
    pub draws: usize,
    /// Seed of all draws.
    pub seed: u64,
    /// Worker threads.
    pub threads: Option<usize>,
    /// Ends the fit early.
    pub stop: &'a AtomicBool,
}

/// Why there is no fit.
#[derive(Debug, thiserror::Error)]
pub enum DigesterFailure {
    /// The record holds no number to fit to.
    #[error("the record holds no gas, pH, methane, flame, acids or alkalinity to fit to")]
    NoReadings,
    /// The typical run failed.
    #[error(transparent)]
    Run(#[from] RunFailure),
    /// No walk came through.
    #[error(transparent)]
    Fit(#[from] FitFailure),
    /// The widths cannot be told.
    #[error(transparent)]
    Singular(#[from] Singular),
    /// No draws.
    #[error(transparent)]
    Draw(#[from] DrawFailure),
    /// The scouts could not be drawn.
    #[error(transparent)]
    Sampling(#[from] SamplingError),
    /// The batch could not begin.
    #[error(transparent)]
    Batch(#[from] BatchError),
    /// Stopped from outside.
    #[error("the fit was stopped")]
    Stopped,
}

/// A fit before its draws: what a diagnosis needs of each story.
pub struct Settled<'a> {
    /// The model.
    pub model: Model<'a>,
    /// Coordinates of its unknowns.
    pub coordinates: Vec<Coordinate>,
    /// The end of the best walk.
    pub fitted: Fitted,
}

/// Walks from the best of a few draws of the priors, and from their middle where that ends badly.
///
/// # Errors
/// [`DigesterFailure`].
pub fn settle<'a>(
    case: &Case,
    unknowns: &'a [Unknown],
    readings: &'a Readings,
    usual_nl: f64,
    options: &FitOptions<'_>,
) -> Result<Settled<'a>, DigesterFailure> {
    if readings.readings.is_empty() {
        return Err(DigesterFailure::NoReadings);
    }
    let model = Model::new(case, unknowns, readings, usual_nl)?;
    let coordinates: Vec<Coordinate> = unknowns.iter().map(Unknown::coordinate).collect();
    let walk = walking(options);
    let start = scout(&model, &coordinates, options)?;
    let first = least_squares::fit(&model, &coordinates, &[start], &walk);
    let good = |f: &Fitted| f.stop.is_minimum() && scatter(f, readings) < POOR_SCATTER;
    let fitted = match first {
        Ok(fitted) if good(&fitted) => fitted,
        first => {
            let middle = vec![0.0; coordinates.len()];
            let second = least_squares::fit(&model, &coordinates, &[middle], &walk);
            better(first, second)?
        }
    };
    if options.stop.load(Ordering::Relaxed) {
        return Err(DigesterFailure::Stopped);
    }
    Ok(Settled {
        fitted: Fitted {
            runs: fitted.runs + SCOUTS,
            ..fitted
        },
        model,
        coordinates,
    })
}

/// Walks from one start.
///
/// # Errors
/// [`DigesterFailure`].
pub(in crate::diary) fn settle_from<'a>(
    case: &Case,
    unknowns: &'a [Unknown],
    readings: &'a Readings,
    usual_nl: f64,
    start: Vec<f64>,
    options: &FitOptions<'_>,
) -> Result<Settled<'a>, DigesterFailure> {
    let model = Model::new(case, unknowns, readings, usual_nl)?;
    let coordinates: Vec<Coordinate> = unknowns.iter().map(Unknown::coordinate).collect();
    let fitted = least_squares::fit(&model, &coordinates, &[start], &walking(options))?;
    if options.stop.load(Ordering::Relaxed) {
        return Err(DigesterFailure::Stopped);
    }
    Ok(Settled {
        model,
        coordinates,
        fitted,
    })
}

const fn walking<'a>(options: &FitOptions<'a>) -> Options<'a> {
    Options {
        huber: Some(HUBER),
        step: Step::Fixed(STEP),
        tolerance: SETTLED,
        patience: PATIENCE,
        first_step: FIRST_STEP,
        stop: options.stop,
        threads: options.threads,
    }
}

/// The lower of two ends, with the points of both.
fn better(
    a: Result<Fitted, FitFailure>,
    b: Result<Fitted, FitFailure>,
) -> Result<Fitted, FitFailure> {
    match (a, b) {
        (Ok(a), Ok(b)) => {
            let starts = [a.starts.clone(), b.starts.clone()].concat();
            let (runs, failed) = (a.runs + b.runs, a.failed + b.failed);
            let best = if a.sum <= b.sum { a } else { b };
            Ok(Fitted {
                runs,
                failed,
                starts,
                ..best
            })
        }
        (Ok(one), Err(_)) | (Err(_), Ok(one)) => Ok(one),
        (Err(_), Err(why)) => Err(why),
    }
}

/// Of the middle and a few draws of the priors the one with the least robust sum.
fn scout(
    model: &Model<'_>,
    coordinates: &[Coordinate],
    options: &FitOptions<'_>,
) -> Result<Vec<f64>, DigesterFailure> {
    let points = sampling::unit_points(
        Method::LatinHypercube,
        SCOUTS,
        coordinates.len(),
        options.seed,
    )?;
    let place = |index: usize| -> Vec<f64> {
        match points.row(index) {
            Some(row) if index > 0 => row.iter().map(|&p| normal::quantile(p)).collect(),
            _ => vec![0.0; coordinates.len()],
        }
    };
    let sum = |index: usize| {
        let at = place(index);
        let values: Vec<f64> = coordinates
            .iter()
            .zip(&at)
            .map(|(c, &u)| c.value(u))
            .collect();
        let tamed = |r: f64| robust::tamed(r, HUBER).powi(2);
        let data = model.residuals(&values).ok()?.into_iter().map(tamed);
        Some(data.sum::<f64>() + at.iter().map(|u| u * u).sum::<f64>())
    };
    let batch = BatchOptions {
        threads: options.threads,
        ..BatchOptions::new(options.stop)
    };
    let sums = batch::run_all(SCOUTS, batch, sum, &|_| {})?;
    let sums: Vec<f64> = sums
        .into_iter()
        .map(|job| job.and_then(Result::ok).flatten().unwrap_or(f64::INFINITY))
        .collect();
    let best = (0..SCOUTS).min_by(|&a, &b| sums[a].total_cmp(&sums[b]));
    Ok(place(best.unwrap_or(0)))
}

/// How many times wider the readings scatter than assumed, at least 1. What is no number has no scatter.
#[must_use]
pub fn scatter(fitted: &Fitted, readings: &Readings) -> f64 {
    let pairs = fitted.residuals.iter().zip(&readings.readings);
    let numbers = pairs.filter(|(_, reading)| reading.is_number());
    let (count, sum) = numbers.fold((0.0, 0.0), |(count, sum), (&off, _)| {
        (count + 1.0, sum + robust::loss(off, HUBER))
    });
    // Priors hold the unknowns too, so fewer readings than unknowns are spent; half is a fair count.
    let left = count - 0.5 * fitted.values.len() as f64;
    if left < 1.0 {
        return 1.0;
    }
    (sum / (MEAN_LOSS * left)).sqrt().max(1.0)
}

/// Fits `unknowns` of `case` to its readings. Days of the case beyond the record become the forecast.
///
/// `progress` gets the share done, 0 to 1.
///
/// # Errors
/// [`DigesterFailure`].
pub fn fit_digester(
    case: &Case,
    unknowns: &[Unknown],
    readings: &Readings,
    usual_nl: f64,
    options: &FitOptions<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Fit, DigesterFailure> {
    let settled = settle(case, unknowns, readings, usual_nl, options)?;
    progress(WALKED);
    let Settled {
        model,
        coordinates,
        fitted,
    } = &settled;
    let noise = scatter(fitted, readings);
    let information = Information::of(fitted, coordinates, noise)?;
    let drawing = Drawing {
        draws: options.draws,
        taught: true,
        seed: options.seed,
        huber: Some(HUBER),
        noise,
        batch: BatchOptions {
            threads: options.threads,
            ..BatchOptions::new(options.stop)
        },
    };
    let posterior = posterior::draw(
        model,
        coordinates,
        fitted,
        &information,
        &drawing,
        &|share| {
            progress(WALKED + (1.0 - WALKED) * share);
        },
    )?;
    let effective = posterior.effective;
    let (posterior, weighted) = posterior.trusted(FEWEST_EFFECTIVE);
    let learnt = learnt(unknowns, coordinates, fitted, &posterior);
    let residuals = residuals(&settled, readings);
    Ok(Fit {
        title: case.title.clone(),
        start_date: case.start_date.map(|d| d.to_string()).unwrap_or_default(),
        last_day: readings.last_day,
        readings: readings.readings.len(),
        open: open(&learnt, &information),
        unknowns: learnt,
        directions: information.directions.clone(),
        stop: fitted.stop,
        runs: fitted.runs + posterior.runs,
        failed: fitted.failed + posterior.failed,
        starts: fitted
            .starts
            .iter()
            .map(|s| s.is_finite().then_some(*s))
            .collect(),
        noise,
        effective_draws: effective,
        draws: options.draws,
        weighted,
        seed: options.seed,
        usual_gas_nl: usual_nl,
        jump: jump(&residuals),
        residuals,
        days: bands(&posterior, readings, usual_nl, noise),
        notes: readings.notes.clone(),
        version: env!("CARGO_PKG_VERSION"),
        file: case.source.file.clone(),
        sha256: case.source.sha256.clone(),
    })
}

/// Share of the work that is done when the walks end, roughly.
const WALKED: f64 = 0.25;

fn learnt(
    unknowns: &[Unknown],
    coordinates: &[Coordinate],
    fitted: &Fitted,
    posterior: &Posterior<Vec<Day>>,
) -> Vec<Learnt> {
    let each = unknowns.iter().zip(coordinates).enumerate();
    each.map(|(j, (unknown, coordinate))| {
        let value = |d: &Draw<Vec<Day>>| d.values[j];
        let ends = posterior.quantiles(value, &[0.05, 0.5, 0.95]);
        let left = posterior.sd(|d| coordinate.of(d.values[j]));
        Learnt {
            best: fitted.values[j],
            mean: posterior.mean(value),
            p05: ends[0],
            p50: ends[1],
            p95: ends[2],
            before: (unknown.prior.quantile(0.05), unknown.prior.quantile(0.95)),
            learnt: (1.0 - left * left).clamp(0.0, 1.0),
            unknown: unknown.clone(),
        }
    })
    .collect()
}

/// Least share of a direction that is worth naming.
const NAMED: f64 = 0.4;

/// What the readings leave open, in sentences: unknowns that hardly anything was learnt of, and mixtures along which the
/// readings know less than the priors.
fn open(unknowns: &[Learnt], information: &Information) -> Vec<String> {
    let hardly = unknowns.iter().filter(|l| l.learnt < HARDLY).map(|l| {
        let (words, name) = (&l.unknown.words, &l.unknown.name);
        if l.as_before() {
            format!(
                "This record says next to nothing about {words} (\"{name}\"): that stays as it was thought before."
            )
        } else {
            format!(
                "This record moves what is thought about {words} (\"{name}\"), but makes it hardly surer: take its value as \
                 a guess."
            )
        }
    });
    let left = information
        .directions
        .iter()
        .filter(|d| d.information < OPEN_BELOW);
    let mixed = left.filter_map(|direction| {
        let along = unknowns.iter().zip(direction.along.iter().copied());
        // What is open by itself has its own sentence.
        let mut parts: Vec<(&str, f64)> = along
            .filter(|(l, share)| share.abs() >= NAMED && l.learnt >= HARDLY)
            .map(|(l, share)| (l.unknown.name.as_str(), share))
            .collect();
        parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        (parts.len() > 1).then_some(parts)
    });
    let mixed: Vec<Vec<(&str, f64)>> = mixed.collect();
    let names = |parts: &[(&str, f64)]| {
        let mut names: Vec<String> = parts
            .iter()
            .map(|(name, _)| format!("\"{name}\""))
            .collect();
        names.sort();
        names
    };
    let mut told: Vec<Vec<String>> = Vec::new();
    let mut sentences = Vec::new();
    for parts in &mixed {
        let own = names(parts);
        if told.contains(&own) {
            continue;
        }
        let both = mixed.iter().filter(|other| names(other) == own).count() > 1;
        sentences.push(if both {
            // Two directions in the same unknowns: each of these is open in whatever mixture.
            format!(
                "This record says little about {}, alone or together.",
                own.join(" and ")
            )
        } else {
            let way = |share: f64| match share.signum() == parts[0].1.signum() {
                true => "more",
                false => "less",
            };
            let each = parts
                .iter()
                .map(|(name, share)| format!("{} \"{name}\"", way(*share)));
            format!(
                "This record cannot tell apart: {} together look the same as none of it.",
                each.collect::<Vec<_>>().join(" with ")
            )
        });
        told.push(own);
    }
    hardly.chain(sentences).collect()
}

fn residuals(settled: &Settled<'_>, readings: &Readings) -> Vec<Residual> {
    let Ok(rows) = settled.model.run(&settled.fitted.values) else {
        return Vec::new();
    };
    let expected = settled.model.expected(&rows, &settled.fitted.values);
    let each = readings.readings.iter().zip(expected);
    each.zip(&settled.fitted.residuals)
        .map(|((r, computed), &off)| Residual {
            line: r.line,
            what: r.what,
            from_day: r.from_day,
            day: r.day,
            seen: r.value,
            computed,
            off: -off,
        })
        .collect()
}

/// Points of a standard normal number that stand for the error of a reading, equally likely.
const ERROR_POINTS: usize = 15;

fn bands(
    posterior: &Posterior<Vec<Day>>,
    readings: &Readings,
    usual_nl: f64,
    noise: f64,
) -> Vec<DayBand> {
    let count = posterior
        .draws
        .iter()
        .map(|d| d.more.len())
        .min()
        .unwrap_or(0);
    let errors: Vec<f64> = (0..ERROR_POINTS)
        .map(|k| normal::quantile((k as f64 + 0.5) / ERROR_POINTS as f64))
        .collect();
    // The next reading errs as those of the record do.
    let mut gas_readings = readings.readings.iter().filter(|r| r.what.is_gas());
    let least = gas_readings
        .next()
        .map_or(GAS_LEAST_SD * usual_nl, |r| r.sd);
    let five = [0.05, 0.25, 0.5, 0.75, 0.95];
    let three = [0.05, 0.5, 0.95];
    (0..count)
        .map(|day| {
            let of = |f: &dyn Fn(&Day) -> f64| -> Vec<(f64, f64)> {
                let draws = posterior.draws.iter();
                draws.map(|d| (f(&d.more[day]), d.weight)).collect()
            };
            let gas = of(&|d| d.gas_nl);
            let read: Vec<(f64, f64)> = gas
                .iter()
                .flat_map(|&(value, weight)| {
                    let size = gas_size(value, least);
                    errors
                        .iter()
                        .map(move |e| (gas_of_size(size + noise * e, least).max(0.0), weight))
                })
                .collect();
            DayBand {
                day: day as u32,
                // The day of the last line is partly known: the forecast begins with the next.
                ahead: day as f64 > readings.last_day.floor(),
                gas_nl: array(&weighted_quantiles(gas, &five)),
                gas_read_nl: array(&weighted_quantiles(read, &five)),
                ph: array(&weighted_quantiles(of(&|d| d.ph), &three)),
                methane: array(&weighted_quantiles(of(&|d| d.methane), &three)),
            }
        })
        .collect()
}

fn array<const N: usize>(values: &[f64]) -> [f64; N] {
    let mut out = [f64::NAN; N];
    for (place, value) in out.iter_mut().zip(values) {
        *place = *value;
    }
    out
}
