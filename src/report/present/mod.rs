//! Which numbers, figures and sentences each study has to show: one module per study.

mod bands;
mod cautions;
mod limit;
mod run;
mod words;

pub use bands::{Bands, FlameBand, PhBand, RatioBand};
pub use limit::limit;
pub use run::run;
