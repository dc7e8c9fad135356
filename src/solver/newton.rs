//! Steady states: `f(t, y) = 0` at a fixed time.

use nalgebra::{DMatrix, DVector};

use super::failure::ScaledError;
use super::linear::Dense;
use super::reduced::{JacobianFailure, Reduced};
use super::system::System;

/// Newton takes over from the pseudo-transient when it would change no state by more than this share.
const NEAR: f64 = 0.3;
/// Change of a state, in shares of itself, that a pseudo-transient step aims at, and the most it may make.
const CHANGE: (f64, f64) = (0.5, 2.0);
/// Least and most growth of the pseudo-transient step from one to the next.
const GROWTH: (f64, f64) = (0.2, 10.0);
/// Pseudo-transient steps in a row, each ten times longer, that must change nothing for the state to count as steady
/// where Newton's matrix is singular (something is conserved).
const QUIET_STEPS: u32 = 6;
/// Smallest damping of a Newton step before the pseudo-transient takes over again.
const LEAST_DAMPING: f64 = 1.0 / 64.0;

/// What a steady state is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct SteadyOptions {
    /// Relative tolerance, [-], above 0.
    pub rtol: f64,
    /// Absolute tolerance by state, [unit of the state], each above 0.
    pub atol: Vec<f64>,
    /// First step of the pseudo-transient, [unit of time], above 0: about the shortest time that matters.
    pub first_step: f64,
    /// Most evaluations of the Jacobian.
    pub max_iterations: u32,
}

impl SteadyOptions {
    /// Options with at most 500 iterations.
    #[must_use]
    pub fn new(rtol: f64, atol: Vec<f64>, first_step: f64) -> Self {
        Self {
            rtol,
            atol,
            first_step,
            max_iterations: 500,
        }
    }
}

/// Why no steady state was found. The state vector holds the last state tried.
#[derive(Debug, Clone, PartialEq)]
pub enum SteadyFailure {
    /// The Jacobian could not be evaluated.
    Jacobian(JacobianFailure),
    /// Still changing when the iterations ran out.
    NotConverged {
        /// Iterations made.
        iterations: u32,
        /// At most three states with the largest remaining change in units of tolerance, worst first.
        worst: Vec<ScaledError>,
    },
    /// The pseudo-transient step became too small.
    Stuck {
        /// Iterations made.
        iterations: u32,
        /// At most three states with the largest change asked for in units of tolerance, worst first.
        worst: Vec<ScaledError>,
    },
    /// Wrong number of states or tolerances, or a number outside its range.
    Misuse(String),
}

impl std::fmt::Display for SteadyFailure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (iterations, worst, how) = match self {
            Self::Jacobian(failure) => return write!(f, "no steady state: {failure}"),
            Self::Misuse(detail) => return write!(f, "no steady state was looked for: {detail}"),
            Self::NotConverged { iterations, worst } => (
                iterations,
                worst,
                "the state still changes; try a state nearer to the steady one",
            ),
            Self::Stuck { iterations, worst } => (
                iterations,
                worst,
                "no step helps any more; there may be no steady state near",
            ),
        };
        write!(f, "no steady state after {iterations} iterations: {how}")?;
        for (i, worst) in worst.iter().enumerate() {
            let lead = if i == 0 {
                "; largest changes in units of tolerance: "
            } else {
                ", "
            };
            write!(f, "{lead}{} {:.2e}", worst.name, worst.scaled)?;
        }
        Ok(())
    }
}

impl std::error::Error for SteadyFailure {}

impl From<JacobianFailure> for SteadyFailure {
    fn from(failure: JacobianFailure) -> Self {
        Self::Jacobian(failure)
    }
}

/// Moves `y` to a steady state of the system at the fixed time `t`; gives the number of Jacobians used.
///
/// Far away it follows the system through time in implicit steps that grow as the state calms down (pseudo-transient
/// continuation: Kelley & Keyes, SIAM J. Numer. Anal. 35 (1998) 508), so that it goes where the system goes; near by
/// it takes Newton steps, damped by the natural monotonicity test (Deuflhard, Newton Methods for Nonlinear Problems,
/// 2004, section 3.3). States below their absolute tolerance count as nothing.
///
/// # Errors
/// [`SteadyFailure`]; `y` then holds the last state tried.
pub fn steady_state<S: System>(
    system: &mut S,
    t: f64,
    y: &mut [f64],
    options: &SteadyOptions,
) -> Result<u32, SteadyFailure> {
    check(system, y, options)?;
    let mut search = Search {
        system,
        t,
        options,
        step: options.first_step,
        quiet: 0,
    };
    let mut state = DVector::from_column_slice(y);
    let mut change = DVector::zeros(y.len());
    for iterations in 1..=options.max_iterations {
        let here = Reduced::at(search.system, t, state.as_slice())?;
        let Some(step) = search.advance(&state, &here) else {
            let worst = search.worst(&state, &change);
            return Err(SteadyFailure::Stuck { iterations, worst });
        };
        (state, change) = (step.state, step.change);
        y.copy_from_slice(state.as_slice());
        if step.steady {
            return Ok(iterations);
        }
    }
    Err(SteadyFailure::NotConverged {
        iterations: options.max_iterations,
        worst: search.worst(&state, &change),
    })
}

