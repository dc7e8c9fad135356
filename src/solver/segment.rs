//! What a method is given to advance through one segment.

use super::options::Options;
use super::statistics::Statistics;

/// What a method is given to advance through one segment.
pub(super) struct Segment<'a, S> {
    pub(super) system: &'a mut S,
    pub(super) options: &'a Options,
    pub(super) statistics: &'a mut Statistics,
    /// Start, finite.
    pub(super) t0: f64,
    /// End, finite and later.
    pub(super) t1: f64,
}
