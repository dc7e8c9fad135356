//! What may be wrong: competing stories told against the same record, weighed, and the cheap test that would tell.
//!
//! Each story is a small change of what is known before. Its evidence is the chance of the record averaged over
//! everything that the story leaves open (by Laplace about its own best fit); chances follow by Bayes' rule, hedged by
//! the chance that the record misleads the model as a whole.
//!
//! | file | holds |
//! |---|---|
//! | [`story`] | the stories and tests, as data |
//! | `tell` | one story against the record |
//! | [`worth`] | what a test is expected to tell |
//! | [`result`] | what a diagnosis gives |

pub mod result;
pub mod story;
mod tell;
pub mod worth;

use std::sync::atomic::{AtomicBool, Ordering};

use result::{Changed, Diagnosis, Evidence, Ranked, TestWorth, WeekDay};
use story::Book;
use tell::Told;

pub use tell::WEEK;

use crate::case::Case;
use crate::diary::fit::digester::{DigesterFailure, FitOptions, scatter};
use crate::diary::fit::readings::{Readings, What};
use crate::diary::fit::unknown::Unknown;
use crate::study::batch::{self, BatchError, BatchOptions};

/// How a diagnosis is made.
#[derive(Debug, Clone, Copy)]
pub struct Options<'a> {
    /// Seed of all draws.
    pub seed: u64,
    /// Worker threads.
    pub threads: Option<usize>,
    /// Ends it early.
    pub stop: &'a AtomicBool,
}

