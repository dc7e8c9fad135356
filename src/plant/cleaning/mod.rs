//! Gas cleaning: a row of stages in any order, run over steps of real gas.

mod bed;
mod material;
mod run;
mod settings;
mod truths;

pub use material::{BedMaterial, BedRow, Target, bed_row, bed_rows, lime_water_solubility};
pub use run::{Balance, GasStep, StageOutcome, TrainOutcome, TrainWarning, run_train};
pub use settings::{BedSettings, PA_PER_CM_WATER, Refill, Stage, TrapSettings};
pub use truths::{
    Truth, clear_lime_water_l, iron_oxide_need_kg, lime_need_kg, quicklime_need_kg,
    soda_lye_need_kg, truths,
};
