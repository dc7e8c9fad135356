//! The same scenario many times, each time with what is not known drawn anew: how likely it turns sour, when it burns,
//! how widely the courses spread, and which of the unknowns matters most.
//!
//! | file | holds |
//! |---|---|
//! | `member` | what is kept of one run |
//! | `level` | the runs of one level of feeding, summed up |
//! | `courses` | bands over the days, in memory that does not grow with the draws |
//! | `matters` | rank correlation of results with factors |
//! | `summary` | one number for what changes from day to day in a draw |

mod courses;
mod level;
mod matters;
mod member;
mod summary;

use std::sync::atomic::AtomicBool;

use serde::Serialize;

pub use courses::{Course, Courses, Quantity};
pub use level::{Level, Spread, Waiting};
pub use matters::{Matter, Target};
pub use member::{MOST_ACID_RATIO, Member};
pub use summary::{Summary, WEEKS_D};

use super::bands::BandError;
use super::batch::{self, BatchError, BatchOptions, JobPanic};
use super::generator::GENERATOR;
use super::sampling::{self, Points, SamplingError};
use super::statistics::CONFIDENCE;
use super::uncertain::{Factor, Uncertain, scale_feed};
use crate::case::Case;
use crate::simulate::{self, Outcome, RunFailure};

/// Most runs of one study, draws times levels.
pub const MOST_RUNS: usize = 1_000_000;
/// Failed runs that are listed with their reason; all are counted.
const LISTED_FAILURES: usize = 20;
/// Fewest draws: below, quantiles at 5 and 95 % say nothing.
pub const FEWEST_DRAWS: usize = 20;
/// Runs whose summaries are held at once: enough that convoys seldom wait for their last ones.
const CHUNK: usize = 512;
/// Most draws.
pub const MOST_DRAWS: usize = sampling::MAX_ROWS;

/// What to do.
#[derive(Debug, Clone, PartialEq)]
pub struct RiskOptions {
    /// Draws, [`FEWEST_DRAWS`] to [`MOST_DRAWS`]; draws times levels at most [`MOST_RUNS`].
    pub draws: usize,
    /// Seed of all draws.
    pub seed: u64,
    /// Levels of feeding, as multiples of the planned feed, 0 or above, growing, at least one.
    pub feed: Vec<f64>,
    /// Worker threads; `None`: one for each core.
    pub threads: Option<usize>,
}

/// A study that cannot begin.
#[derive(Debug, thiserror::Error)]
pub enum RiskError {
    /// Too few draws.
    #[error("{0} draws tell nothing about the rare cases; ask for {FEWEST_DRAWS} or more")]
    FewDraws(usize),
    /// Too many draws.
    #[error("{0} draws are too many; ask for {FEWEST_DRAWS} to {MOST_DRAWS}")]
    ManyDraws(usize),
    /// Too many runs.
    #[error(
        "{draws} draws of {levels} levels of feeding are too many; {MOST_RUNS} runs are the most"
    )]
    ManyRuns {
        /// Draws.
        draws: usize,
        /// Levels.
        levels: usize,
    },
    /// No usable level of feeding.
    #[error(
        "levels of feeding must be finite multiples of the planned feed, 0 or above, and at least one"
    )]
    Levels,
    /// The draws cannot be made.
    #[error(transparent)]
    Sampling(#[from] SamplingError),
    /// The bands are too large.
    #[error(transparent)]
    Bands(#[from] BandError),
    /// The threads cannot be had.
    #[error(transparent)]
    Batch(#[from] BatchError),
}

/// Result of a study.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Risk {
    /// Scenario title.
    pub title: String,
    /// Scenario description.
    pub about: String,
    /// Calendar date of day 0 (ISO 8601), if given.
    pub start_date: Option<String>,
    /// Days of each run.
    pub days: u32,
    /// Draws asked for.
    pub draws: usize,
    /// Runs not begun because the study was stopped.
    pub not_begun: usize,
    /// Seed of all draws.
    pub seed: u64,
    /// Name and version of the random generator.
    pub generator: &'static str,
    /// How the points were drawn.
    pub method: &'static str,
    /// Share of all studies whose interval covers the true chance.
    pub confidence: f64,
    /// What was uncertain, and how widely.
    pub factors: Vec<Factor>,
    /// Planned feed, wet material without water, mean over all days \[kg/d\].
    pub planned_feed_kg_d: f64,
    /// When material is fed for the first time \[d\]; a steady stream feeds from day 0, `None`: never.
    pub first_feed_day: Option<f64>,
    /// What came out at each level of feeding.
    pub levels: Vec<Level>,
    /// Index of the level nearest to the plan: bands and correlations belong to it.
    pub main: usize,
    /// Bands over the days at the main level.
    pub courses: Courses,
    /// Correlations at the main level, strongest first within each result.
    pub matters: Vec<Matter>,
    /// Size of rank correlation that mere chance exceeds, among all of them, in one of twenty studies.
    pub chance_level: Option<f64>,
    /// The first failed runs.
    pub failures: Vec<FailedRun>,
    /// The run at typical values, as the plain run has it; `None` where it failed.
    pub typical: Option<Member>,
    /// Version of marshgas.
    pub version: &'static str,
    /// Scenario file.
    pub file: String,
    /// SHA-256 of the scenario's bytes.
    pub sha256: String,
}

/// A run that came to no result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FailedRun {
    /// Draw, from 0.
    pub draw: usize,
    /// Index of the level of feeding.
    pub level: usize,
    /// Why.
    pub why: String,
}

