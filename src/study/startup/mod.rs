//! From a heap of manure to a steady flame: when the gas burns, and a feeding plan that nearly all draws bear.
//!
//! | file | holds |
//! |---|---|
//! | [`plan`] | a feeding plan |
//! | [`judge`] | what counts in one run: milestones, limits |
//! | `members` | the digesters that plans are tried on |
//! | `season` | where the cold of the year ends what can be planned for |
//! | `search` | the search for the soonest plan |
//! | `stages` | the study, stage by stage |
//! | [`spread`] | days as bands over draws |
//! | [`shorten`] | what would make it shorter |
//! | `courses` | bands over time |
//! | `summary` | the input in numbers, milestones as bands |
//! | [`result`] | what the study gives |

mod courses;
pub mod judge;
mod members;
pub mod plan;
pub mod result;
mod search;
mod season;
pub mod shorten;
pub mod spread;
mod stages;
mod summary;

pub use courses::Courses;
pub use judge::Limits;
pub use plan::{Plan, Step};
pub use result::{
    Begin, Feeding, Milestone, MilestoneKind, Rule, RuleKind, Startup, Stuck, Tally, Wanted,
};
pub use season::Cold;
pub use shorten::{Shortener, ShortenerKind};
pub use spread::Spread;
pub use stages::startup;

use std::sync::atomic::AtomicBool;

use super::batch::BatchError;
use super::sampling::SamplingError;
use crate::simulate::RunFailure;

/// Days of the whole feed that a plan must still bear within the run. Assumption of this project: acids answer to a
/// raised feed within four weeks.
pub const PROOF_D: u32 = 28;
/// Shortest run that a start can be planned in \[d\].
pub const SHORTEST_D: u32 = 2 * PROOF_D;
/// Most draws of a planning or of a check.
pub const MOST_DRAWS: usize = 5_000;
/// Fewest draws: one in twenty must be a whole draw.
pub const FEWEST_DRAWS: usize = 20;

/// How the study is made.
#[derive(Debug, Clone, Copy)]
pub struct Options<'a> {
    /// Draws that plans are tried on, [`FEWEST_DRAWS`]..=[`MOST_DRAWS`].
    pub draws: usize,
    /// Fresh draws that the plan found is checked on, same range.
    pub checks: usize,
    /// Seed of all draws.
    pub seed: u64,
    /// Worker threads; `None`: one for each core.
    pub threads: Option<usize>,
    /// Once true the study ends with the stages that are done.
    pub stop: &'a AtomicBool,
}

/// A start that cannot be planned.
#[derive(Debug, thiserror::Error)]
pub enum StartupError {
    /// Nothing is fed daily.
    #[error("the scenario feeds nothing every day, so there is no feed to work up to")]
    NoFeed,
    /// A steady stream is no feeding by hand.
    #[error("the scenario has a steady inflow; a start is planned for feeding by hand only")]
    Stream,
    /// The run is too short.
    #[error("{days} days are too short to plan a start in; give at least {SHORTEST_D}")]
    TooShort {
        /// Days of the run.
        days: u32,
    },
    /// Draws outside their range.
    #[error("{0} draws; give {FEWEST_DRAWS} to {MOST_DRAWS}")]
    Draws(usize),
    /// The draws cannot be made.
    #[error("{0}")]
    Sampling(#[from] SamplingError),
    /// The batch cannot begin.
    #[error("{0}")]
    Batch(#[from] BatchError),
    /// The equations cannot be built for a draw.
    #[error("{0}")]
    Run(RunFailure),
}
