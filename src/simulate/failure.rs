//! Why a run can fail.

use crate::kinetics::{NetworkFault, UnknownParameter};
use crate::solver::{Failure, RhsFailure, SetupFailure};

/// Why a run failed. A failed run has no outcome.
#[derive(Debug, thiserror::Error)]
pub enum RunFailure {
    /// A parameter that the network does not have.
    #[error("model.parameters: {0}")]
    Parameter(#[from] UnknownParameter),
    /// Changed parameters contradict each other.
    #[error("model.parameters: {0}")]
    Network(#[from] NetworkFault),
    /// A component of the steady stream that the network does not have.
    #[error("inflow.concentrations: the network `{network}` has no component `{name}`")]
    Component {
        /// Name.
        name: String,
        /// Network.
        network: &'static str,
    },
    /// The integrator was set up wrongly.
    #[error("the integrator refuses its settings: {0}")]
    Setup(#[from] SetupFailure),
    /// The integration stopped.
    #[error("vessel `{vessel}`: {failure}")]
    Solver {
        /// Vessel name.
        vessel: String,
        /// What happened.
        failure: Failure,
    },
    /// A state allowed no pH.
    #[error("vessel `{vessel}`, day {day:.3}: {failure}")]
    State {
        /// Vessel name.
        vessel: String,
        /// When \[d\].
        day: f64,
        /// What happened.
        failure: RhsFailure,
    },
    /// Sun or heater bring the liquor to the boil.
    #[error(
        "vessel `{vessel}`, day {day:.3}: sun, air and heater bring the liquor to {celsius:.0} C, where it boils; check \
         \"temperature.heat\": the areas of \"shape\", \"sun\" and \"greenhouse\", and the power of \"heater\", against \
         the litres of the vessel"
    )]
    Boils {
        /// Vessel name.
        vessel: String,
        /// When \[d\].
        day: f64,
        /// Temperature \[C\].
        celsius: f64,
    },
    /// A concentration fell below zero by more than the tolerance explains.
    #[error(
        "vessel `{vessel}`, day {day:.3}: {component} fell to {value:.3e} (allowed down to {limit:.1e}); a smaller solver.relative_tolerance may help, or the network \"four-stage\", whose uptakes end where nothing is left"
    )]
    Negative {
        /// Vessel name.
        vessel: String,
        /// When \[d\].
        day: f64,
        /// Component.
        component: String,
        /// Value.
        value: f64,
        /// Limit.
        limit: f64,
    },
    /// A change on the way that the state of a vessel has no place for, such as a first leak.
    #[error("vessel `{vessel}` cannot become one of another shape on the way")]
    Shape {
        /// Vessel name.
        vessel: String,
    },
    /// A balance stayed open.
    #[error(
        "the balance of {quantity} is open by {gap:.2e} (limit {limit:.0e}): the result cannot be trusted"
    )]
    Open {
        /// COD, carbon, ...
        quantity: String,
        /// Relative gap.
        gap: f64,
        /// Limit.
        limit: f64,
    },
}
