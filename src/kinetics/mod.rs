//! Reaction networks (layer 2): components, processes and typed rates as data, one evaluator for all.

mod adm1;
mod component;
mod equations;
mod evaluate;
mod four_stage;
mod influent;
mod network;
mod parameters;
mod properties;
mod rate;

pub use adm1::adm1;
pub use component::{Component, Group};
pub use equations::Equations;
pub use evaluate::{Conditions, Rates};
pub use four_stage::four_stage;
pub use influent::{
    Additive, FreshCarbonate, LIQUOR_KG_PER_M3, Load, additive_load, fresh_carbonate,
    load_of_material,
};
pub use network::{
    AcidKind, AcidTotal, Builder, Continuity, Gas, GasForm, GasKind, Network, NetworkFault, Pool,
    Process, Unbalanced,
};
pub use parameters::{Parameter, Parameters, UnknownParameter};
pub use properties::{Properties, PropertyTable};
pub use rate::{Coefficient, Factor, REFERENCE_K, Signal, TemperatureLaw, Var};
