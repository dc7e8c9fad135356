//! Compositions from a user's own figures: an analysis, or the label of a packet.

mod analysis;
mod check;
mod label;
mod problem;

pub use analysis::{Analysis, Shares, from_analysis};
pub use label::{Label, from_label};
pub use problem::{Cause, OwnProblem};
