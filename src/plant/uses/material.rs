//! Figures of appliances and flames, as a table.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::embedded;
use crate::plant::Figure;

/// All figures of `data/uses.json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UseTable {
    /// What the table is.
    pub about: String,
    /// Household burner.
    pub burner: Burner,
    /// Gas lamp.
    pub lamp: Power,
    /// Piston engine with generator.
    pub piston: EngineRow,
    /// Engine with combustion outside.
    pub external: EngineRow,
    /// Flame.
    pub flame: FlameRow,
    /// Jet.
    pub jet: Jet,
    /// Flare.
    pub flare: Power,
}

/// A burner's figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Burner {
    /// Gas it burns \[kW, lower\].
    pub power_kw: Figure,
    /// Share that reaches the pot.
    pub efficiency: Figure,
}

/// Something known by its power alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Power {
    /// Gas it burns \[kW, lower\].
    pub power_kw: Figure,
}

/// A jet's figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Jet {
    /// Discharge coefficient.
    pub discharge: Figure,
}

/// An engine's figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EngineRow {
    /// Current from gas at full load, gas without carbon dioxide.
    pub electric_efficiency: Figure,
    /// Gas at idle as a share of that at full load.
    pub idle_share: Figure,
    /// Share of the gas that is recovered as heat.
    pub heat_share: Figure,
    /// Relative loss of efficiency per share of carbon dioxide.
    pub loss_per_co2: Figure,
    /// Loss of power on methane against the plate.
    pub power_loss_ch4: Figure,
    /// Further loss of power per share of carbon dioxide.
    pub power_loss_per_co2: Figure,
    /// Carbon dioxide above which it does not run; trouble begins at the low end.
    pub co2_limit: Figure,
    /// Hydrogen sulphide above which it suffers \[ppm\].
    pub h2s_limit_ppm: Figure,
}

/// A flame's figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FlameRow {
    /// Methane share below which nothing stays alight.
    pub none_below: Figure,
    /// Methane share from which it burns.
    pub burns_above: Figure,
    /// Methane share from which it is steady.
    pub steady_above: Figure,
    /// Burning velocity of methane \[cm/s\].
    pub velocity_pure_cm_s: Figure,
    /// At 60 % methane.
    pub velocity_60_cm_s: Figure,
    /// At 50 % methane.
    pub velocity_50_cm_s: Figure,
    /// Share of air above which the gas is let go unlit, whatever it is for.
    pub air_share_unlit: Figure,
    /// Share of air above which the gas can burn inside pipes and store.
    pub air_share_explosive: Figure,
}

static TABLE: LazyLock<UseTable> =
    LazyLock::new(|| embedded::read("plant/data/uses.json", include_str!("../data/uses.json")));

/// The built-in figures.
#[must_use]
pub fn use_table() -> &'static UseTable {
    &TABLE
}
