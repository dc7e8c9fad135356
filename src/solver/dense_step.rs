//! An accepted step and the solution inside it.

use std::ops::Range;

use super::stages::{self, Ends};
use super::tableau::Tableau;

/// An accepted step: its ends, and the solution anywhere between them.
#[derive(Debug, Clone, Copy)]
pub struct DenseStep<'a> {
    pub(super) start: f64,
    pub(super) end: f64,
    pub(super) y_start: &'a [f64],
    pub(super) y_end: &'a [f64],
    pub(super) inside: Inside<'a>,
}

/// What the solution between the ends is made of.
#[derive(Debug, Clone, Copy)]
pub(super) enum Inside<'a> {
    /// The method's own polynomial over the vectors `U_j`, one after the other.
    Rosenbrock {
        tableau: &'static Tableau,
        stages: &'a [f64],
    },
    /// Cubic through both ends with the slopes there.
    Hermite {
        slope_start: &'a [f64],
        slope_end: &'a [f64],
    },
}

impl DenseStep<'_> {
    /// Time at which the step starts, [unit of time].
    #[must_use]
    pub fn start(&self) -> f64 {
        self.start
    }

    /// Time at which the step ends, [unit of time].
    #[must_use]
    pub fn end(&self) -> f64 {
        self.end
    }

    /// State at the start.
    #[must_use]
    pub fn y_start(&self) -> &[f64] {
        self.y_start
    }

    /// State at the end.
    #[must_use]
    pub fn y_end(&self) -> &[f64] {
        self.y_end
    }

    /// Writes the state at time `t` into `out` (length: number of states).
    ///
    /// The ends are met exactly; a time outside the step is taken as the nearer end. The order is one less
    /// than the method's.
    #[inline(always)]
    pub fn eval(&self, t: f64, out: &mut [f64]) {
        self.eval_some(t, 0..self.y_start.len(), out);
    }

    /// As [`DenseStep::eval`], of some states; the others in `out` stay as they are.
    #[inline(always)]
    pub(super) fn eval_some(&self, t: f64, states: Range<usize>, out: &mut [f64]) {
        if t <= self.start {
            return out[states.clone()].copy_from_slice(&self.y_start[states]);
        }
        if t >= self.end {
            return out[states.clone()].copy_from_slice(&self.y_end[states]);
        }
        let h = self.end - self.start;
        let x = (t - self.start) / h;
        match self.inside {
            Inside::Rosenbrock { tableau, stages } => {
                let step = Ends {
                    start: self.y_start,
                    end: self.y_end,
                    u: stages,
                };
                stages::inside(tableau, x, states, &step, out);
            }
            Inside::Hermite {
                slope_start,
                slope_end,
            } => {
                let (w0, w1) = (x * (1.0 - x) * (1.0 - x) * h, -x * x * (1.0 - x) * h);
                let rise = x * x * (3.0 - 2.0 * x);
                for i in states {
                    out[i] = self.y_start[i]
                        + rise * (self.y_end[i] - self.y_start[i])
                        + w0 * slope_start[i]
                        + w1 * slope_end[i];
                }
            }
        }
    }
}
