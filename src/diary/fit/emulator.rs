//! A stand-in for a slow model, learnt from its runs: the straight line at the minimum, and a smooth bend upon it.
//!
//! The bend is the mean of a Gaussian process with one bell-shaped kernel for all residuals, in coordinates that are
//! scaled by the straight-line widths. Its length and its nugget are those of a few that predict each run best from all
//! the others. Source: Rasmussen and Williams, "Gaussian Processes for Machine Learning" (2006), equations 2.25 and 5.12
//! (leave-one-out), from memory.

use nalgebra::{Cholesky, DMatrix};

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
    /// Residuals at the centre.
    base: Vec<f64>,
    /// Slopes of the residuals along each scaled coordinate: one row for each coordinate.
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
    pub fn straight(fitted: &Fitted, information: &Information, huber: Option<f64>) -> Self {
        let n = fitted.coordinates.len();
        let slopes = (0..n)
            .map(|along| {
                let rows = fitted.slopes.iter().zip(&fitted.residuals);
                rows.map(|(row, &r)| {
                    let by: f64 = (along..n)
                        .map(|i| row[i] * information.root[i][along])
                        .sum();
                    // The fit's slopes are those of the tamed residual.
                    let outside = huber.filter(|c| r.abs() > *c);
                    by * outside.map_or(1.0, |c| robust::tamed(r, c).abs() / c)
                })
                .collect()
            })
            .collect();
        Self {
            centre: fitted.coordinates.clone(),
            root: information.root.clone(),
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
        for (z, slopes) in scaled.iter().zip(&self.slopes) {
            for (r, s) in line.iter_mut().zip(slopes) {
                *r += z * s;
            }
        }
        line
    }

    /// Learns the bend from runs: (scaled coordinates, residuals). Without any, or where no kernel can be solved, it
    /// stays as it was.
    pub fn learn(&mut self, runs: &[(Vec<f64>, Vec<f64>)]) {
        let (count, residuals) = (runs.len(), self.base.len());
        if count == 0 {
            return;
        }
        let bends: Vec<Vec<f64>> = runs
            .iter()
            .map(|(z, r)| r.iter().zip(self.line(z)).map(|(r, l)| r - l).collect())
            .collect();
        let bend = DMatrix::from_fn(count, residuals, |i, j| bends[i][j]);
        let apart = DMatrix::from_fn(count, count, |i, j| square(&runs[i].0, &runs[j].0));
        let mut best: Option<(f64, f64, DMatrix<f64>)> = None;
        for length in LENGTHS {
            for nugget in NUGGETS {
                let mut kernel = apart.map(|d| libm::exp(-0.5 * d / (length * length)));
                for i in 0..count {
                    kernel[(i, i)] += nugget;
                }
                let Some(solved) = Cholesky::new(kernel) else {
                    continue;
                };
                let inverse = solved.inverse();
                let weights = &inverse * &bend;
                let missed: f64 = (0..count)
                    .map(|i| weights.row(i).norm_squared() / inverse[(i, i)].powi(2))
                    .sum();
                let error = (missed / (count * residuals) as f64).sqrt();
                if error.is_finite() && best.as_ref().is_none_or(|(least, ..)| error < *least) {
                    best = Some((error, length, weights));
                }
            }
        }
        if let Some((error, length, weights)) = best {
            self.error = error;
            self.length = length;
            self.points = runs.iter().map(|(z, _)| z.clone()).collect();
            self.weights = (0..count)
                .map(|i| weights.row(i).iter().copied().collect())
                .collect();
        }
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

fn square(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum()
}
