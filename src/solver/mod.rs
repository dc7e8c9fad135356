//! Integration facade (layer 1): one trait for a system, one entry for an integration, several methods behind it.

mod block;
pub mod continuation;
mod control;
mod dense_step;
mod explicit;
mod failure;
mod integrator;
mod linear;
mod newton;
mod options;
mod ordering;
mod reduced;
mod roots;
mod rosenbrock;
mod sparse;
mod stages;
mod statistics;
mod system;
mod tableau;

pub use dense_step::DenseStep;
pub use failure::{Failure, ScaledError, ShrinkCause, Situation};
pub use integrator::Integrator;
pub use newton::{SteadyFailure, SteadyOptions, steady_state};
pub use options::{Method, Options, SetupFailure};
pub use reduced::{JacobianFailure, eigenvalues, reduced_jacobian};
pub use roots::{RootFailure, root};
pub use statistics::Statistics;
pub use system::{Pattern, RhsFailure, System};
