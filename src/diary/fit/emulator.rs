//! A stand-in for a slow model, learnt from its runs: the straight line at the minimum, and a smooth bend upon it.
//!
//! The line goes along each coordinate, or along the value behind it where that misses the runs by less: a leak takes gas
//! in proportion to itself, not to its logarithm. The bend is the mean of a Gaussian process with one bell-shaped kernel for all residuals, in coordinates that are
//! scaled by the straight-line widths. Its length and its nugget are those of a few that predict each run best from all
//! the others. Source: Rasmussen and Williams, "Gaussian Processes for Machine Learning" (2006), equations 2.25 and 5.12
//! (leave-one-out), from memory.

use nalgebra::{Cholesky, DMatrix};

use super::coordinate::Coordinate;
use super::information::Information;
use super::least_squares::Fitted;
use super::robust;

/// Lengths of the kernel that are tried, in straight-line widths.
const LENGTHS: [f64; 4] = [1.5, 2.5, 4.0, 7.0];
/// Nuggets that are tried: what of a run is the solver's own noise, in parts of the bend's variance.
const NUGGETS: [f64; 3] = [1e-6, 1e-4, 1e-2];

/// The stand-in.
#[derive(Debug, Clone)]
pub struct Emulator {
    centre: Vec<f64>,
    root: Vec<Vec<f64>>,
    coordinates: Vec<Coordinate>,
    /// Whether the line goes along the value of a coordinate.
    by_value: Vec<bool>,
    /// Value of each coordinate at the centre, and how fast it moves there.
    values: Vec<(f64, f64)>,
    /// Residuals at the centre.
    base: Vec<f64>,
    /// Slopes of the residuals along each coordinate: one row for each coordinate.
    slopes: Vec<Vec<f64>>,
    /// Scaled coordinates of the runs it was taught.
    points: Vec<Vec<f64>>,
    /// Weights of the kernel about each of these: one row of residuals for each.
    weights: Vec<Vec<f64>>,
    length: f64,
    /// Root mean square by which a residual of a run is missed when it is predicted from the other runs.
    pub error: f64,
}

impl Emulator {
    /// The straight line at the end of a fit with Huber's corner `huber`; it knows no bend yet.
    #[must_use]
    pub fn straight(
        fitted: &Fitted,
        information: &Information,
        coordinates: &[Coordinate],
        huber: Option<f64>,
    ) -> Self {
        let n = fitted.coordinates.len();
        let slopes = (0..n)
            .map(|along| {
                let rows = fitted.slopes.iter().zip(&fitted.residuals);
                rows.map(|(row, &r)| {
                    // The fit's slopes are those of the tamed residual.
                    let outside = huber.filter(|c| r.abs() > *c);
                    row[along] * outside.map_or(1.0, |c| robust::tamed(r, c).abs() / c)
                })
                .collect()
            })
            .collect();
        Self {
            centre: fitted.coordinates.clone(),
            root: information.root.clone(),
            coordinates: coordinates.to_vec(),
            by_value: vec![false; n],
            values: coordinates
                .iter()
                .zip(&fitted.coordinates)
                .map(|(c, &u)| (c.value(u), c.slope(u)))
                .collect(),
            base: fitted.residuals.clone(),
            slopes,
            points: Vec::new(),
            weights: Vec::new(),
            length: 1.0,
            error: f64::INFINITY,
        }
    }

    /// The coordinates at scaled ones.
    #[must_use]
    pub fn place(&self, scaled: &[f64]) -> Vec<f64> {
        let rows = self.centre.iter().zip(&self.root);
        rows.map(|(c, row)| c + row.iter().zip(scaled).map(|(l, z)| l * z).sum::<f64>())
            .collect()
    }

    /// Scaled coordinates of coordinates.
    #[must_use]
    pub fn scaled(&self, at: &[f64]) -> Vec<f64> {
        let mut z: Vec<f64> = Vec::with_capacity(at.len());
        for (i, u) in at.iter().enumerate() {
            let before: f64 = self.root[i].iter().zip(&z).map(|(l, z)| l * z).sum();
            z.push((u - self.centre[i] - before) / self.root[i][i]);
        }
        z
    }