/// Runs a study. `stop` ends it early: what is done is kept and reported. `progress` is called from worker threads
/// with the share of runs done.
///
/// The result depends on the case, the factors and the seed, never on the number of threads.
///
/// # Errors
/// [`RiskError`]. A run that fails is counted, never an error.
pub fn run(
    case: &Case,
    uncertain: &Uncertain,
    options: &RiskOptions,
    stop: &AtomicBool,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Risk, RiskError> {
    check(options)?;
    let points = uncertain.points(options.draws, options.seed)?;
    let levels = options.feed.len();
    let main = nearest_to_plan(&options.feed);
    let planned: Vec<Case> = options.feed.iter().map(|&f| fed(case, f)).collect();
    let typical = member(&planned[main], true).ok();

    let mut courses = courses::Gather::new(case.days as usize, typical.as_ref())?;
    let mut gather: Vec<level::Gather> = options
        .feed
        .iter()
        .map(|_| level::Gather::new(options.draws))
        .collect();
    let mut failures = Vec::new();
    let total = options.draws * levels;
    let first_feed_day = first_feed_day(case);
    let jobs = Jobs {
        uncertain,
        points: &points,
        planned: &planned,
        seed: options.seed,
        main,
    };
    let reduce = |index: usize, job: Result<Result<Member, RunFailure>, JobPanic>| {
        let (draw, level) = (index / levels, index % levels);
        let why = match job {
            Ok(Ok(member)) => {
                courses.push(&member);
                gather[level].push(draw, &member);
                return;
            }
            Ok(Err(failure)) => failure.to_string(),
            Err(panic) => panic.to_string(),
        };
        gather[level].fail();
        if failures.len() < LISTED_FAILURES {
            failures.push(FailedRun { draw, level, why });
        }
    };
    let batch = BatchOptions {
        threads: options.threads,
        chunk: CHUNK,
        ..BatchOptions::new(stop)
    };
    let tally = batch::reduce_cases(total, batch, &jobs, reduce, &|done| {
        progress(done as f64 / total as f64);
    })?;

    let (matters, chance_level) = matters::matters(
        uncertain,
        &points,
        &gather[main],
        &planned[main],
        options.seed,
    );
    Ok(Risk {
        title: case.title.clone(),
        about: case.about.clone(),
        start_date: case.start_date.map(|d| d.to_string()),
        days: case.days,
        draws: options.draws,
        not_begun: tally.not_begun,
        seed: options.seed,
        generator: GENERATOR,
        method: "latin-hypercube",
        confidence: CONFIDENCE,
        factors: uncertain.factors.clone(),
        planned_feed_kg_d: planned_feed(case),
        first_feed_day,
        matters,
        chance_level,
        levels: options
            .feed
            .iter()
            .zip(&gather)
            .map(|(&feed, level)| level.level(feed, first_feed_day))
            .collect(),
        main,
        courses: courses.courses(),
        failures,
        typical,
        version: env!("CARGO_PKG_VERSION"),
        file: case.source.file.clone(),
        sha256: case.source.sha256.clone(),
    })
}

/// Draw after draw, so that a study stopped early has as many draws at each level.
struct Jobs<'a> {
    uncertain: &'a Uncertain,
    points: &'a Points,
    planned: &'a [Case],
    seed: u64,
    main: usize,
}

