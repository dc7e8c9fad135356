//! Folds to full accuracy.

use nalgebra::DMatrix;

use super::failure::{Cause, Trouble};
use super::family::Family;
use super::linear::Factors;
use super::walk::{Frame, Node, Walker};

/// Newton iterations on the extended system; it starts almost at the solution.
const MAX_ITERATIONS: usize = 8;
/// Step of the central differences of `dF/dy`, in weights: their error costs iterations, not accuracy.
const DIFFERENCE: f64 = 1e-5;

impl<F: Family + ?Sized> Walker<'_, F> {
    /// Solves `F = 0`, `F_y v = 0`, `l . v = 1` for states, `v` and parameter, which is regular at a simple fold
    /// (Moore & Spence 1980, SIAM J. Numer. Anal. 17, 567-576), from a fold located along the branch.
    pub(super) fn refined_fold(&mut self, frame: &Frame, located: &Node) -> Result<Node, Trouble> {
        let n = self.eval.n;
        let weights = self.eval.weights(&located.z[..n]);
        let mut z = located.z.clone();
        // Unknowns in weights, v with its largest part at one; l picks that part.
        let mut v: Vec<f64> = located
            .tangent
            .iter()
            .zip(&weights)
            .map(|(t, w)| t / w)
            .collect();
        let fixed = (0..n)
            .max_by(|&i, &j| v[i].abs().total_cmp(&v[j].abs()))
            .unwrap_or(0);
        let largest = v[fixed];
        v.iter_mut().for_each(|v| *v /= largest);
        for _ in 0..MAX_ITERATIONS {
            let along_v: Vec<f64> = v
                .iter()
                .zip(&weights)
                .map(|(v, w)| v * w)
                .chain([0.0])
                .collect();
            let mut along_p = vec![0.0; n];
            along_p.push(self.range);
            let bend = self.change_of_jacobian(&z, &along_v)?;
            let shift = self.change_of_jacobian(&z, &along_p)?;
            self.eval.residual(&z[..n], z[n])?;
            self.eval.jacobian(&z[..n], z[n])?;
            let (dfdy, dfdp) = (&self.eval.dfdy, &self.eval.dfdp);
            let times_v = |matrix: &[f64], i: usize| -> f64 {
                (0..n).map(|j| matrix[i * n + j] * along_v[j]).sum()
            };
            let matrix = DMatrix::from_fn(2 * n + 1, 2 * n + 1, |i, j| {
                let (row, column) = (i % n, j % n);
                match (i / n, j / n) {
                    (0, 0) => dfdy[row * n + column] * weights[column],
                    (0, 2) => dfdp[row] * self.range,
                    (1, 0) => bend[row * n + column] * weights[column],
                    (1, 1) => dfdy[row * n + column] * weights[column],
                    (1, 2) => times_v(&shift, row),
                    (2, 1) if column == fixed => 1.0,
                    _ => 0.0,
                }
            });
            let rhs = (0..n)
                .map(|i| -self.eval.f[i])
                .chain((0..n).map(|i| -times_v(dfdy, i)))
                .chain([1.0 - v[fixed]]);
            let update = Factors::new(matrix)?.solve(rhs)?;
            let moved: Vec<f64> = (0..n)
                .map(|i| update[i] * weights[i])
                .chain([update[2 * n] * self.range])
                .collect();
            z.iter_mut().zip(&moved).for_each(|(z, m)| *z += m);
            v.iter_mut().zip(&update[n..]).for_each(|(v, u)| *v += u);
            if frame.largest(&moved) <= self.tolerance {
                return self.node(frame, z, &located.tangent);
            }
        }
        Err(Cause::NotConverged.into())
    }

    /// Change of `dF/dy` for one unit along `direction`, which holds states and parameter.
    fn change_of_jacobian(&mut self, z: &[f64], direction: &[f64]) -> Result<Vec<f64>, Trouble> {
        let n = self.eval.n;
        let mut at = |step: f64| -> Result<Vec<f64>, Trouble> {
            let z: Vec<f64> = z.iter().zip(direction).map(|(z, d)| z + step * d).collect();
            self.eval.jacobian(&z[..n], z[n])?;
            Ok(self.eval.dfdy.clone())
        };
        let (ahead, behind) = (at(DIFFERENCE)?, at(-DIFFERENCE)?);
        Ok(ahead
            .iter()
            .zip(&behind)
            .map(|(a, b)| (a - b) / (2.0 * DIFFERENCE))
            .collect())
    }
}
