//! The start of a segment: slope there, and algebraic states brought onto their rows.

use super::Rosenbrock;
use crate::solver::failure::Failure;
use crate::solver::segment::Segment;
use crate::solver::system::{RhsFailure, System};

/// Newton steps allowed to balance the algebraic rows after a jump; they converge quadratically.
const NEWTON_STEPS: u32 = 30;
/// Algebraic states count as balanced when the next Newton step is below this share of their tolerance.
const BALANCED: f64 = 1e-3;
/// Reciprocal step, in segments, in which no differential state can move.
const STANDSTILL: f64 = 1e12;

impl Rosenbrock {
    /// Evaluates the slope at the start of a segment, after moving the algebraic states, which a jump leaves
    /// unbalanced, by Newton steps.
    pub(super) fn settle<S: System>(
        &mut self,
        segment: &mut Segment<'_, S>,
    ) -> Result<(), Failure> {
        let first_algebraic = self.mass.iter().position(|mass| *mass == 0.0);
        let mut moved = 0.0;
        for _ in 0..NEWTON_STEPS {
            segment.statistics.jacobians += 1;
            match self.here.evaluate(segment.system, segment.t0, &self.y) {
                Ok(()) => {}
                Err(RhsFailure::Recoverable(_)) if moved > 0.0 => {
                    // Half of the way back.
                    moved *= 0.5;
                    self.move_algebraic(-moved);
                    continue;
                }
                Err(RhsFailure::Recoverable(message) | RhsFailure::Fatal(message)) => {
                    return Err(Failure::RightHandSide {
                        at: self.situation(segment, segment.t0, 0.0),
                        message,
                    });
                }
            }
            if first_algebraic.is_none() {
                return Ok(());
            }
            for ((f, here), mass) in self.f.iter_mut().zip(&self.here.f).zip(&self.mass) {
                *f = (1.0 - mass) * here;
            }
            self.b.fill(0.0);
            let shift = STANDSTILL / (segment.t1 - segment.t0);
            if self
                .linear
                .factor(&self.here.values, shift, segment.statistics)
                .is_err()
            {
                break;
            }
            segment.statistics.solves += 1;
            let dim = self.y.len();
            self.linear.solve(&self.f, &self.b, &mut self.u[..dim]);
            if self.imbalance(segment) < BALANCED {
                return Ok(());
            }
            moved = 1.0;
            self.move_algebraic(moved);
        }
        let name = first_algebraic.map_or_else(String::new, |i| segment.system.name(i));
        Err(Failure::Unsettled {
            at: self.situation(segment, segment.t0, 0.0),
            name,
        })
    }

    /// Largest Newton step of an algebraic state in units of its tolerance.
    fn imbalance<S: System>(&self, segment: &Segment<'_, S>) -> f64 {
        let options = segment.options;
        let scaled =
            |i: usize| self.u[i].abs() / (options.atol[i] + options.rtol * self.y[i].abs());
        let algebraic = (0..self.y.len()).filter(|&i| self.mass[i] == 0.0);
        // The largest, where anything that is not a number counts as such.
        algebraic
            .map(scaled)
            .fold(0.0, |worst, v| if v <= worst { worst } else { v })
    }

    /// Moves the algebraic states by a share of the first stage vector.
    fn move_algebraic(&mut self, share: f64) {
        for ((y, step), mass) in self.y.iter_mut().zip(&self.u).zip(&self.mass) {
            *y += share * (1.0 - mass) * step;
        }
    }
}
