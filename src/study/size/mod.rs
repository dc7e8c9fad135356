//! From a wish to the smallest plant that reaches it.
//!
//! | file | holds |
//! |---|---|
//! | `ask` | the file of a wish, raw and checked |
//! | `wish` | what there is, where, what for, what can be built |
//! | `rules` | lines of practice and named climates, as data |
//! | `plant` | a plant and the grid of all that may be built |
//! | `feed` | the feeding plan that keeps the lines |
//! | `estimate` | a first estimate, which chooses what is run |
//! | `draft` | the scenario of a plant |
//! | `judge` | a real run, month by month |
//! | `prove` | which plants are proven |
//! | `effort` | what is not worth its work, and which of nearly equal plants is plainer |
//! | `margin` | distance to the souring limit, chance over the draws |
//! | `search`, `desk` | from the grid to the plant; the runs on the way |
//! | `beside` | store and cleaning beds |
//! | `timetable`, `hourly` | when the gas is used; the store through the hours of the year |
//! | `outcome` | what comes out |
//!
//! No limit is ever relaxed: a plant that breaks one is named with what it breaks, and is not proposed.

mod ask;
mod beside;
mod desk;
mod draft;
mod effort;
mod estimate;
mod feed;
mod hourly;
mod judge;
mod margin;
mod outcome;
mod plant;
mod prove;
mod rules;
mod search;
mod timetable;
mod wish;
mod year;

use std::sync::atomic::AtomicBool;

use crate::plant::PlantFault;
use crate::scenario::Problems;
use crate::study::batch::{BatchError, JobPanic};
use crate::study::sampling::SamplingError;

pub use beside::{Beds, Store};
pub use feed::{Bound, MonthFeed};
pub use hourly::{Frosts, Hourly, HourlyMonth, Wished};
pub use judge::{Breach, MonthRow, Tried, engine_share};
pub use margin::{Margin, Sureness};
pub use outcome::{Curve, CurvePoint, Effort, Energy, Proof, SizeOutcome, Verdict};
pub use plant::Plant;
pub use rules::{Assumed, Line, NamedClimate, Rules, Tried as TriedValues, climates, rules};
pub use search::size;
pub use wish::{Arrangements, Builder, HeaterChoice, Scrap, SunChoice, Target, Wish};

/// A wish to begin from: an own invention.
pub const EXAMPLE: &str = include_str!("templates/wish.json");
/// Fewest and most draws.
pub const DRAWS: (usize, usize) = (8, 1000);

/// Told how far the search is: what is being done, and the share of it all, 0 to 1.
pub(crate) type Told<'a> = dyn Fn(&'static str, f64) + Sync + 'a;

/// How the search is made.
#[derive(Debug, Clone, Copy)]
pub struct Options<'a> {
    /// Draws for the chance, within [`DRAWS`].
    pub draws: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Worker threads; `None`: one for each core.
    pub threads: Option<usize>,
    /// Once true the search ends.
    pub stop: &'a AtomicBool,
}

/// A search that gives nothing. That a wish cannot be met is a result, not a failure.
#[derive(Debug, thiserror::Error)]
pub enum SizeFailure {
    /// A plant makes no sound scenario.
    #[error("a plant of the grid makes no sound scenario: {0}")]
    Scenario(#[from] Problems),
    /// The beds cannot be sized.
    #[error("the cleaning beds cannot be sized: {0}")]
    Plant(#[from] PlantFault),
    /// The draws cannot be made.
    #[error(transparent)]
    Sampling(#[from] SamplingError),
    /// The jobs could not begin.
    #[error(transparent)]
    Batch(#[from] BatchError),
    /// A job broke off inside the program.
    #[error(transparent)]
    Panic(#[from] JobPanic),
    /// The user asked to stop before anything was run.
    #[error("stopped on request before any plant was run; nothing was written")]
    Stopped,
}
