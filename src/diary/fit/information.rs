//! What the readings fix and what they leave open, from the slopes at the end of a fit.
//!
//! Where each unknown has a prior, a coordinate of standard deviation 1 before any reading, an eigenvalue of the
//! information matrix says how many times more the readings know along its direction than the prior did.

use nalgebra::{Cholesky, DMatrix, SymmetricEigen};
use serde::Serialize;

use super::coordinate::Coordinate;
use super::least_squares::Fitted;

/// Readings that know less than the prior along a direction leave it open.
pub const OPEN_BELOW: f64 = 1.0;

/// A direction in the coordinates.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Direction {
    /// Information of the readings along it, in units of the prior's.
    pub information: f64,
    /// Its share of each coordinate; the squares add up to 1.
    pub along: Vec<f64>,
}

/// Widths about a minimum as if everything were straight there (Laplace).
#[derive(Debug, Clone, PartialEq)]
pub struct Information {
    /// Directions, the best known first.
    pub directions: Vec<Direction>,
    /// Standard deviation of each coordinate, priors included.
    pub sd: Vec<f64>,
    /// Lower triangle `L` of the covariance `L L^T` of the coordinates, row by row.
    pub root: Vec<Vec<f64>>,
    /// Half the logarithm of the determinant of the covariance.
    pub half_log_det: f64,
}

/// The matrix is singular: some unknown has neither a reading nor a prior.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the readings and priors leave an unknown quite open")]
pub struct Singular;

impl Information {
    /// From the end of a fit. `noise` multiplies the standard deviations of all readings.
    ///
    /// # Errors
    /// [`Singular`].
    pub fn of(fitted: &Fitted, coordinates: &[Coordinate], noise: f64) -> Result<Self, Singular> {
        let n = coordinates.len();
        let mut data = DMatrix::<f64>::zeros(n, n);
        for row in &fitted.slopes {
            for i in 0..n {
                for j in 0..n {
                    data[(i, j)] += row[i] * row[j] / (noise * noise);
                }
            }
        }
        if data.iter().any(|x| !x.is_finite()) {
            return Err(Singular);
        }
        let mut whole = data.clone();
        for (i, c) in coordinates.iter().enumerate() {
            whole[(i, i)] += f64::from(u8::from(c.has_prior()));
        }
        // Columns of very different size are scaled before the decomposition.
        let scale: Vec<f64> = (0..n).map(|i| whole[(i, i)].sqrt()).collect();
        if scale.contains(&0.0) {
            return Err(Singular);
        }
        let scaled = DMatrix::from_fn(n, n, |i, j| whole[(i, j)] / (scale[i] * scale[j]));
        let inverse = Cholesky::new(scaled).ok_or(Singular)?.inverse();
        let covariance = DMatrix::from_fn(n, n, |i, j| inverse[(i, j)] / (scale[i] * scale[j]));
        let root = Cholesky::new(covariance.clone()).ok_or(Singular)?.l();
        let eigen = SymmetricEigen::new(data);
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by(|&a, &b| eigen.eigenvalues[b].total_cmp(&eigen.eigenvalues[a]));
        let directions = order.into_iter().map(|k| Direction {
            information: eigen.eigenvalues[k].max(0.0),
            along: upright(eigen.eigenvectors.column(k).iter().copied().collect()),
        });
        Ok(Self {
            directions: directions.collect(),
            sd: (0..n).map(|i| covariance[(i, i)].sqrt()).collect(),
            half_log_det: (0..n).map(|i| root[(i, i)].ln()).sum(),
            root: (0..n)
                .map(|i| root.row(i).iter().copied().collect())
                .collect(),
        })
    }

    /// Logarithm of the share of the prior that stands for the readings (Laplace), for coordinates that all have a
    /// prior; `log_constant` sums the logarithms of the readings' own constants.
    #[must_use]
    pub fn log_evidence(&self, sum: f64, log_constant: f64) -> f64 {
        log_constant - 0.5 * sum + self.half_log_det
    }
}

/// The same direction with its largest share above 0.
fn upright(along: Vec<f64>) -> Vec<f64> {
    let largest = along.iter().copied().fold(
        0.0,
        |most: f64, x| {
            if x.abs() > most.abs() { x } else { most }
        },
    );
    along.into_iter().map(|x| x * largest.signum()).collect()
}
