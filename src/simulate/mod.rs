//! x
mod outcome;
pub use outcome::{Closure, DayRow, Event, EventKind, Fate, Outcome, Point, Provenance, SolverRecord, VesselSeries};
