//! What continuation needs to know of a system.

use crate::solver::RhsFailure;

/// Steady states `F(y, p) = 0` of `y' = F(y, p)` with one parameter `p`.
///
/// `dF/dy` should be regular on most of the branch: conserved sums leave an eigenvalue at zero everywhere and have to be
/// eliminated first. So do algebraic rows: every row is the motion of its state.
pub trait Family {
    /// Number of states, at least 1.
    fn dim(&self) -> usize;

    /// Evaluates `F(y, p)` into `f` (length `dim`), [unit of each state per unit of time].
    ///
    /// # Errors
    /// [`RhsFailure`] when the state cannot be evaluated; a recoverable one makes the step smaller.
    fn residual(&mut self, y: &[f64], p: f64, f: &mut [f64]) -> Result<(), RhsFailure>;

    /// Evaluates `dF/dy` row by row into `dfdy` (length `dim * dim`) and `dF/dp` into `dfdp` (length `dim`).
    ///
    /// # Errors
    /// [`RhsFailure`] when the state cannot be evaluated.
    fn jacobian(
        &mut self,
        y: &[f64],
        p: f64,
        dfdy: &mut [f64],
        dfdp: &mut [f64],
    ) -> Result<(), RhsFailure>;

    /// Typical size of state `i`, [unit of the state], above 0: changes far below it do not matter.
    fn scale(&self, i: usize) -> f64;

    /// The change of state `i` that counts as one when lengths are measured at the value `y`, [unit of the state],
    /// above 0. By default the larger of the typical and the present size.
    fn weight(&self, i: usize, y: f64) -> f64 {
        self.scale(i).max(y.abs())
    }

    /// Index of a state that has left the region of interest, if one has: the branch ends there. By default none.
    fn boundary(&self, _y: &[f64], _p: f64) -> Option<usize> {
        None
    }
}

impl<F: Family + ?Sized> Family for &mut F {
    fn dim(&self) -> usize {
        (**self).dim()
    }

    fn residual(&mut self, y: &[f64], p: f64, f: &mut [f64]) -> Result<(), RhsFailure> {
        (**self).residual(y, p, f)
    }

    fn jacobian(
        &mut self,
        y: &[f64],
        p: f64,
        dfdy: &mut [f64],
        dfdp: &mut [f64],
    ) -> Result<(), RhsFailure> {
        (**self).jacobian(y, p, dfdy, dfdp)
    }

    fn scale(&self, i: usize) -> f64 {
        (**self).scale(i)
    }

    fn weight(&self, i: usize, y: f64) -> f64 {
        (**self).weight(i, y)
    }

    fn boundary(&self, y: &[f64], p: f64) -> Option<usize> {
        (**self).boundary(y, p)
    }
}
