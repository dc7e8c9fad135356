//! Published check values, and what this build computes for each (layer 6).
//!
//! The list is data (`data/evidence.json`): published value or band, allowed gap, source, and what is expected of this
//! build. Every check is computed by a pure function here; the command line shows the list and the tests hold it.
//! No parameter of the model was moved to meet a check; where one was set from such a value, the check says so.
//!
//! | file | computes |
//! |---|---|
//! | `book` | reads the list |
//! | `benchmark` | ADM1 in its published tank: steady state, retention cliff, shocks, dilution |
//! | `crosscheck` | the four-stage network in the same tank |
//! | `sketch` | cases built in memory for the checks below |
//! | `field` | measured digesters: temperature, a field dome, loading ceilings |
//! | `potentials` | batch tests against measured potentials |
//! | `practice` | what practice and handbooks expect |
//! | `warmth` | the heat balance: a measured bag |

mod benchmark;
mod book;
mod crosscheck;
mod field;
mod potentials;
mod practice;
mod sketch;
mod warmth;

use std::collections::BTreeMap;
use std::sync::atomic::AtomicBool;

use serde::Serialize;

pub use benchmark::{Start, State, settled};
pub use book::{Book, Check, Expectation, book};

use super::batch::{self, BatchError, BatchOptions};
use crate::simulate::RunFailure;
use crate::solver::{Failure, RhsFailure, SetupFailure};

/// A known miss may grow by this share before it counts as a new one.
pub const KNOWN_MISS_GROWTH: f64 = 0.1;

/// How a computed value stands to its check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Inside the allowed gap or band.
    Agrees,
    /// Outside of it.
    Misses,
    /// The value was used to set an assumption, so it proves nothing.
    SetBy,
}

/// A check and what this build computes for it.
#[derive(Debug, Clone, Serialize)]
pub struct Finding {
    /// The check.
    #[serde(flatten)]
    pub check: &'static Check,
    /// Its source in full.
    pub source_text: &'static str,
    /// What this build computes; infinite where it never happens.
    pub computed: f64,
    /// Distance from the published value, or from the band \[unit of the check\].
    pub gap: f64,
    /// How they stand.
    pub verdict: Verdict,
}

impl Finding {
    fn new(check: &'static Check, source_text: &'static str, computed: f64) -> Self {
        let verdict = match check.expected {
            Expectation::SetBy => Verdict::SetBy,
            _ if check.holds(computed) => Verdict::Agrees,
            _ => Verdict::Misses,
        };
        Self {
            check,
            source_text,
            computed,
            gap: check.gap(computed),
            verdict,
        }
    }

    /// Whether it misses although the list expects it to agree.
    #[must_use]
    pub fn disagrees(&self) -> bool {
        self.check.expected == Expectation::Agrees && self.verdict == Verdict::Misses
    }

    /// Whether a known miss agrees all of a sudden, or has grown beyond [`KNOWN_MISS_GROWTH`].
    #[must_use]
    pub fn drifted(&self) -> bool {
        match (self.check.expected, self.check.known_gap) {
            (Expectation::Misses, Some(known)) => {
                self.verdict == Verdict::Agrees || self.gap > (1.0 + KNOWN_MISS_GROWTH) * known
            }
            _ => false,
        }
    }
}

/// Why the evidence could not be computed.
#[derive(Debug, thiserror::Error)]
pub enum EvidenceFailure {
    /// A run failed.
    #[error(transparent)]
    Run(#[from] RunFailure),
    /// An integration could not be set up.
    #[error("the integrator refuses its settings: {0}")]
    Setup(#[from] SetupFailure),
    /// An integration stopped.
    #[error(transparent)]
    Solver(#[from] Failure),
    /// A state allowed no pH.
    #[error(transparent)]
    State(#[from] RhsFailure),
    /// The batch could not begin.
    #[error(transparent)]
    Batch(#[from] BatchError),
    /// The list and the program do not fit each other.
    #[error("the list of checks: {0}")]
    List(String),
}

/// Computed values by the check's id.
type Values = Vec<(String, f64)>;
type Job = fn() -> Result<Values, EvidenceFailure>;

/// Everything that is computed, the slow ones first so that the cores stay busy.
const JOBS: &[Job] = &[
    field::ceilings_by_temperature,
    benchmark::steady_near,
    benchmark::steady_dilute,
    benchmark::cliff,
    benchmark::sugar_shocks,
    benchmark::dilutions,
    crosscheck::same_tank,
    field::cool_digesters,
    field::dome,
    potentials::batches,
    potentials::dung_in_fifty_days,
    potentials::methane_of_cod,
    practice::healthy_tanks,
    practice::first_flames,
    practice::horse_dung,
    practice::simple_farm_plant,
    practice::food_alone,
    practice::retention_arithmetic,
    warmth::bag_from_its_weather,
];

/// Computes every check of the list, in its order. `progress` is called from worker threads with the share done.
///
/// # Errors
/// [`EvidenceFailure`] if one cannot be computed at all.
pub fn compute(progress: &(dyn Fn(f64) + Sync)) -> Result<Vec<Finding>, EvidenceFailure> {
    let stop = AtomicBool::new(false);
    let jobs = batch::run_all(
        JOBS.len(),
        BatchOptions::new(&stop),
        |i| JOBS[i](),
        &|done| progress(done as f64 / JOBS.len() as f64),
    )?;
    let mut values = BTreeMap::new();
    for job in jobs.into_iter().flatten() {
        let job = job.map_err(|panic| EvidenceFailure::List(panic.to_string()))?;
        values.extend(job?);
    }
    let book = book();
    let mut findings = Vec::with_capacity(book.checks.len());
    for check in &book.checks {
        let computed = values
            .remove(&check.id)
            .ok_or_else(|| EvidenceFailure::List(format!("nothing computes `{}`", check.id)))?;
        let source = book.sources.get(&check.source).map(String::as_str);
        let source =
            source.ok_or_else(|| EvidenceFailure::List(format!("no source `{}`", check.source)))?;
        findings.push(Finding::new(check, source, computed));
    }
    match values.keys().next() {
        None => Ok(findings),
        Some(id) => Err(EvidenceFailure::List(format!("no check is called `{id}`"))),
    }
}