/// Why there is no diagnosis.
#[derive(Debug, thiserror::Error)]
pub enum DiagnosisFailure {
    /// The record holds no number.
    #[error("the record holds no gas, pH, methane, flame, acids or alkalinity to judge by")]
    NoReadings,
    /// No story could be computed; the reason of the first.
    #[error("no story could be computed: {0}")]
    NoStory(String),
    /// The batch could not begin.
    #[error(transparent)]
    Batch(#[from] BatchError),
    /// Stopped from outside.
    #[error("the diagnosis was stopped")]
    Stopped,
}

/// Chance that a record misleads the model as a whole, for weeks and in all readings alike, so that what was thought
/// before still stands. Errors of readings are taken as independent; those of equations and feeds are not, and a few zeros
/// in a row would else count as proof.
///
/// It is the share of published comparisons that the model misses by more than was agreed: 13 of 73 (`marshgas evidence`).
/// That a tank at home misleads as often as a published one is an assumption; it was not set by what diagnoses of made-up
/// records gave.
pub const MISLED: f64 = 0.18;
/// All kinds of readings.
const KINDS: [What; 7] = [
    What::Gas,
    What::GasAfterLime,
    What::Ph,
    What::Methane,
    What::Burns,
    What::Acids,
    What::Alkalinity,
];

/// Ranks the stories of `book`. `case` must reach [`WEEK`] days beyond the record.
///
/// # Errors
/// [`DiagnosisFailure`]. A story that cannot be computed is told as such and takes no part.
pub fn diagnose(
    book: &Book,
    case: &Case,
    readings: &Readings,
    usual_nl: f64,
    options: &Options<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Diagnosis, DiagnosisFailure> {
    if readings.readings.is_empty() {
        return Err(DiagnosisFailure::NoReadings);
    }
    let each = FitOptions {
        draws: 1,
        seed: options.seed,
        threads: Some(1),
        stop: options.stop,
    };
    let ways: Vec<(usize, Vec<Unknown>)> = book
        .stories
        .iter()
        .enumerate()
        .flat_map(|(i, story)| book.ways(story).into_iter().map(move |way| (i, way)))
        .collect();
    let count = ways.len();
    let work = |index: usize| {
        let (story, unknowns) = &ways[index];
        let story = &book.stories[*story];
        tell::tell(
            book,
            story,
            unknowns.clone(),
            case,
            readings,
            usual_nl,
            &each,
        )
    };
    let batch = BatchOptions {
        threads: options.threads,
        ..BatchOptions::new(options.stop)
    };
    let jobs = batch::run_all(count, batch, work, &|n| progress(n as f64 / count as f64))?;
    if options.stop.load(Ordering::Relaxed) {
        return Err(DiagnosisFailure::Stopped);
    }
    let mut told: Vec<Vec<Result<Told, String>>> =
        book.stories.iter().map(|_| Vec::new()).collect();
    for (job, (story, _)) in jobs.into_iter().zip(&ways) {
        told[*story].push(match job {
            Some(Ok(told)) => told.map_err(|e: DigesterFailure| e.to_string()),
            Some(Err(panic)) => Err(panic.to_string()),
            None => Err("not begun".into()),
        });
    }
    if let (true, Some(Err(why))) = (
        told.iter().flatten().all(Result::is_err),
        told.iter().flatten().next(),
    ) {
        return Err(DiagnosisFailure::NoStory(why.clone()));
    }
    // If even the best story scatters wider than readings do, the model is that much less sure of all of them.
    let noise = told
        .iter()
        .flatten()
        .flatten()
        .map(|t| scatter(&t.fitted, readings))
        .fold(f64::INFINITY, f64::min)
        .max(1.0);
    let stories: Vec<(Result<Told, String>, Option<f64>)> =
        told.into_iter().map(|ways| joined(ways, noise)).collect();
    let (told, logs): (Vec<_>, Vec<_>) = stories.into_iter().unzip();
    let weighed = Weighed {
        told: &told,
        logs: &logs,
        noise,
    };
    Ok(weigh(
        book,
        case,
        readings,
        usual_nl,
        options.seed,
        &weighed,
    ))
}

/// The ways of a story as one: their mean evidence, and the look of the likeliest. A way that could not be computed
/// counts as one that the record rules out.
fn joined(ways: Vec<Result<Told, String>>, noise: f64) -> (Result<Told, String>, Option<f64>) {
    let count = ways.len() as f64;
    let logs: Vec<f64> = ways
        .iter()
        .map(|way| way.as_ref().ok().and_then(|t| t.log_evidence(noise)))
        .map(|log| log.unwrap_or(f64::NEG_INFINITY))
        .collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mean = logs.iter().map(|l| libm::exp(l - most)).sum::<f64>() / count;
    let runs = ways.iter().flatten().map(|t| t.runs).sum();
    let failed = ways.iter().flatten().map(|t| t.failed).sum();
    let best = ways
        .into_iter()
        .zip(&logs)
        .max_by(|a, b| a.1.total_cmp(b.1));
    let told = best.map_or_else(|| Err("not begun".into()), |(way, _)| way);
    let told = told.map(|mut told| {
        (told.runs, told.failed) = (runs, failed);
        told
    });
    (told, most.is_finite().then(|| most + libm::log(mean)))
}

/// The stories as told, and what the record says to each.
struct Weighed<'a> {
    told: &'a [Result<Told, String>],
    /// Logarithms of their evidence.
    logs: &'a [Option<f64>],
    /// Scatter of the readings about the best of them.
    noise: f64,
}

fn weigh(
    book: &Book,
    case: &Case,
    readings: &Readings,
    usual_nl: f64,
    seed: u64,
    weighed: &Weighed<'_>,
) -> Diagnosis {
    let Weighed { told, logs, noise } = *weighed;
    let joint: Vec<f64> = logs
        .iter()
        .zip(&book.stories)
        .map(|(log, s)| log.map_or(f64::NEG_INFINITY, |l| l + libm::log(s.chance)))
        .collect();
    let most = joint.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = joint.iter().map(|j| libm::exp(j - most)).sum();
    let before: f64 = book
        .stories
        .iter()
        .zip(logs)
        .map(|(s, log)| if log.is_some() { s.chance } else { 0.0 })
        .sum();
    let chances: Vec<f64> = joint
        .iter()
        .zip(&book.stories)
        .map(|(j, s)| match j.is_finite() {
            true => (1.0 - MISLED) * libm::exp(j - most) / total + MISLED * s.chance / before,
            false => 0.0,
        })
        .collect();
    let mut order: Vec<usize> = (0..told.len()).collect();
    order.sort_by(|&a, &b| chances[b].total_cmp(&chances[a]));
    let tests = tests(book, told, &chances, &order);
    let ranked = order
        .iter()
        .map(|&i| {
            let story = &book.stories[i];
            Ranked {
                name: story.name.clone(),
                title: story.title.clone(),
                words: story.words.clone(),
                act: story.act.clone(),
                why: story.why.clone(),
                before: story.chance,
                chance: chances[i],
                log_evidence: logs[i],
                evidence: evidence(book, told, readings, noise, i, &order),
                changed: told[i].as_ref().map(changed).unwrap_or_default(),
                week: told[i].as_ref().map(week).unwrap_or_default(),
                failed: told[i].as_ref().err().cloned(),
            }
        })
        .collect();
    Diagnosis {
        title: case.title.clone(),
        start_date: case.start_date.map(|d| d.to_string()).unwrap_or_default(),
        last_day: readings.last_day,
        readings: readings.readings.len(),
        stories: ranked,
        tests,
        noise,
        usual_gas_nl: usual_nl,
        runs: told.iter().flatten().map(|t| t.runs).sum(),
        failed: told.iter().flatten().map(|t| t.failed).sum(),
        seed,
        notes: readings.notes.clone(),
        source: book.source.clone(),
        version: env!("CARGO_PKG_VERSION"),
        file: case.source.file.clone(),
        sha256: case.source.sha256.clone(),
    }
}

/// How much each kind of reading speaks for a story, against the likeliest other one \[natural logarithm\].
fn evidence(
    book: &Book,
    told: &[Result<Told, String>],
    readings: &Readings,
    noise: f64,
    own: usize,
    order: &[usize],
) -> Vec<Evidence> {
    let other = order.iter().find(|&&i| i != own && told[i].is_ok());
    let (Ok(this), Some(&other)) = (&told[own], other) else {
        return Vec::new();
    };
    let Ok(that) = &told[other] else {
        return Vec::new();
    };
    let kinds = KINDS.into_iter().filter(|&w| readings.count(w) > 0);
    kinds
        .map(|what| Evidence {
            what,
            readings: readings.count(what),
            against: book.stories[other].name.clone(),
            gain: that.against(what, readings, noise, book.stories[other].scatter)
                - this.against(what, readings, noise, book.stories[own].scatter),
        })
        .collect()
}

fn changed(told: &Told) -> Vec<Changed> {
    let each = told.unknowns.iter().zip(&told.fitted.values);
    each.map(|(unknown, &value)| Changed {
        name: unknown.name.clone(),
        words: unknown.words.clone(),
        value,
        unit: unknown.unit.clone(),
    })
    .collect()
}

fn week(told: &Told) -> Vec<WeekDay> {
    let each = told.week.iter().enumerate();
    each.map(|(i, [gas_nl, ph, methane])| WeekDay {
        ahead: i as u32 + 1,
        gas_nl: *gas_nl,
        ph: *ph,
        methane: *methane,
    })
    .collect()
}

/// All tests, the one that tells most between the best two stories first.
fn tests(
    book: &Book,
    told: &[Result<Told, String>],
    chances: &[f64],
    order: &[usize],
) -> Vec<TestWorth> {
    let known: Vec<usize> = order.iter().copied().filter(|&i| told[i].is_ok()).collect();
    let best: Vec<usize> = known.iter().copied().take(2).collect();
    let mut worth: Vec<TestWorth> = book
        .tests
        .iter()
        .map(|test| {
            let shows = |stories: &[usize]| -> Vec<Vec<f64>> {
                let told = stories.iter().filter_map(|&i| told[i].as_ref().ok());
                told.map(|t| worth::chances(test, t)).collect()
            };
            let of = |stories: &[usize]| -> f64 {
                let weights: Vec<f64> = stories.iter().map(|&i| chances[i]).collect();
                worth::expected_information(&weights, &shows(stories))
            };
            TestWorth {
                name: test.name.clone(),
                title: test.title.clone(),
                how: test.how.clone(),
                between_best_two_bits: of(&best),
                among_all_bits: of(&known),
                outcomes: test.outcomes.clone(),
                chances: known
                    .iter()
                    .zip(shows(&known))
                    .map(|(&i, row)| (book.stories[i].name.clone(), row))
                    .collect(),
            }
        })
        .collect();
    worth.sort_by(|a, b| b.between_best_two_bits.total_cmp(&a.between_best_two_bits));
    worth
}
