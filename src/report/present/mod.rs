//! Which numbers, figures and sentences each study has to show: one module per study.

mod bands;
mod cautions;
mod run;
mod sweep;
mod words;

pub use bands::{Bands, FlameBand, PhBand, RatioBand};
pub use run::run;
pub use sweep::{SweepRecord, sweep};
