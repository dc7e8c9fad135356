//! Evaluation of a family with its buffers, its checks and its counts.

use nalgebra::DMatrix;

use super::failure::{Cause, Trouble};
use super::family::Family;
use super::linear::Factors;
use super::spectrum::eigenvalues;
use super::{SteadyState, Work};
use crate::solver::RhsFailure;

/// Eigenvalues at a steady state, in brief.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stability {
    /// Largest real part, and its imaginary part.
    pub(super) leading: (f64, f64),
    /// Real parts above zero.
    pub(super) unstable: usize,
    /// The complex eigenvalue nearest to the imaginary axis.
    pub(super) nearest_pair: Option<(f64, f64)>,
}

impl Stability {
    pub(super) fn state(self, p: f64, y: Vec<f64>) -> SteadyState {
        SteadyState {
            p,
            y,
            leading: self.leading,
            unstable: self.unstable,
            stable: self.leading.0 < 0.0,
        }
    }
}

/// A family and what was last evaluated of it.
#[derive(Debug)]
pub(super) struct Evaluator<'a, F: ?Sized> {
    pub(super) family: &'a mut F,
    pub(super) n: usize,
    pub(super) f: Vec<f64>,
    pub(super) dfdy: Vec<f64>,
    pub(super) dfdp: Vec<f64>,
    pub(super) work: Work,
}

impl<'a, F: Family + ?Sized> Evaluator<'a, F> {
    pub(super) fn new(family: &'a mut F) -> Self {
        let n = family.dim();
        Self {
            family,
            n,
            f: vec![0.0; n],
            dfdy: vec![0.0; n * n],
            dfdp: vec![0.0; n],
            work: Work::default(),
        }
    }

    /// Evaluates `F` into `f`.
    pub(super) fn residual(&mut self, y: &[f64], p: f64) -> Result<(), Trouble> {
        self.work.residuals += 1;
        self.family
            .residual(y, p, &mut self.f)
            .map_err(|failure| refused(failure, p))?;
        match self.f.iter().position(|v| !v.is_finite()) {
            Some(row) => Err(Cause::NotFinite { row }.into()),
            None => Ok(()),
        }
    }

    /// Evaluates the derivatives into `dfdy` and `dfdp`.
    pub(super) fn jacobian(&mut self, y: &[f64], p: f64) -> Result<(), Trouble> {
        self.work.jacobians += 1;
        self.family
            .jacobian(y, p, &mut self.dfdy, &mut self.dfdp)
            .map_err(|failure| refused(failure, p))?;
        let matrix = self
            .dfdy
            .iter()
            .position(|v| !v.is_finite())
            .map(|position| position / self.n);
        match matrix.or_else(|| self.dfdp.iter().position(|v| !v.is_finite())) {
            Some(row) => Err(Cause::NotFinite { row }.into()),
            None => Ok(()),
        }
    }

    /// Weight of each state at these values.
    pub(super) fn weights(&self, y: &[f64]) -> Vec<f64> {
        y.iter()
            .enumerate()
            .map(|(i, &y)| self.family.weight(i, y))
            .collect()
    }

    /// Factors of `shift I - dF/dy` as last evaluated, in units of the weights.
    pub(super) fn shifted(&self, shift: f64, weights: &[f64]) -> Result<Factors, Cause> {
        Factors::new(DMatrix::from_fn(self.n, self.n, |i, j| {
            let diagonal = if i == j { shift } else { 0.0 };
            (diagonal - self.dfdy[i * self.n + j]) * weights[j]
        }))
    }

    /// Eigenvalues of `dF/dy` as last evaluated.
    pub(super) fn stability(&self) -> Result<Stability, Cause> {
        let values = eigenvalues(self.n, &self.dfdy)?;
        let nearest_pair = values
            .iter()
            .filter(|(_, im)| *im > 0.0)
            .min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
            .copied();
        Ok(Stability {
            leading: values.first().copied().unwrap_or((f64::NEG_INFINITY, 0.0)),
            unstable: values.iter().filter(|(re, _)| *re > 0.0).count(),
            nearest_pair,
        })
    }
}

fn refused(failure: RhsFailure, p: f64) -> Trouble {
    match failure {
        RhsFailure::Recoverable(message) => Cause::Refused(message).into(),
        RhsFailure::Fatal(message) => Trouble::Fatal { p, message },
    }
}
