//! What an integrator needs to know of a system of ordinary differential equations.

use std::ops::Range;

/// Why a right-hand side could not be evaluated at a state.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RhsFailure {
    /// A smaller step may succeed (for example a state far outside its physical range).
    #[error("{0}")]
    Recoverable(String),
    /// No step size will help.
    #[error("{0}")]
    Fatal(String),
}

/// Fixed sparsity pattern of the (augmented) Jacobian, coordinate form, without duplicates.
///
/// Rows and columns `0..dim` belong to the states, `dim..dim+aux` to auxiliary unknowns `z`
/// that the right-hand side solves for itself from `g(y, z) = 0` (for example pH and ionic strength).
/// Keeping them in the linear algebra keeps it sparse; eliminating them in the right-hand side keeps
/// every evaluation consistent to machine precision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pattern {
    /// Number of states.
    pub dim: usize,
    /// Number of auxiliary unknowns.
    pub aux: usize,
    /// (row, column) of each stored value.
    pub entries: Vec<(u16, u16)>,
}

/// A system `M y' = f(t, y)` with diagonal `M` of ones and zeros.
///
/// A zero in `M` makes a row algebraic (`0 = f_i`, index 1).
pub trait System {
    /// Number of states.
    fn dim(&self) -> usize;

    /// Evaluates `f(t, y)` into `dy` (length `dim`).
    ///
    /// # Errors
    /// [`RhsFailure`] when the state cannot be evaluated.
    fn rhs(&mut self, t: f64, y: &[f64], dy: &mut [f64]) -> Result<(), RhsFailure>;

    /// The pattern in which [`System::jacobian`] fills its values.
    fn pattern(&self) -> &Pattern;

    /// Evaluates `f` into `dy`, the exact partial time derivative `df/dt` into `dfdt`, and the augmented Jacobian
    /// `[[df/dy, df/dz], [dg/dy, dg/dz]]` into `values`, one value per entry of the pattern.
    ///
    /// # Errors
    /// [`RhsFailure`] when the state cannot be evaluated.
    fn jacobian(
        &mut self,
        t: f64,
        y: &[f64],
        dy: &mut [f64],
        dfdt: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), RhsFailure>;

    /// Whether row `i` is algebraic.
    fn is_algebraic(&self, _i: usize) -> bool {
        false
    }

    /// Above 0 while the piece of the right-hand side in force holds, below 0 where its neighbour does.
    ///
    /// Where it turns negative within a step of an implicit method, the step is ended at its zero and
    /// [`System::switch`] is called. A right-hand side in one piece needs neither.
    fn margin(&self, _y: &[f64]) -> f64 {
        f64::INFINITY
    }

    /// The states that [`System::margin`] depends on.
    fn margin_states(&self) -> Range<usize> {
        0..self.dim()
    }

    /// Goes over to the neighbouring piece of the right-hand side.
    fn switch(&mut self) {}

    /// The first state that a step from `from` to `to` would carry out of its meaning, though the error is within
    /// tolerance: such a step of an implicit method is tried again, shorter.
    fn strays(&self, _from: &[f64], _to: &[f64]) -> Option<usize> {
        None
    }

    /// The first state that runs the wrong way inside a step, of which a state `inside` is given, though the error is
    /// within tolerance: such a step of an implicit method is tried again, shorter. Asked where there is a margin.
    fn turns(&self, _from: &[f64], _inside: &[f64], _to: &[f64]) -> Option<usize> {
        None
    }

    /// The states that [`System::turns`] looks at.
    fn turning_states(&self) -> Range<usize> {
        0..self.dim()
    }

    /// Name of state `i`, for messages.
    fn name(&self, i: usize) -> String {
        format!("y[{i}]")
    }
}
