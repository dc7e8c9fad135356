//! Dense linear systems with rows scaled to a largest entry of one, and the determinant in logarithmic form.

use nalgebra::{DMatrix, DVector, Dyn, LU};

use super::failure::Cause;

/// A determinant that neither overflows nor underflows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Determinant {
    pub(super) negative: bool,
    pub(super) ln_abs: f64,
}

impl Determinant {
    /// This determinant divided by the size of another, [-].
    pub(super) fn over(self, other: Self) -> f64 {
        let size = (self.ln_abs - other.ln_abs).exp();
        if self.negative { -size } else { size }
    }
}

/// Factors of a square matrix.
#[derive(Debug)]
pub(super) struct Factors {
    lu: LU<f64, Dyn, Dyn>,
    row_scale: DVector<f64>,
}

impl Factors {
    /// Factorises with partial pivoting; columns are taken as they come, so scale the unknowns first.
    ///
    /// # Errors
    /// [`Cause::NotFinite`], [`Cause::Singular`].
    pub(super) fn new(mut matrix: DMatrix<f64>) -> Result<Self, Cause> {
        if let Some(row) = matrix
            .row_iter()
            .position(|row| row.iter().any(|v| !v.is_finite()))
        {
            return Err(Cause::NotFinite { row });
        }
        let row_scale = DVector::from_iterator(
            matrix.nrows(),
            matrix.row_iter().map(|row| 1.0 / row.amax()),
        );
        if row_scale.iter().any(|s| !s.is_finite()) {
            return Err(Cause::Singular);
        }
        for (mut row, scale) in matrix.row_iter_mut().zip(row_scale.iter()) {
            row *= *scale;
        }
        let lu = matrix.lu();
        if lu
            .lu_internal()
            .diagonal()
            .iter()
            .all(|pivot| pivot.is_finite() && *pivot != 0.0)
        {
            Ok(Self { lu, row_scale })
        } else {
            Err(Cause::Singular)
        }
    }

    /// Solves for one right-hand side.
    ///
    /// # Errors
    /// [`Cause::Singular`] when the solution is not finite.
    pub(super) fn solve(&self, rhs: impl Iterator<Item = f64>) -> Result<Vec<f64>, Cause> {
        let mut x = DVector::from_iterator(
            self.row_scale.len(),
            rhs.zip(self.row_scale.iter())
                .map(|(value, scale)| value * scale),
        );
        if self.lu.solve_mut(&mut x) && x.iter().all(|v| v.is_finite()) {
            Ok(x.iter().copied().collect())
        } else {
            Err(Cause::Singular)
        }
    }

    /// Determinant of the matrix as it was given.
    pub(super) fn determinant(&self) -> Determinant {
        let mut negative = self.lu.p().determinant::<f64>() < 0.0;
        let mut ln_abs = 0.0;
        for (pivot, scale) in self
            .lu
            .lu_internal()
            .diagonal()
            .iter()
            .zip(self.row_scale.iter())
        {
            negative ^= *pivot < 0.0;
            ln_abs += pivot.abs().ln() - scale.ln();
        }
        Determinant { negative, ln_abs }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_and_gives_the_determinant_of_a_badly_scaled_matrix() {
        // Determinant by hand: 1e8 * (2e-9 * 3 - 4 * 1e-9) - 0 = 0.2.
        let matrix =
            DMatrix::from_row_slice(3, 3, &[1e8, 0.0, 0.0, 5.0, 2e-9, 4.0, 7.0, 1e-9, 3.0]);
        let factors = Factors::new(matrix.clone()).unwrap();
        let det = factors.determinant();
        assert!(
            !det.negative && (det.ln_abs - 0.2_f64.ln()).abs() < 1e-12,
            "{det:?}"
        );
        let wanted = [1e-8, 3e8, -2.0];
        let rhs = matrix * DVector::from_row_slice(&wanted);
        let x = factors.solve(rhs.iter().copied()).unwrap();
        for (x, wanted) in x.iter().zip(wanted) {
            assert!((x / wanted - 1.0).abs() < 1e-12, "{x} {wanted}");
        }
    }

    #[test]
    fn sign_of_the_determinant_follows_a_swap_of_rows() {
        let swapped = Factors::new(DMatrix::from_row_slice(2, 2, &[0.0, 2.0, 3.0, 0.0]))
            .unwrap()
            .determinant();
        assert!(swapped.negative && (swapped.ln_abs - 6.0_f64.ln()).abs() < 1e-14);
        let half = Determinant {
            negative: false,
            ln_abs: 12.0_f64.ln(),
        };
        assert!((swapped.over(half) + 0.5).abs() < 1e-14);
    }

    #[test]
    fn singular_and_unclean_matrices_are_named_so() {
        let singular = Factors::new(DMatrix::from_row_slice(2, 2, &[1.0, 0.0, 1.0, 0.0]));
        assert_eq!(singular.err(), Some(Cause::Singular));
        let empty_row = Factors::new(DMatrix::from_row_slice(2, 2, &[1.0, 1.0, 0.0, 0.0]));
        assert_eq!(empty_row.err(), Some(Cause::Singular));
        let unclean = Factors::new(DMatrix::from_row_slice(2, 2, &[1.0, 1.0, f64::NAN, 0.0]));
        assert_eq!(unclean.err(), Some(Cause::NotFinite { row: 1 }));
    }
}