    fn line(&self, scaled: &[f64]) -> Vec<f64> {
        let mut line = self.base.clone();
        for (j, u) in self.place(scaled).into_iter().enumerate() {
            let (value, speed) = self.values[j];
            let along = match self.by_value[j] && speed > 0.0 {
                true => (self.coordinates[j].value(u) - value) / speed,
                false => u - self.centre[j],
            };
            for (r, s) in line.iter_mut().zip(&self.slopes[j]) {
                *r += along * s;
            }
        }
        line
    }

    /// What the line misses of each run.
    fn bends(&self, runs: &[(Vec<f64>, Vec<f64>)]) -> DMatrix<f64> {
        let bends: Vec<Vec<f64>> = runs
            .iter()
            .map(|(z, r)| r.iter().zip(self.line(z)).map(|(r, l)| r - l).collect())
            .collect();
        DMatrix::from_fn(runs.len(), self.base.len(), |i, j| bends[i][j])
    }

    /// Learns the bend from runs: (scaled coordinates, residuals). Without any, or where no kernel can be solved, it
    /// stays as it was.
    pub fn learn(&mut self, runs: &[(Vec<f64>, Vec<f64>)]) {
        if runs.is_empty() {
            return;
        }
        let count = runs.len();
        let apart = DMatrix::from_fn(count, count, |i, j| square(&runs[i].0, &runs[j].0));
        let mut kernels: Vec<(f64, DMatrix<f64>)> = Vec::new();
        for length in LENGTHS {
            for nugget in NUGGETS {
                let mut kernel = apart.map(|d| libm::exp(-0.5 * d / (length * length)));
                for i in 0..count {
                    kernel[(i, i)] += nugget;
                }
                kernels.extend(Cholesky::new(kernel).map(|solved| (length, solved.inverse())));
            }
        }
        let Some((mut chosen, mut error, mut weights)) = best(&kernels, &self.bends(runs)) else {
            return;
        };
        for j in 0..self.by_value.len() {
            self.by_value[j] = !self.by_value[j];
            let (missed, other) = missed(&kernels[chosen].1, &self.bends(runs));
            if missed < error {
                (error, weights) = (missed, other);
            } else {
                self.by_value[j] = !self.by_value[j];
            }
        }
        if let Some(found) = best(&kernels, &self.bends(runs)) {
            (chosen, error, weights) = found;
        }
        self.error = error;
        self.length = kernels[chosen].0;
        self.points = runs.iter().map(|(z, _)| z.clone()).collect();
        self.weights = (0..count)
            .map(|i| weights.row(i).iter().copied().collect())
            .collect();
    }

    /// Residuals at scaled coordinates.
    #[must_use]
    pub fn residuals(&self, scaled: &[f64]) -> Vec<f64> {
        let mut found = self.line(scaled);
        for (point, weights) in self.points.iter().zip(&self.weights) {
            let near = libm::exp(-0.5 * square(point, scaled) / (self.length * self.length));
            for (r, w) in found.iter_mut().zip(weights) {
                *r += near * w;
            }
        }
        found
    }
}

/// Root mean square by which a kernel misses each run when it knows all the others, and its weights.
fn missed(inverse: &DMatrix<f64>, bends: &DMatrix<f64>) -> (f64, DMatrix<f64>) {
    let weights = inverse * bends;
    let squares: f64 = (0..bends.nrows())
        .map(|i| weights.row(i).norm_squared() / inverse[(i, i)].powi(2))
        .sum();
    ((squares / bends.len() as f64).sqrt(), weights)
}

/// The kernel that misses least: its place, what it misses, its weights.
fn best(
    kernels: &[(f64, DMatrix<f64>)],
    bends: &DMatrix<f64>,
) -> Option<(usize, f64, DMatrix<f64>)> {
    let each = kernels.iter().enumerate().map(|(k, (_, inverse))| {
        let (error, weights) = missed(inverse, bends);
        (k, error, weights)
    });
    each.filter(|found| found.1.is_finite())
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

fn square(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum()
}
