//! From a checked case to an outcome (layer 5).

mod outcome;

pub use outcome::{
    Closure, DayRow, Event, EventKind, Fate, Outcome, Point, Provenance, SolverRecord, VesselSeries,
};
