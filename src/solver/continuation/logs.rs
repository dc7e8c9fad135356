//! Continuation in logarithms of states that are positive and spread over orders of magnitude.

use super::failure::ContinuationFailure;
use super::family::Family;
use super::follow::follow;
use super::{Branch, Options, SteadyState};
use crate::solver::RhsFailure;

/// Logarithm of the smallest size, [share of the typical size], at which a state counts as gone: ln 1e-9.
const GONE: f64 = -20.723_265_836_946_41;

/// A family seen in `u = ln(y / scale)` for chosen states, and in `y` for the others.
///
/// The motion is the same, `u' = F / y`, and so are the eigenvalues at a steady state. States stay positive, and a step
/// moves each by a share of itself, however small it is.
///
/// A state that dies out runs to minus infinity here. It reaches 1e-9 of its typical size instead, and the branch
/// ends with [`super::End::Boundary`]: for a population that is its washout, the exchange with the branch without it,
/// with the parameter good to about that share.
#[derive(Debug, Clone)]
pub struct LogStates<F> {
    inner: F,
    logged: Vec<bool>,
    y: Vec<f64>,
    f: Vec<f64>,
}

impl<F: Family> LogStates<F> {
    /// Wraps a family; `logged` tells for each state whether to take its logarithm.
    ///
    /// # Errors
    /// [`ContinuationFailure::Length`] when `logged` does not fit.
    pub fn new(inner: F, logged: Vec<bool>) -> Result<Self, ContinuationFailure> {
        let dim = inner.dim();
        if logged.len() != dim {
            return Err(ContinuationFailure::Length {
                what: "the choice of logarithms",
                given: logged.len(),
                dim,
            });
        }
        Ok(Self {
            inner,
            logged,
            y: vec![0.0; dim],
            f: vec![0.0; dim],
        })
    }

    /// States of the family as states of this one.
    ///
    /// # Errors
    /// [`ContinuationFailure`] when a state of which the logarithm is taken is not above zero, or the length is wrong.
    pub fn enter(&self, y: &[f64]) -> Result<Vec<f64>, ContinuationFailure> {
        let dim = self.logged.len();
        if y.len() != dim {
            return Err(ContinuationFailure::Length {
                what: "the guess",
                given: y.len(),
                dim,
            });
        }
        let one = |(i, &y): (usize, &f64)| match (self.logged[i], y > 0.0) {
            (false, _) => Ok(y),
            (true, true) => Ok((y / self.inner.scale(i)).ln()),
            (true, false) => Err(ContinuationFailure::Range {
                what: format!("guess of state {i}"),
                value: y,
                allowed: "above 0, since its logarithm is taken",
            }),
        };
        y.iter().enumerate().map(one).collect()
    }

    /// Turns a steady state of this family into one of the family inside.
    pub fn leave(&self, state: &mut SteadyState) {
        for (i, y) in state.y.iter_mut().enumerate() {
            *y = self.outer(i, *y);
        }
    }

    /// Turns a branch of this family into one of the family inside.
    pub fn leave_branch(&self, branch: &mut Branch) {
        for point in &mut branch.points {
            self.leave(&mut point.state);
            for (i, (tangent, y)) in point.tangent_y.iter_mut().zip(&point.state.y).enumerate() {
                *tangent *= if self.logged[i] { *y } else { 1.0 };
            }
        }
    }

    fn outer(&self, i: usize, u: f64) -> f64 {
        if self.logged[i] {
            self.inner.scale(i) * u.exp()
        } else {
            u
        }
    }

    /// Puts the states of the family inside into `y`.
    fn unfold(&mut self, u: &[f64]) -> Result<(), RhsFailure> {
        for (i, &u) in u.iter().enumerate() {
            let y = self.outer(i, u);
            if self.logged[i] && !(y > 0.0 && y.is_finite()) {
                return Err(RhsFailure::Recoverable(format!(
                    "state {i} left the range of its logarithm"
                )));
            }
            self.y[i] = y;
        }
        Ok(())
    }

    fn divisor(&self, i: usize) -> f64 {
        if self.logged[i] { self.y[i] } else { 1.0 }
    }
}

impl<F: Family> Family for LogStates<F> {
    fn dim(&self) -> usize {
        self.logged.len()
    }

    fn residual(&mut self, u: &[f64], p: f64, f: &mut [f64]) -> Result<(), RhsFailure> {
        self.unfold(u)?;
        self.inner.residual(&self.y, p, f)?;
        for (i, f) in f.iter_mut().enumerate() {
            *f /= self.divisor(i);
        }
        Ok(())
    }

    fn jacobian(
        &mut self,
        u: &[f64],
        p: f64,
        dfdy: &mut [f64],
        dfdp: &mut [f64],
    ) -> Result<(), RhsFailure> {
        self.unfold(u)?;
        self.inner.residual(&self.y, p, &mut self.f)?;
        self.inner.jacobian(&self.y, p, dfdy, dfdp)?;
        let n = self.logged.len();
        for i in 0..n {
            let divisor = self.divisor(i);
            for (j, value) in dfdy[i * n..(i + 1) * n].iter_mut().enumerate() {
                *value *= self.divisor(j) / divisor;
            }
            if self.logged[i] {
                dfdy[i * n + i] -= self.f[i] / divisor;
            }
            dfdp[i] /= divisor;
        }
        Ok(())
    }

    fn scale(&self, i: usize) -> f64 {
        if self.logged[i] {
            1.0
        } else {
            self.inner.scale(i)
        }
    }

    fn weight(&self, i: usize, u: f64) -> f64 {
        if self.logged[i] {
            1.0
        } else {
            self.inner.weight(i, u)
        }
    }

    fn boundary(&self, u: &[f64], p: f64) -> Option<usize> {
        let gone = u
            .iter()
            .zip(&self.logged)
            .position(|(&u, &logged)| logged && u < GONE);
        gone.or_else(|| {
            let y: Vec<f64> = u
                .iter()
                .enumerate()
                .map(|(i, &u)| self.outer(i, u))
                .collect();
            self.inner.boundary(&y, p)
        })
    }
}

/// As [`follow`], in logarithms of the states chosen by `logged`; guess and branch are in plain states.
///
/// # Errors
/// As [`follow`] and [`LogStates::enter`].
pub fn follow_in_logs<F: Family + ?Sized>(
    family: &mut F,
    logged: Vec<bool>,
    y0: &[f64],
    p0: f64,
    options: &Options<'_>,
) -> Result<Branch, ContinuationFailure> {
    let mut logs = LogStates::new(family, logged)?;
    let u0 = logs.enter(y0)?;
    let mut branch = follow(&mut logs, &u0, p0, options)?;
    logs.leave_branch(&mut branch);
    Ok(branch)
}
