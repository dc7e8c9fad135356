//! One steady state at one parameter value.

use super::SteadyState;
use super::evaluator::Evaluator;
use super::failure::{Cause, ContinuationFailure, Trouble};
use super::family::Family;

/// Newton iterations of one attempt.
const MAX_NEWTON: usize = 60;
/// Smallest share of a Newton step that is tried.
const MIN_DAMPING: f64 = 1e-4;
/// Pseudo-transient steps of one search.
const MAX_TRANSIENT: usize = 2000;
/// Relative change of the states that a pseudo-transient step may bring, and the one it starts with, [-].
const MAX_CHANGE: f64 = 0.5;
const FIRST_CHANGE: f64 = 0.05;
/// Change within a growing step below which the end is near and Newton is tried again, [-].
const SETTLED_CHANGE: f64 = 1e-2;
/// Factors of the pseudo-transient step after success and after refusal.
const LONGER: f64 = 2.0;
const SHORTER: f64 = 0.25;
/// Pseudo-transient steps refused in a row before giving up.
const MAX_REFUSALS: usize = 60;

/// Finds a steady state at the parameter `p`.
///
/// A damped Newton iteration from the guess comes first (damping by the natural monotonicity test: Deuflhard 1974,
/// Numer. Math. 22, 289-315); it may end on an unstable state. Where it fails, linearly implicit steps of growing length
/// follow the motion in time towards a stable state (pseudo-transient continuation: Kelley & Keyes 1998,
/// SIAM J. Numer. Anal. 35, 508-523), and Newton finishes.
///
/// `tolerance` is the largest relative change of a state in the last Newton step, [-], within `[1e-13, 1e-3]`.
///
/// # Errors
/// [`ContinuationFailure`] when arguments are unsuitable or neither way ends on a steady state.
pub fn stationary<F: Family + ?Sized>(
    family: &mut F,
    p: f64,
    guess: &[f64],
    tolerance: f64,
) -> Result<SteadyState, ContinuationFailure> {
    check_start(family, guess, tolerance)?;
    if !p.is_finite() {
        return Err(ContinuationFailure::Range {
            what: "parameter".into(),
            value: p,
            allowed: "finite",
        });
    }
    let mut eval = Evaluator::new(family);
    match eval.found(p, guess, tolerance) {
        Ok(state) => Ok(state),
        Err(trouble) => Err(ContinuationFailure::NoSteadyState {
            p,
            cause: trouble.attempt()?,
        }),
    }
}

/// Checks a family, a state vector for it and a tolerance.
pub(super) fn check_start<F: Family + ?Sized>(
    family: &F,
    y: &[f64],
    tolerance: f64,
) -> Result<(), ContinuationFailure> {
    let dim = family.dim();
    if dim == 0 || y.len() != dim {
        return Err(ContinuationFailure::Length {
            what: "the guess",
            given: y.len(),
            dim,
        });
    }
    let range = |what, value, allowed| ContinuationFailure::Range {
        what,
        value,
        allowed,
    };
    for (i, &y) in y.iter().enumerate() {
        if !y.is_finite() {
            return Err(range(format!("guess of state {i}"), y, "finite"));
        }
        let scale = family.scale(i);
        if !(scale > 0.0 && scale.is_finite()) {
            return Err(range(
                format!("scale of state {i}"),
                scale,
                "finite and above 0",
            ));
        }
    }
    if (1e-13..=1e-3).contains(&tolerance) {
        Ok(())
    } else {
        Err(range(
            "tolerance".into(),
            tolerance,
            "within 1e-13 and 1e-3",
        ))
    }
}

