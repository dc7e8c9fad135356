//! What gas is used for: burner, lamp, engine, flare; the flame itself; the timetable.

mod appliance;
mod engine;
mod flame;
mod material;
mod timetable;

pub use appliance::{
    Appliance, BurnerSettings, Draw, FlareSettings, LampSettings, Refusal, water_heat_kwh,
};
pub use engine::{EngineKind, EngineSettings, Running};
pub use flame::{Flame, FlameVerdict, flame, jet_m3_h, ventilation_m3_h};
pub use material::{Burner, EngineRow, FlameRow, Jet, Power, UseTable, use_table};
pub use timetable::{Clock, Demand, NamedAppliance, Served, check_demands, serve};