fn check<S: System>(system: &S, y: &[f64], options: &SteadyOptions) -> Result<(), SteadyFailure> {
    let dim = system.dim();
    let positive = |v: f64| v > 0.0 && v.is_finite();
    if y.len() != dim || options.atol.len() != dim {
        let detail = format!(
            "{} values and {} tolerances for {dim} states",
            y.len(),
            options.atol.len()
        );
        return Err(SteadyFailure::Misuse(detail));
    }
    if let Some(i) = (0..dim).find(|&i| !y[i].is_finite()) {
        let detail = format!("{} is not a finite number", system.name(i));
        return Err(SteadyFailure::Misuse(detail));
    }
    if !(positive(options.rtol)
        && positive(options.first_step)
        && options.atol.iter().all(|v| positive(*v)))
    {
        let detail = "tolerances and first step must be finite and above 0".into();
        return Err(SteadyFailure::Misuse(detail));
    }
    Ok(())
}

struct Search<'a, S> {
    system: &'a mut S,
    t: f64,
    options: &'a SteadyOptions,
    /// Pseudo-transient step.
    step: f64,
    /// Pseudo-transient steps in a row that changed nothing.
    quiet: u32,
}

/// A step of the search.
struct Step {
    state: DVector<f64>,
    /// Undamped change that led there.
    change: DVector<f64>,
    /// Whether the state is the steady one.
    steady: bool,
}

impl<S: System> Search<'_, S> {
    fn advance(&mut self, state: &DVector<f64>, here: &Reduced) -> Option<Step> {
        if let Ok(factors) = Dense::factor(&-&here.jacobian)
            && !factors.is_nearly_singular()
        {
            let newton = factors.solve_vector(here.f.clone());
            if self.share(state, &newton) <= NEAR
                && let Some((next, steady)) = self.newton(state, &newton, &factors)
            {
                return Some(Step {
                    state: next,
                    change: newton,
                    steady,
                });
            }
        }
        self.pseudo_transient(state, here)
    }

    /// Damped Newton step, if one passes the monotonicity test, and whether it ends in the steady state.
    fn newton(
        &mut self,
        state: &DVector<f64>,
        newton: &DVector<f64>,
        factors: &Dense,
    ) -> Option<(DVector<f64>, bool)> {
        let size = self.in_tolerances(state, newton);
        let mut damping = 1.0;
        while damping >= LEAST_DAMPING {
            let next = state + newton * damping;
            if let Some(f) = self.right_hand_side(&next) {
                // The step that the old Jacobian would make from there.
                let after = factors.solve_vector(f);
                let size_after = self.in_tolerances(state, &after);
                if damping == 1.0 && size <= 1.0 && size_after <= 1.0 {
                    return Some((next, true));
                }
                if size_after <= (1.0 - 0.25 * damping) * size {
                    return Some((next, false));
                }
            }
            damping *= 0.5;
        }
        None
    }

    /// Implicit step through time; shorter until it can be made.
    fn pseudo_transient(&mut self, state: &DVector<f64>, here: &Reduced) -> Option<Step> {
        while self.step > f64::MIN_POSITIVE {
            let mut w: DMatrix<f64> = -&here.jacobian;
            for i in (0..w.nrows()).filter(|&i| !self.system.is_algebraic(i)) {
                w[(i, i)] += 1.0 / self.step;
            }
            if let Ok(factors) = Dense::factor(&w) {
                let change = factors.solve_vector(here.f.clone());
                let next = state + &change;
                let share = self.share(state, &change);
                if share <= CHANGE.1 && self.right_hand_side(&next).is_some() {
                    let unchanged = self.in_tolerances(state, &change) <= 1.0;
                    self.quiet = if unchanged { self.quiet + 1 } else { 0 };
                    self.step *= (CHANGE.0 / share).clamp(GROWTH.0, GROWTH.1);
                    return Some(Step {
                        state: next,
                        change,
                        steady: self.quiet > QUIET_STEPS,
                    });
                }
            }
            self.step *= 0.25;
        }
        None
    }

    /// Right-hand side, if it can be evaluated and is finite.
    fn right_hand_side(&mut self, state: &DVector<f64>) -> Option<DVector<f64>> {
        let mut f = DVector::zeros(state.len());
        let answer = self.system.rhs(self.t, state.as_slice(), f.as_mut_slice());
        (answer.is_ok() && f.iter().all(|v| v.is_finite())).then_some(f)
    }

    /// Largest entry of a change in shares of the state.
    fn share(&self, state: &DVector<f64>, change: &DVector<f64>) -> f64 {
        largest((0..state.len()).map(|i| change[i].abs() / (state[i].abs() + self.options.atol[i])))
    }

    /// Largest entry of a change in units of tolerance.
    fn in_tolerances(&self, state: &DVector<f64>, change: &DVector<f64>) -> f64 {
        let allowed = |i: usize| self.options.atol[i] + self.options.rtol * state[i].abs();
        largest((0..state.len()).map(|i| change[i].abs() / allowed(i)))
    }

    fn worst(&self, state: &DVector<f64>, change: &DVector<f64>) -> Vec<ScaledError> {
        let allowed = |i: usize| self.options.atol[i] + self.options.rtol * state[i].abs();
        let mut scaled: Vec<(usize, f64)> = (0..state.len())
            .map(|i| (i, change[i].abs() / allowed(i)))
            .collect();
        scaled.sort_by(|a, b| b.1.total_cmp(&a.1));
        scaled.truncate(3);
        let named = scaled.into_iter().map(|(i, scaled)| ScaledError {
            name: self.system.name(i),
            scaled,
        });
        named.collect()
    }
}

/// The largest; what is not a number counts as such.
fn largest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(0.0, |worst, v| if v <= worst { worst } else { v })
}
