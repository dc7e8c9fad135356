//! An owner's own record: reading it, fitting a case to it, ranking what may be wrong (layer 7).

mod append;
pub mod read;
mod record;
mod words;
mod write;

pub use append::{AppendError, Appended, append};
pub use record::{Doubt, Entry, Fed, GasReading, Habits, Record, Taken};
pub use words::{NotUnderstood, Understood, understand};
pub use write::text;
