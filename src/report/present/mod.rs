//! Which numbers, figures and sentences each study has to show: one module per study.

mod cautions;
mod diary;
mod diary_diagnosis;
mod diary_fit;
mod limit;
mod risk;
mod run;
mod season;
mod size;
mod startup;
mod sweep;
mod words;
mod zones;

pub use diary::{csv_diary, diary};
pub use diary_diagnosis::diary_diagnosis;
pub use diary_fit::diary_fit;
pub use limit::limit;
pub use risk::risk;
pub use run::{foam_table, run};
pub use season::season;
pub use size::size;
pub use startup::{csv_startup, startup, startup_wall, startup_wall_text};
pub use sweep::{SweepRecord, sweep};