impl batch::Runs for Jobs<'_> {
    type Kept = ();
    type Result = Result<Member, RunFailure>;

    fn before(&self, index: usize) -> Result<(simulate::Member, ()), Self::Result> {
        let levels = self.planned.len();
        let (draw, level) = (index / levels, index % levels);
        let point = self.points.row(draw).unwrap_or_default();
        let planned = &self.planned[level];
        let drawn = self.uncertain.apply(planned, point, draw as u64, self.seed);
        let engine = simulate::engine(&drawn).map_err(Err)?;
        let case = Box::new(drawn);
        Ok((simulate::Member { engine, case }, ()))
    }

    fn after(
        &self,
        index: usize,
        _case: &Case,
        (): (),
        outcome: Result<Outcome, RunFailure>,
    ) -> Self::Result {
        Ok(Member::of(
            &outcome?,
            index % self.planned.len() == self.main,
        ))
    }
}

/// Whether a study of these options can begin.
///
/// # Errors
/// [`RiskError::Levels`], [`RiskError::FewDraws`], [`RiskError::ManyDraws`], [`RiskError::ManyRuns`].
pub fn check(options: &RiskOptions) -> Result<(), RiskError> {
    let usable = |f: &f64| f.is_finite() && *f >= 0.0;
    if options.feed.is_empty() || !options.feed.iter().all(usable) {
        return Err(RiskError::Levels);
    }
    if options.draws < FEWEST_DRAWS {
        return Err(RiskError::FewDraws(options.draws));
    }
    if options.draws > MOST_DRAWS {
        return Err(RiskError::ManyDraws(options.draws));
    }
    let levels = options.feed.len();
    if options.draws.saturating_mul(levels) > MOST_RUNS {
        return Err(RiskError::ManyRuns {
            draws: options.draws,
            levels,
        });
    }
    Ok(())
}

fn member(case: &Case, with_days: bool) -> Result<Member, RunFailure> {
    let outcome = simulate::run(case, &mut |_| {})?;
    Ok(Member::of(&outcome, with_days))
}

/// The case with `times` the planned feed; a steady stream flows that much faster.
fn fed(case: &Case, times: f64) -> Case {
    let mut case = case.clone();
    if times != 1.0 {
        scale_feed(&mut case, &|_| times);
        if let Some(stream) = &mut case.inflow {
            stream.m3_per_d *= times;
        }
    }
    case
}

fn nearest_to_plan(feed: &[f64]) -> usize {
    let off = |i: &usize| (feed[*i] - 1.0).abs();
    (0..feed.len())
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .unwrap_or(0)
}

fn first_feed_day(case: &Case) -> Option<f64> {
    let mut fed = case.doses.iter().filter(|d| !d.parts.is_empty());
    match &case.inflow {
        Some(_) => Some(0.0),
        None => fed.next().map(|d| d.day),
    }
}

fn planned_feed(case: &Case) -> f64 {
    let kg = case.doses.iter().flat_map(|d| &d.parts).map(|(_, kg)| kg);
    kg.sum::<f64>() / f64::from(case.days.max(1))
}
