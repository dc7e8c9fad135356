//! The plant behind the digester (layer 3): gas cleaning, store, use, residue.
//!
//! Every unit is a pure function from streams and settings to streams. Settings are plain numbers whose names end in
//! their unit; `check` tells what is wrong with one. Their defaults come from `data/`, where each figure says how it
//! became known. Gas amounts are norm litres (0 C, 101.325 kPa), pressures above ambient are Pa.
//!
//! | module | holds |
//! |---|---|
//! | `figure` | a number of a data table with range, unit and source |
//! | `fault` | what is wrong with a setting, and the pressure that is refused |
//! | `stream` | a gas with its amounts, temperature and pressure |
//! | [`cleaning`] | trap, lime, iron, carbon, drying: beds in a row over time |
//! | [`store`] | floating bell and bag: pressure, level, permeation |
//! | [`leak`] | what two readings say about a leak |
//! | [`uses`] | burner, lamp, engine, flare, flame, timetable |
//! | [`hourly`] | store and uses together, hour by hour |
//! | [`residue`] | litres, nutrients, area, remaining methane, hygiene |
//! | [`climate_weight`] | escaped methane as carbon dioxide |
//! | [`caution`] | what can hurt, by place |

pub mod caution;
pub mod cleaning;
pub mod climate_weight;
mod fault;
mod figure;
pub mod hourly;
pub mod leak;
pub mod residue;
pub mod store;
mod stream;
pub mod uses;

pub use fault::{HIGHEST_GAUGE_PA, PlantFault, check_gauge};
pub(crate) use fault::{above_zero, within};
pub use figure::{Figure, Standing};
pub use stream::{GasState, GasStream, Portion, Reading};
