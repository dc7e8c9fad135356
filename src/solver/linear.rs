//! The linear systems of a step: sparse elimination in a fixed order, dense pivoting where that cannot be trusted.

use nalgebra::{DMatrix, DVector, Dyn, LU};

use super::sparse::SparseLu;
use super::statistics::Statistics;
use super::system::Pattern;

/// The matrix is singular to working precision, or holds something that is not a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Singular;

/// A pivot below this share of its column is made of rounding errors.
const NEARLY_SINGULAR: f64 = 1e-13;

/// Factors of `diag(shift M, 0) - J`.
#[derive(Debug)]
pub(super) struct Linear {
    pattern: Pattern,
    algebraic: Vec<bool>,
    sparse: Option<SparseLu>,
    /// Factors in use, when the last factorisation had to pivot.
    dense: Option<Dense>,
}

impl Linear {
    pub(super) fn new(pattern: &Pattern, is_algebraic: impl Fn(usize) -> bool) -> Self {
        Self {
            pattern: pattern.clone(),
            algebraic: (0..pattern.dim).map(&is_algebraic).collect(),
            sparse: SparseLu::new(pattern, is_algebraic),
            dense: None,
        }
    }

    /// Factorises for the values of the pattern.
    ///
    /// # Errors
    /// [`Singular`] when dense pivoting fails too.
    pub(super) fn factor(
        &mut self,
        values: &[f64],
        shift: f64,
        statistics: &mut Statistics,
    ) -> Result<(), Singular> {
        if let Some(sparse) = &mut self.sparse {
            statistics.factorisations += 1;
            if sparse.factor(values, shift).is_ok() {
                self.dense = None;
                return Ok(());
            }
        }
        statistics.dense_factorisations += 1;
        self.dense = Some(Dense::factor(&self.matrix(values, shift))?);
        Ok(())
    }

    /// Solves for `a + b` on the states and zero on the auxiliary rows; gives the states only.
    pub(super) fn solve(&mut self, a: &[f64], b: &[f64], out: &mut [f64]) {
        match (&mut self.dense, &mut self.sparse) {
            (Some(dense), _) => dense.solve(a, b, out),
            (None, Some(sparse)) => sparse.solve(a, b, out),
            (None, None) => out.fill(f64::NAN),
        }
    }

    fn matrix(&self, values: &[f64], shift: f64) -> DMatrix<f64> {
        let n = self.pattern.dim + self.pattern.aux;
        let mut w = DMatrix::zeros(n, n);
        for (&(i, j), value) in self.pattern.entries.iter().zip(values) {
            w[(usize::from(i), usize::from(j))] = -value;
        }
        for (i, _) in self
            .algebraic
            .iter()
            .enumerate()
            .filter(|(_, algebraic)| !**algebraic)
        {
            w[(i, i)] += shift;
        }
        w
    }
}

/// Factors with partial pivoting of the matrix with its rows scaled to a largest entry of one.
#[derive(Debug)]
pub(super) struct Dense {
    lu: LU<f64, Dyn, Dyn>,
    row_scale: DVector<f64>,
    /// Smallest pivot against the largest entry of its column.
    weakest_pivot: f64,
}

impl Dense {
    pub(super) fn factor(w: &DMatrix<f64>) -> Result<Self, Singular> {
        if w.iter().any(|v| !v.is_finite()) {
            return Err(Singular);
        }
        let row_scale = DVector::from_iterator(w.nrows(), w.row_iter().map(|row| 1.0 / row.amax()));
        let mut scaled = w.clone();
        for (mut row, scale) in scaled.row_iter_mut().zip(row_scale.iter()) {
            row *= *scale;
        }
        let largest: Vec<f64> = scaled.column_iter().map(|column| column.amax()).collect();
        let lu = scaled.lu();
        let pivots = lu.u().diagonal();
        if pivots
            .iter()
            .any(|pivot| !pivot.is_finite() || *pivot == 0.0)
        {
            return Err(Singular);
        }
        let shares = pivots
            .iter()
            .zip(largest)
            .map(|(pivot, largest)| pivot.abs() / largest);
        let weakest_pivot = shares.fold(f64::INFINITY, f64::min);
        Ok(Self {
            lu,
            row_scale,
            weakest_pivot,
        })
    }

    /// Whether the matrix is so near to a singular one that only rounding tells them apart.
    pub(super) fn is_nearly_singular(&self) -> bool {
        self.weakest_pivot < NEARLY_SINGULAR
    }

    pub(super) fn solve_vector(&self, mut rhs: DVector<f64>) -> DVector<f64> {
        rhs.component_mul_assign(&self.row_scale);
        if self.lu.solve_mut(&mut rhs) {
            rhs
        } else {
            rhs.map(|_| f64::NAN)
        }
    }

    fn solve(&self, a: &[f64], b: &[f64], out: &mut [f64]) {
        let mut rhs = DVector::zeros(self.row_scale.len());
        for ((value, a), b) in rhs.iter_mut().zip(a).zip(b).take(out.len()) {
            *value = a + b;
        }
        let x = self.solve_vector(rhs);
        out.iter_mut().zip(x.iter()).for_each(|(out, x)| *out = *x);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A matrix with zero diagonal: no diagonal order exists.
    fn swapped() -> Pattern {
        Pattern {
            dim: 2,
            aux: 0,
            entries: vec![(0, 1), (1, 0)],
        }
    }

    #[test]
    fn dense_pivoting_takes_over_where_no_diagonal_order_exists() {
        let mut statistics = Statistics::default();
        let mut linear = Linear::new(&swapped(), |_| true);
        linear.factor(&[-2.0, -4.0], 1.0, &mut statistics).unwrap();
        let mut x = [0.0; 2];
        linear.solve(&[1.0, 1.0], &[1.0, 3.0], &mut x);
        assert_eq!(x, [1.0, 1.0]);
        assert_eq!(
            (statistics.factorisations, statistics.dense_factorisations),
            (0, 1)
        );
    }

    #[test]
    fn dense_pivoting_takes_over_for_a_tiny_pivot_and_gives_way_again() {
        let pattern = Pattern {
            dim: 2,
            aux: 0,
            entries: vec![(0, 0), (0, 1), (1, 0), (1, 1)],
        };
        let mut statistics = Statistics::default();
        let mut linear = Linear::new(&pattern, |_| true);
        let mut x = [0.0; 2];
        linear
            .factor(&[-1e-20, -1.0, -1.0, -1.0], 0.0, &mut statistics)
            .unwrap();
        linear.solve(&[1.0, 2.0], &[0.0, 0.0], &mut x);
        assert!(
            (x[0] - 1.0).abs() < 1e-15 && (x[1] - 1.0).abs() < 1e-15,
            "{x:?}"
        );
        linear
            .factor(&[-2.0, 0.0, 0.0, -4.0], 0.0, &mut statistics)
            .unwrap();
        linear.solve(&[1.0, 2.0], &[0.0, 0.0], &mut x);
        assert_eq!(x, [0.5, 0.5]);
        assert_eq!(
            (statistics.factorisations, statistics.dense_factorisations),
            (2, 1)
        );
    }

    #[test]
    fn singular_matrices_are_named_so() {
        let mut statistics = Statistics::default();
        let mut linear = Linear::new(&swapped(), |_| true);
        assert_eq!(
            linear.factor(&[0.0, 1.0], 1.0, &mut statistics),
            Err(Singular)
        );
        assert_eq!(
            linear.factor(&[f64::NAN, 1.0], 1.0, &mut statistics),
            Err(Singular)
        );
    }
}
