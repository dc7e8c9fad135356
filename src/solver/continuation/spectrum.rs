//! Eigenvalues of a dense real matrix.

use nalgebra::linalg::balancing::balance_parlett_reinsch;
use nalgebra::{DMatrix, DVector, Schur};

use super::failure::Cause;

/// QR iterations allowed for each row; about three are usual.
const ITERATIONS_PER_ROW: usize = 100;
/// Shares of its neighbours on the diagonal below which an entry beside it counts as zero, from strict to loose: in
/// matrices whose eigenvalues span ten orders of magnitude rounding keeps some entries above the strictest.
const NEGLIGIBLE: [f64; 3] = [f64::EPSILON, 1e-14, 1e-12];

/// Eigenvalues as real and imaginary parts, the largest real part first, of a pair the positive imaginary part first.
///
/// The matrix is balanced first: without it, states of very different units cost the small eigenvalues every digit.
/// The absolute error is about `1e-15` times the size of the balanced matrix.
///
/// # Errors
/// [`Cause::NotFinite`], [`Cause::NotConverged`].
pub(super) fn eigenvalues(n: usize, row_major: &[f64]) -> Result<Vec<(f64, f64)>, Cause> {
    if let Some(position) = row_major.iter().position(|v| !v.is_finite()) {
        return Err(Cause::NotFinite { row: position / n });
    }
    let mut matrix = DMatrix::from_row_slice(n, n, row_major);
    balance_parlett_reinsch(&mut matrix);
    let attempt = |matrix: &DMatrix<f64>, share: f64| {
        Schur::try_new(matrix.clone(), share, ITERATIONS_PER_ROW * n)
    };
    let schur = NEGLIGIBLE
        .iter()
        .find_map(|&share| attempt(&matrix, share).or_else(|| attempt(&reflected(&matrix), share)))
        .ok_or(Cause::NotConverged)?;
    let mut values: Vec<_> = schur
        .complex_eigenvalues()
        .iter()
        .map(|v| (v.re, v.im))
        .collect();
    values.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)));
    Ok(values)
}

/// The matrix seen in other axes: the QR iteration stands still on a few matrices of high symmetry, such as
/// cyclic permutations, and not on their reflections.
fn reflected(matrix: &DMatrix<f64>) -> DMatrix<f64> {
    let n = matrix.nrows();
    // Any direction without symmetry will do.
    let direction = DVector::from_fn(n, |i, _| ((i + 1) as f64).sqrt()).normalize();
    let mirror = DMatrix::identity(n, n) - &direction * direction.transpose() * 2.0;
    &mirror * matrix * &mirror
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cyclic_permutations_have_the_roots_of_unity() {
        for n in 1..9_usize {
            let mut matrix = vec![0.0; n * n];
            for i in 0..n {
                matrix[i * n + (i + 1) % n] = 1.0;
            }
            let values = eigenvalues(n, &matrix).unwrap();
            for k in 0..n {
                let angle = std::f64::consts::TAU * k as f64 / n as f64;
                let near = values
                    .iter()
                    .map(|(re, im)| (re - angle.cos()).hypot(im - angle.sin()))
                    .fold(f64::INFINITY, f64::min);
                assert!(near < 1e-13, "n {n} k {k}: {near:e}");
            }
            assert!((values[0].0 - 1.0).abs() < 1e-13 && values[0].1 == 0.0);
        }
    }

    #[test]
    fn units_do_not_change_the_eigenvalues() {
        // Triangular times a change of units, made full by a shear: eigenvalues -1e-3, -1 and -1e6.
        let n = 3;
        let shear = DMatrix::from_row_slice(n, n, &[1.0, 0.0, 0.0, 0.5, 1.0, 0.0, 0.25, 2.0, 1.0]);
        let core =
            DMatrix::from_row_slice(n, n, &[-1e-3, 2.0, 3.0, 0.0, -1.0, 5.0, 0.0, 0.0, -1e6]);
        let full = &shear * core * shear.clone().try_inverse().unwrap();
        let units = [1e-7, 1.0, 1e2];
        let scaled: Vec<f64> = (0..n * n)
            .map(|k| full[(k / n, k % n)] * units[k / n] / units[k % n])
            .collect();
        let values = eigenvalues(n, &scaled).unwrap();
        for (value, wanted) in values.iter().zip([-1e-3, -1.0, -1e6]) {
            // Rounding of the full matrix itself moves the small ones by 1e-16 times the large one.
            assert!(
                (value.0 - wanted).abs() < 1e-9 * wanted.abs().max(1.0) && value.1 == 0.0,
                "{value:?} {wanted}"
            );
        }
    }

    #[test]
    fn a_pair_comes_with_its_positive_part_first() {
        let values = eigenvalues(3, &[-5.0, 0.0, 0.0, 0.0, -1.0, 2.0, 0.0, -2.0, -1.0]).unwrap();
        assert_eq!(values, vec![(-1.0, 2.0), (-1.0, -2.0), (-5.0, 0.0)]);
        assert_eq!(
            eigenvalues(2, &[0.0, 1.0, f64::INFINITY, 0.0]),
            Err(Cause::NotFinite { row: 1 })
        );
    }
}