impl<F: Family + ?Sized> Evaluator<'_, F> {
    /// Newton first, then the pseudo-transient.
    fn found(&mut self, p: f64, guess: &[f64], tolerance: f64) -> Result<SteadyState, Trouble> {
        let y = match self.newton(guess, p, tolerance) {
            Ok(y) => y,
            Err(Trouble::Attempt(_)) => self.transient(guess, p, tolerance)?,
            Err(fatal) => return Err(fatal),
        };
        self.jacobian(&y, p)?;
        Ok(self.stability()?.state(p, y))
    }

    /// Damped Newton iteration at a fixed parameter.
    pub(super) fn newton(
        &mut self,
        guess: &[f64],
        p: f64,
        tolerance: f64,
    ) -> Result<Vec<f64>, Trouble> {
        let mut y = guess.to_vec();
        for _ in 0..MAX_NEWTON {
            let weights = self.weights(&y);
            self.residual(&y, p)?;
            self.jacobian(&y, p)?;
            let factors = self.shifted(0.0, &weights)?;
            let update = factors.solve(self.f.iter().copied())?;
            let full = largest(&update);
            let length = norm(&update);
            let mut damping = 1.0;
            let next = loop {
                let trial = moved(&y, &update, &weights, damping);
                if full <= tolerance {
                    return Ok(trial);
                }
                let simplified = match self.residual(&trial, p) {
                    Ok(()) => norm(&factors.solve(self.f.iter().copied())?),
                    Err(Trouble::Attempt(_)) => f64::INFINITY,
                    Err(fatal) => return Err(fatal),
                };
                if simplified <= (1.0 - 0.25 * damping) * length {
                    break trial;
                }
                damping *= 0.5;
                if damping < MIN_DAMPING {
                    return Err(Cause::NotConverged.into());
                }
            };
            y = next;
        }
        Err(Cause::NotConverged.into())
    }

    /// Linearly implicit Euler steps of growing length at a fixed parameter, ended by Newton.
    fn transient(&mut self, guess: &[f64], p: f64, tolerance: f64) -> Result<Vec<f64>, Trouble> {
        let mut y = guess.to_vec();
        self.residual(&y, p)?;
        let weights = self.weights(&y);
        let speed = self
            .f
            .iter()
            .zip(&weights)
            .map(|(f, w)| (f / w).abs())
            .fold(f64::MIN_POSITIVE, f64::max);
        let mut step = FIRST_CHANGE / speed;
        let mut last = Cause::NotConverged;
        let mut refusals = 0;
        for _ in 0..MAX_TRANSIENT {
            let weights = self.weights(&y);
            self.residual(&y, p)?;
            self.jacobian(&y, p)?;
            let tried = self
                .shifted(1.0 / step, &weights)
                .and_then(|factors| factors.solve(self.f.iter().copied()));
            let accepted = match tried {
                Ok(update) if largest(&update) <= MAX_CHANGE => {
                    let trial = moved(&y, &update, &weights, 1.0);
                    match self.residual(&trial, p) {
                        Ok(()) => Some((trial, largest(&update))),
                        Err(Trouble::Attempt(cause)) => {
                            last = cause;
                            None
                        }
                        Err(fatal) => return Err(fatal),
                    }
                }
                Ok(_) => None,
                Err(cause) => {
                    last = cause;
                    None
                }
            };
            let Some((trial, change)) = accepted else {
                refusals += 1;
                if refusals == MAX_REFUSALS {
                    break;
                }
                step *= SHORTER;
                continue;
            };
            refusals = 0;
            y = trial;
            step *= LONGER;
            if change < SETTLED_CHANGE {
                match self.newton(&y, p, tolerance) {
                    Ok(found) if near(&found, &y, &weights) => return Ok(found),
                    // A faraway state is not where the motion leads.
                    Ok(_) => {}
                    Err(Trouble::Attempt(cause)) => last = cause,
                    Err(fatal) => return Err(fatal),
                }
            }
        }
        Err(last.into())
    }
}

fn moved(y: &[f64], update: &[f64], weights: &[f64], share: f64) -> Vec<f64> {
    y.iter()
        .zip(update)
        .zip(weights)
        .map(|((y, u), w)| y + share * u * w)
        .collect()
}

fn near(a: &[f64], b: &[f64], weights: &[f64]) -> bool {
    a.iter()
        .zip(b)
        .zip(weights)
        .all(|((a, b), w)| (a - b).abs() <= MAX_CHANGE * w)
}

fn norm(update: &[f64]) -> f64 {
    update.iter().map(|u| u * u).sum::<f64>().sqrt()
}

fn largest(update: &[f64]) -> f64 {
    update.iter().fold(0.0, |largest, u| largest.max(u.abs()))
}
