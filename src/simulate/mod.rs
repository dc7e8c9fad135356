//! From a checked case to an outcome (layer 5).

mod events;
mod failure;
mod heat;
mod ledger;
mod many;
mod outcome;
mod plant;
mod run;
mod samples;
mod vessel;

pub use failure::RunFailure;
pub use many::{Member, Port, run_many};
pub use outcome::{
    Closure, DayRow, Event, EventKind, Fate, HeatDay, HeatSeries, HeaterSource, Outcome, Point,
    Provenance, SolverRecord, VesselSeries,
};
pub use run::{Change, engine, run, run_changing, run_on};
pub use vessel::{Clock, Running};
