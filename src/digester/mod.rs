//! A digester (layer 3): vessel, dosing, headspace, right-hand side, and what the eye can see.

mod bands;
mod dosing;
mod engine;
mod jacobian;
mod layout;
mod numbers;
mod observe;
mod plumbing;
mod reader;
mod tank;

pub use bands::{
    Bands, FlameBand, Limit, PhBand, RatioBand, RecoveredRule, SourRule, WashedOutRule,
};
pub use dosing::Outlet;
pub use engine::Engine;
pub use layout::Layout;
pub use observe::{MOST_ACID_RATIO, Reading, Shares};
pub use plumbing::Plumbing;
pub use reader::Reader;
pub(crate) use tank::heat_flows;
pub use tank::{HeatBalance, Tank};

pub use crate::thermal::{TemperatureCourse, Wave};
