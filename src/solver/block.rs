//! Inverse of the small dense block that a sparse elimination ends in.

use crate::lanes::Real;

/// Rows of the block, and the most columns it has. Measured on a network of 30 unknowns: with eight, a solve takes a
/// fifth less than without a block and a factorisation hardly more; twelve win nothing more over a whole step.
pub(super) const WIDTH: usize = 8;

/// Inverts in place by Gauss-Jordan elimination on the diagonal; the matrix is given and returned by columns, rows
/// beyond their number being zero. Reports every pivot.
#[inline(always)]
pub(super) fn invert<R: Real>(columns: &mut [[R; WIDTH]], mut report: impl FnMut(usize, R)) {
    // Columns taken as rows make it the transposed matrix, whose inverse is the transposed inverse.
    for k in 0..columns.len().min(WIDTH) {
        let mut pivot_row = columns[k];
        let pivot = pivot_row[k];
        report(k, pivot);
        let inverse = pivot.recip();
        pivot_row[k] = R::splat(1.0);
        for value in &mut pivot_row {
            *value *= inverse;
        }
        for row in columns.iter_mut() {
            let factor = row[k];
            for (value, pivot_value) in row.iter_mut().zip(&pivot_row) {
                *value -= factor * *pivot_value;
            }
            // Written last: a short write just before the wide reads of the row would stall them.
            row[k] = -factor * inverse;
        }
        columns[k] = pivot_row;
    }
}

/// Replaces `x` by the matrix, given by columns, times `x`.
#[inline(always)]
pub(super) fn multiply<R: Real>(columns: &[[R; WIDTH]], x: &mut [R]) {
    let mut sums = [R::splat(0.0); WIDTH];
    for (column, x) in columns.iter().zip(&*x) {
        for (sum, value) in sums.iter_mut().zip(column) {
            *sum += *value * *x;
        }
    }
    x.iter_mut().zip(sums).for_each(|(x, sum)| *x = sum);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inverse_of_a_known_matrix() {
        // [[2, 1], [5, 3]] has the inverse [[3, -1], [-5, 2]].
        let mut columns = [[0.0; WIDTH]; 2];
        columns[0][..2].copy_from_slice(&[2.0, 5.0]);
        columns[1][..2].copy_from_slice(&[1.0, 3.0]);
        let mut pivots = Vec::new();
        invert(&mut columns, |_, pivot| pivots.push(pivot));
        assert_eq!(pivots, [2.0, 0.5]);
        let close = |found: &[f64], expected: [f64; 2]| {
            found
                .iter()
                .zip(expected)
                .all(|(a, b)| (a - b).abs() < 1e-14)
        };
        assert!(close(&columns[0][..2], [3.0, -5.0]), "{columns:?}");
        assert!(close(&columns[1][..2], [-1.0, 2.0]), "{columns:?}");
        let mut x = [1.0, 2.0];
        multiply(&columns, &mut x);
        assert!(close(&x, [1.0, -1.0]), "{x:?}");
    }
}
