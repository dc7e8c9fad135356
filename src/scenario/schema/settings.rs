//! Gas side, equations, steady inflow, integrator.

use schemars::JsonSchema;
use serde::Deserialize;

use super::Named;
use crate::scenario::limits::{
    AMBIENT_MBAR, INFLOW_L_PER_D, PIPE, STORE_PRESSURE_MBAR, TEMPERATURE_C, TOLERANCE,
};

/// The gas side that all vessels share.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Gas")]
pub(crate) struct RawGas {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Pressure of the store above ambient in millibar (default 8; 1 mbar is about 1 cm of water).
    #[schemars(range(min = STORE_PRESSURE_MBAR.low, max = STORE_PRESSURE_MBAR.high))]
    pub(crate) store_pressure_mbar: Option<f64>,
    /// Ambient pressure at the site in millibar (default 1013.25).
    #[schemars(range(min = AMBIENT_MBAR.low, max = AMBIENT_MBAR.high))]
    pub(crate) ambient_mbar: Option<f64>,
    /// Gas that passes the pipe of each vessel, in litres per day for each millibar (default 10 per litre of liquid in
    /// the largest vessel).
    #[schemars(range(min = PIPE.low, max = PIPE.high))]
    pub(crate) pipe_l_per_d_per_mbar: Option<f64>,
    /// Whether gas can flow back from the store, with no water seal in the way (default false).
    pub(crate) flows_back: Option<bool>,
    /// Temperature of the gas where its volume is read, in degrees Celsius (default 20).
    #[schemars(range(min = TEMPERATURE_C.low, max = TEMPERATURE_C.high))]
    pub(crate) reading_temperature_c: Option<f64>,
}

/// Which equations.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Model")]
pub(crate) struct RawModel {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Reaction network (default "four-stage").
    pub(crate) network: Option<RawNetwork>,
    /// How the acid-base balance treats activities (default "davies", with "adm1" "ideal").
    pub(crate) acid_base: Option<RawAcidBase>,
    /// Parameters of the equations that differ from their defaults.
    pub(crate) parameters: Option<Named<f64>>,
}

/// Reaction network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Network")]
pub(crate) enum RawNetwork {
    /// Feed pools, acid formers and methane formers of a home digester.
    FourStage,
    /// Batstone et al. 2002 in the setting of Rosen and Jeppsson 2006.
    Adm1,
}

/// Treatment of activities.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "AcidBase")]
pub(crate) enum RawAcidBase {
    /// Activity coefficients by the Davies equation.
    Davies,
    /// All activity coefficients one.
    Ideal,
}

/// A steady stream.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Inflow")]
pub(crate) struct RawInflow {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Flow in litres per day.
    #[schemars(required, range(min = INFLOW_L_PER_D.low, max = INFLOW_L_PER_D.high))]
    pub(crate) l_per_d: Option<f64>,
    /// Concentrations by component of the network, in kg COD or kmol per cubic metre; those left out are 0.
    #[schemars(required)]
    pub(crate) concentrations: Option<Named<f64>>,
}

/// Settings of the integrator.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Solver")]
pub(crate) struct RawSolver {
    /// Remarks; nothing reads them.
    #[allow(dead_code, reason = "remarks of the author")]
    pub(crate) about: Option<String>,
    /// Method (default "implicit").
    pub(crate) method: Option<RawMethod>,
    /// Relative tolerance (default 1e-4).
    #[schemars(range(min = TOLERANCE.low, max = TOLERANCE.high))]
    pub(crate) relative_tolerance: Option<f64>,
}

/// Integration method.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Method")]
pub(crate) enum RawMethod {
    /// The right one for these equations.
    Implicit,
    /// Slow; an independent check.
    Explicit,
}
