//! An owner's own record: reading it, fitting a case to it, ranking what may be wrong (layer 7).

pub mod fit;
mod record;

pub use record::{Doubt, Entry, Fed, GasReading, Habits, Record, Taken};
