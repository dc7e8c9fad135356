//! An accepted step and the solution inside it.

use super::tableau::Tableau;

/// An accepted step: its ends, and the solution anywhere between them.
#[derive(Debug, Clone, Copy)]
pub struct DenseStep<'a> {
    pub(super) start: f64,
    pub(super) end: f64,
    pub(super) y_start: &'a [f64],
    pub(super) y_end: &'a [f64],
    pub(super) inside: Inside<'a>,
}

/// What the solution between the ends is made of.
#[derive(Debug, Clone, Copy)]
pub(super) enum Inside<'a> {
    /// The method's own polynomial over the vectors `U_j`, one after the other.
    Rosenbrock {
        tableau: &'static Tableau,
        stages: &'a [f64],
    },
    /// Cubic through both ends with the slopes there.
    Hermite {
        slope_start: &'a [f64],
        slope_end: &'a [f64],
    },
}

impl DenseStep<'_> {
    /// Time at which the step starts, [unit of time].
    #[must_use]
    pub fn start(&self) -> f64 {
        self.start
    }

    /// Time at which the step ends, [unit of time].
    #[must_use]
    pub fn end(&self) -> f64 {
        self.end
    }

    /// State at the start.
    #[must_use]
    pub fn y_start(&self) -> &[f64] {
        self.y_start
    }

    /// State at the end.
    #[must_use]
    pub fn y_end(&self) -> &[f64] {
        self.y_end
    }

    /// Writes the state at time `t` into `out` (length: number of states).
    ///
    /// The ends are met exactly; a time outside the step is taken as the nearer end. The order is one less
    /// than the method's.
    pub fn eval(&self, t: f64, out: &mut [f64]) {
        if t <= self.start {
            return out.copy_from_slice(self.y_start);
        }
        if t >= self.end {
            return out.copy_from_slice(self.y_end);
        }
        let h = self.end - self.start;
        let x = (t - self.start) / h;
        match self.inside {
            Inside::Rosenbrock { tableau, stages } => {
                for ((out, y0), y1) in out.iter_mut().zip(self.y_start).zip(self.y_end) {
                    *out = (1.0 - x) * y0 + x * y1;
                }
                for (j, u) in stages.chunks_exact(self.y_start.len()).enumerate() {
                    let [h1, h2, h3] = &tableau.inside;
                    let weight = x * (1.0 - x) * (h1[j] + x * (h2[j] + x * h3[j]));
                    out.iter_mut()
                        .zip(u)
                        .for_each(|(out, u)| *out += weight * u);
                }
            }
            Inside::Hermite {
                slope_start,
                slope_end,
            } => {
                let (w0, w1) = (x * (1.0 - x) * (1.0 - x) * h, -x * x * (1.0 - x) * h);
                let rise = x * x * (3.0 - 2.0 * x);
                for (i, out) in out.iter_mut().enumerate() {
                    *out = self.y_start[i]
                        + rise * (self.y_end[i] - self.y_start[i])
                        + w0 * slope_start[i]
                        + w1 * slope_end[i];
                }
            }
        }
    }
}
