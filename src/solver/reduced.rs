//! The Jacobian with the auxiliary unknowns eliminated, dense, and its eigenvalues.

use nalgebra::linalg::{Schur, balancing};
use nalgebra::{DMatrix, DVector};

use super::linear::Dense;
use super::system::{RhsFailure, System};

/// Iterations of the QR algorithm allowed for each eigenvalue; two or three are usual.
const QR_ITERATIONS: usize = 100;

/// Why a Jacobian or its eigenvalues could not be had.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum JacobianFailure {
    /// The right-hand side refused the state.
    #[error("the right-hand side cannot be evaluated: {0}")]
    RightHandSide(String),
    /// An entry is not a finite number.
    #[error("the derivative of {row} is not a finite number")]
    NotFinite {
        /// Name of the row.
        row: String,
    },
    /// The part for the auxiliary unknowns or the algebraic states is singular, so that they cannot be eliminated.
    #[error("the auxiliary or algebraic equations do not determine their unknowns at this state")]
    Singular,
    /// The eigenvalue iteration did not end.
    #[error("the eigenvalues did not converge")]
    NoEigenvalues,
}

impl From<RhsFailure> for JacobianFailure {
    fn from(failure: RhsFailure) -> Self {
        match failure {
            RhsFailure::Recoverable(message) | RhsFailure::Fatal(message) => {
                Self::RightHandSide(message)
            }
        }
    }
}

/// Right-hand side and reduced Jacobian at a state.
#[derive(Debug)]
pub(super) struct Reduced {
    pub(super) f: DVector<f64>,
    pub(super) jacobian: DMatrix<f64>,
}

impl Reduced {
    /// `df/dy - df/dz (dg/dz)^-1 dg/dy` over the states.
    pub(super) fn at<S: System>(
        system: &mut S,
        t: f64,
        y: &[f64],
    ) -> Result<Self, JacobianFailure> {
        let dim = system.dim();
        let (aux, entries) = (system.pattern().aux, system.pattern().entries.len());
        let mut f = DVector::zeros(dim);
        let (mut dfdt, mut values) = (vec![0.0; dim], vec![0.0; entries]);
        system.jacobian(t, y, f.as_mut_slice(), &mut dfdt, &mut values)?;
        let mut full = DMatrix::zeros(dim + aux, dim + aux);
        for (&(i, j), &value) in system.pattern().entries.iter().zip(&values) {
            let (i, j) = (usize::from(i), usize::from(j));
            if !value.is_finite() {
                let row = if i < dim {
                    system.name(i)
                } else {
                    format!("auxiliary equation {}", i - dim + 1)
                };
                return Err(JacobianFailure::NotFinite { row });
            }
            full[(i, j)] = value;
        }
        let eliminated: Vec<usize> = (dim..dim + aux).collect();
        Ok(Self {
            f,
            jacobian: eliminate(&full, &eliminated)?,
        })
    }
}

/// Eliminates the rows and columns listed (Schur complement).
fn eliminate(full: &DMatrix<f64>, eliminated: &[usize]) -> Result<DMatrix<f64>, JacobianFailure> {
    let kept: Vec<usize> = (0..full.nrows())
        .filter(|i| !eliminated.contains(i))
        .collect();
    let mut reduced = full.select_rows(&kept).select_columns(&kept);
    if eliminated.is_empty() {
        return Ok(reduced);
    }
    let own = full.select_rows(eliminated).select_columns(eliminated);
    let factors = Dense::factor(&own).map_err(|_| JacobianFailure::Singular)?;
    let across = full.select_rows(&kept).select_columns(eliminated);
    let back = full.select_rows(eliminated).select_columns(&kept);
    for (j, column) in back.column_iter().enumerate() {
        let answer = factors.solve_vector(column.into_owned());
        reduced.column_mut(j).gemv(-1.0, &across, &answer, 1.0);
    }
    Ok(reduced)
}

/// Jacobian of the right-hand side over the states, auxiliary unknowns eliminated, row by row.
///
/// # Errors
/// [`JacobianFailure`] when it cannot be evaluated.
pub fn reduced_jacobian<S: System>(
    system: &mut S,
    t: f64,
    y: &[f64],
) -> Result<Vec<f64>, JacobianFailure> {
    let reduced = Reduced::at(system, t, y)?;
    // nalgebra stores by columns.
    Ok(reduced.jacobian.transpose().as_slice().to_vec())
}

/// Eigenvalues (real part, imaginary part), [1/unit of time], of the Jacobian over the differential states, largest
/// real part first: all negative means that a steady state is stable.
///
/// # Errors
/// [`JacobianFailure`] when the Jacobian cannot be evaluated or its eigenvalues do not converge.
pub fn eigenvalues<S: System>(
    system: &mut S,
    t: f64,
    y: &[f64],
) -> Result<Vec<(f64, f64)>, JacobianFailure> {
    let reduced = Reduced::at(system, t, y)?;
    let algebraic: Vec<usize> = (0..system.dim())
        .filter(|&i| system.is_algebraic(i))
        .collect();
    let mut matrix = eliminate(&reduced.jacobian, &algebraic)?;
    if matrix.is_empty() {
        return Ok(Vec::new());
    }
    // Rates span many decades; balancing keeps the small eigenvalues.
    balancing::balance_parlett_reinsch(&mut matrix);
    let limit = QR_ITERATIONS * matrix.nrows();
    let schur =
        Schur::try_new(matrix, f64::EPSILON, limit).ok_or(JacobianFailure::NoEigenvalues)?;
    let mut values: Vec<(f64, f64)> = schur
        .complex_eigenvalues()
        .iter()
        .map(|v| (v.re, v.im))
        .collect();
    values.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)));
    Ok(values)
}
