//! An owner's own record: reading it, fitting a case to it, ranking what may be wrong (layer 7).
//!
//! | file | holds |
//! |---|---|
//! | `record` | entries, doubts |
//! | `read` | table to record |
//! | `write`, `append`, `words` | record to table; one more line; a line in plain words |
//! | `join` | record and scenario to a checked case |
//! | `stretch` | gas readings as stretches of time |
//! | `compare` | the run of that case beside the record |
//! | [`fit`] | a few unknowns of the digester fitted to the record |
//! | [`diagnose`] | what may be wrong, ranked, and the test that would tell |

mod append;
mod compare;
pub mod diagnose;
pub mod fit;
mod join;
pub mod read;
mod record;
mod stretch;
mod words;
mod write;

pub use append::{AppendError, Appended, append};
pub use compare::{
    Comparison, Flame, Gap, Interval, Measured, Reading, Rolling, Totals, compare, habits,
};
pub use join::{FAR_K, JoinError, Joined, Leap, LeftOut, USUAL_HOUR, join, moment};
pub use record::{Doubt, Entry, Fed, GasReading, Habits, Record, Taken};
pub use words::{NotUnderstood, Stranger, Understood, understand};
pub use write::{clock, text};
