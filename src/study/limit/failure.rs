//! Why a limit could not be looked for. That no limit was found is a result, not a failure.

use crate::simulate::RunFailure;
use crate::solver::RhsFailure;
use crate::solver::continuation::ContinuationFailure;
use crate::study::batch::{BatchError, JobPanic};
use crate::units::{MESSAGE_DIGITS, repeated, told};

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum LimitFailure {
    /// Nothing was fed before the day.
    #[error(
        "nothing was fed before day {day}: a limit needs a feed to multiply. Choose a later day or give the scenario a feeding"
    )]
    NotFed {
        /// Day asked for.
        day: u32,
    },
    /// The day lies outside the run.
    #[error("day {day} lies outside this run of {days} days; choose 1 to {days}")]
    Day {
        /// Day asked for.
        day: u32,
        /// Days of the run.
        days: u32,
    },
    /// An end of the search outside its range.
    #[error(
        "{what} {} {unit} is outside {} to {} {unit}",
        repeated(*value),
        told(*low, MESSAGE_DIGITS),
        told(*high, MESSAGE_DIGITS)
    )]
    Range {
        /// What was given, in words.
        what: &'static str,
        /// Given value.
        value: f64,
        /// Unit.
        unit: &'static str,
        /// Lowest allowed.
        low: f64,
        /// Highest allowed.
        high: f64,
    },
    /// Not even the smallest feed keeps the tank healthy.
    #[error(
        "no healthy state was found to start from: even {tried} leaves the tank sour or without methane. The mixture, the temperature or the vessel does not suit digestion"
    )]
    NeverHealthy {
        /// What was tried, in words.
        tried: String,
    },
    /// A run failed.
    #[error(transparent)]
    Run(#[from] RunFailure),
    /// The branch could not be started.
    #[error("the branch of steady states: {0}")]
    Branch(#[from] ContinuationFailure),
    /// A steady state allowed no pH.
    #[error("a steady state cannot be read: {0}")]
    State(#[from] RhsFailure),
    /// The jobs could not begin.
    #[error(transparent)]
    Batch(#[from] BatchError),
    /// A job broke off inside the program.
    #[error(transparent)]
    Panic(#[from] JobPanic),
    /// The user asked to stop.
    #[error("stopped on request; nothing was written")]
    Stopped,
}
