//! Integration facade (layer 1): one trait for a system, one entry for an integration, several methods behind it.
//!
//! A caller implements [`System`], makes an [`Integrator`] with [`Options`] and advances it from jump to jump:
//!
//! ```
//! use marshgas::solver::{Integrator, Method, Options, Pattern, RhsFailure, System};
//!
//! /// y' = -k y
//! struct Decay(f64, Pattern);
//!
//! impl System for Decay {
//!     fn dim(&self) -> usize {
//!         1
//!     }
//!     fn rhs(&mut self, _: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure> {
//!         dy[0] = -self.0 * y[0];
//!         Ok(())
//!     }
//!     fn pattern(&self) -> &Pattern {
//!         &self.1
//!     }
//!     fn jacobian(
//!         &mut self, t: f64, y: &[f64], dy: &mut [f64], dfdt: &mut [f64], values: &mut [f64],
//!     ) -> Result<(), RhsFailure> {
//!         dfdt[0] = 0.0;
//!         values[0] = -self.0;
//!         self.rhs(t, y, dy)
//!     }
//! }
//!
//! let mut system = Decay(0.3, Pattern { dim: 1, aux: 0, entries: vec![(0, 0)] });
//! let mut integrator = Integrator::new(&system, Options::new(Method::Rodas4, 1e-6, vec![1e-9]))?;
//! let mut y = [2.0];
//! integrator.advance(&mut system, 0.0, 5.0, &mut y, &mut |_| {})?;
//! assert!((y[0] - 2.0 * (-1.5f64).exp()).abs() < 1e-5);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! | file | holds |
//! |---|---|
//! | `abreast` | several systems of one shape at once, in the lanes of wide instructions |
//! | `system` | the trait |
//! | `options`, `failure`, `statistics` | what is asked, why it stopped, what it cost |
//! | `integrator`, `segment`, `dense_step` | the one entry, what it gives to a method, what a step hands to the caller |
//! | `tableau` | the Rosenbrock methods as numbers |
//! | `rosenbrock`, `stages`, `control` | their step loop, its inner loops, the choice of the step |
//! | `linear`, `sparse`, `ordering`, `block` | the linear systems |
//! | `explicit` | an explicit method from a library, as an independent check |
//! | `newton`, `reduced`, `roots` | steady states, Jacobian and eigenvalues, roots of one number |

mod abreast;
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
mod segment;
mod sparse;
mod stages;
mod statistics;
mod system;
mod tableau;

pub use abreast::{Abreast, Arrival, Crew, LaneSlopes, LaneSystem, Stretch};
pub use dense_step::DenseStep;
pub use failure::{Failure, ScaledError, ShrinkCause, Situation};
pub use integrator::Integrator;
pub use newton::{SteadyFailure, SteadyOptions, steady_state};
pub use options::{Method, Options, SetupFailure};
pub use reduced::{JacobianFailure, eigenvalues, reduced_jacobian};
pub use roots::{RootFailure, root};
pub use statistics::Statistics;
pub use system::{Pattern, RhsFailure, System};
