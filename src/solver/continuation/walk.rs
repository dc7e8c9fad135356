//! Moving along a branch: lengths, predictor, corrector, tangent.

use nalgebra::DMatrix;

use super::evaluator::{Evaluator, Stability};
use super::failure::{Cause, Trouble};
use super::family::Family;
use super::linear::{Determinant, Factors};
use super::{BranchPoint, Work};

/// Newton iterations of one correction.
const MAX_ITERATIONS: usize = 8;
/// Growth of the Newton update at which a correction is given up.
const DIVERGENCE: f64 = 2.0;
/// An update that shrinks no more than by this factor has met the rounding of the equations, not its goal.
const STAGNATION: f64 = 0.3;
/// Multiple of the tolerance below which stagnation is good enough.
const STAGNATION_SLACK: f64 = 100.0;
/// Distance of the corrected from the predicted point, [share of the step], beyond which it lies on another branch.
/// A turn by the largest allowed angle moves it by about 0.3.
const MAX_CORRECTION: f64 = 0.5;
/// Largest turn of the branch within one step, [rad].
const MAX_TURN: f64 = 0.6;

/// How lengths are measured around one point: states in their weights, in the root mean square, and the parameter
/// in its range. Vectors hold the states and then the parameter.
#[derive(Debug)]
pub(super) struct Frame {
    weights: Vec<f64>,
    states: f64,
}

impl Frame {
    fn parts<'s>(&'s self, a: &'s [f64]) -> impl Iterator<Item = f64> + 's {
        a.iter().zip(&self.weights).map(|(a, w)| a / w)
    }

    /// Inner product, [-].
    pub(super) fn dot(&self, a: &[f64], b: &[f64]) -> f64 {
        let share = |i: usize| {
            if i + 1 < self.weights.len() {
                1.0 / self.states
            } else {
                1.0
            }
        };
        self.parts(a)
            .zip(self.parts(b))
            .enumerate()
            .map(|(i, (a, b))| share(i) * a * b)
            .sum()
    }

    /// Length, [-].
    pub(super) fn norm(&self, a: &[f64]) -> f64 {
        self.dot(a, a).sqrt()
    }

    /// Largest part, [-].
    pub(super) fn largest(&self, a: &[f64]) -> f64 {
        self.parts(a).fold(0.0, |largest, a| largest.max(a.abs()))
    }

    /// The vector at a length of one.
    fn unit(&self, a: &[f64]) -> Vec<f64> {
        let norm = self.norm(a);
        a.iter().map(|a| a / norm).collect()
    }

    /// Angle between two directions, [rad].
    fn angle(&self, a: &[f64], b: &[f64]) -> f64 {
        // From the chord between the unit vectors: the cosine loses small angles.
        let (a, b) = (self.unit(a), self.unit(b));
        2.0 * (0.5 * self.norm(&difference(&a, &b))).min(1.0).asin()
    }
}

/// A point of the branch with what is known there.
#[derive(Debug, Clone)]
pub(super) struct Node {
    /// States and parameter.
    pub(super) z: Vec<f64>,
    /// Direction along the branch, of length one in the frame in which the node was made.
    pub(super) tangent: Vec<f64>,
    /// Of the derivatives of `F` bordered with the tangent, in that frame.
    pub(super) bordered: Determinant,
    pub(super) stability: Stability,
}

impl Node {
    pub(super) fn p(&self) -> f64 {
        self.z.last().copied().unwrap_or(f64::NAN)
    }

    /// Change of the parameter along the branch, in shares of its range.
    pub(super) fn slope(&self, frame: &Frame) -> f64 {
        frame.parts(&self.tangent).last().unwrap_or(f64::NAN)
    }
}

/// A family on which one walks with a given tolerance and parameter range.
#[derive(Debug)]
pub(super) struct Walker<'a, F: ?Sized> {
    pub(super) eval: Evaluator<'a, F>,
    pub(super) tolerance: f64,
    pub(super) range: f64,
}

impl<'a, F: Family + ?Sized> Walker<'a, F> {
    pub(super) fn new(family: &'a mut F, tolerance: f64, range: f64) -> Self {
        Self {
            eval: Evaluator::new(family),
            tolerance,
            range,
        }
    }

    pub(super) fn work(&mut self) -> &mut Work {
        &mut self.eval.work
    }

    /// The frame around a point.
    pub(super) fn frame(&self, z: &[f64]) -> Frame {
        let mut weights = self.eval.weights(&z[..self.eval.n]);
        weights.push(self.range);
        Frame {
            weights,
            states: self.eval.n as f64,
        }
    }

    /// The node made at `y`, `p`, which solve the equations, running towards larger parameters.
    pub(super) fn start(&mut self, y: &[f64], p: f64) -> Result<Node, Trouble> {
        let mut z = y.to_vec();
        z.push(p);
        let mut along_p = vec![0.0; z.len()];
        along_p[y.len()] = self.range;
        self.node(&self.frame(&z), z, &along_p)
    }

    /// Steps from `a` by the length `step`; gives the node, the iterations and the turn in [rad].
    pub(super) fn step(
        &mut self,
        frame: &Frame,
        a: &Node,
        step: f64,
    ) -> Result<(Node, usize, f64), Trouble> {
        let direction = frame.unit(&a.tangent);
        let guess: Vec<f64> =
            a.z.iter()
                .zip(&direction)
                .map(|(z, t)| z + step * t)
                .collect();
        let (z, iterations) = self.correct(frame, &guess, &direction)?;
        if frame.norm(&difference(&z, &guess)) > MAX_CORRECTION * step {
            return Err(Cause::AnotherBranch.into());
        }
        let node = self.node(frame, z, &direction)?;
        let turn = frame.angle(&direction, &node.tangent);
        if turn > MAX_TURN {
            Err(Cause::SharpTurn.into())
        } else {
            Ok((node, iterations, turn))
        }
    }

    /// The node at the share `theta` of the way from `a` to `b`, both on the branch.
    pub(super) fn between(
        &mut self,
        frame: &Frame,
        a: &Node,
        b: &Node,
        theta: f64,
    ) -> Result<Node, Trouble> {
        let (guess, direction) = interpolate(frame, a, b, theta);
        let (z, _) = self.correct(frame, &guess, &direction)?;
        self.node(frame, z, &direction)
    }

    /// Newton iteration onto the branch within the plane through `guess` square to `normal`.
    fn correct(
        &mut self,
        frame: &Frame,
        guess: &[f64],
        normal: &[f64],
    ) -> Result<(Vec<f64>, usize), Trouble> {
        let n = self.eval.n;
        let mut z = guess.to_vec();
        let mut previous = f64::INFINITY;
        for iteration in 1..=MAX_ITERATIONS {
            self.eval.residual(&z[..n], z[n])?;
            self.eval.jacobian(&z[..n], z[n])?;
            let off_plane = frame.dot(normal, &difference(&z, guess));
            let factors = self.bordered(frame, normal)?;
            let update = factors.solve(self.eval.f.iter().chain([&off_plane]).map(|v| -v))?;
            let update: Vec<f64> = update
                .iter()
                .zip(&frame.weights)
                .map(|(u, w)| u * w)
                .collect();
            z.iter_mut().zip(&update).for_each(|(z, u)| *z += u);
            let size = frame.largest(&update);
            if size <= self.tolerance
                || (size > STAGNATION * previous && size <= STAGNATION_SLACK * self.tolerance)
            {
                return Ok((z, iteration));
            }
            if size > DIVERGENCE * previous {
                break;
            }
            previous = size;
        }
        Err(Cause::NotConverged.into())
    }

    /// Derivatives, tangent and stability at a point of the branch; the tangent runs along `reference`.
    pub(super) fn node(
        &mut self,
        frame: &Frame,
        z: Vec<f64>,
        reference: &[f64],
    ) -> Result<Node, Trouble> {
        let n = self.eval.n;
        self.eval.jacobian(&z[..n], z[n])?;
        let factors = self.bordered(frame, reference)?;
        let null = factors.solve((0..=n).map(|i| if i == n { 1.0 } else { 0.0 }))?;
        let null: Vec<f64> = null
            .iter()
            .zip(&frame.weights)
            .map(|(u, w)| u * w)
            .collect();
        // The determinant is linear in its last row: with the tangent there instead of the reference, which has the
        // product one with `null`, it grows by the length of `null`.
        let mut bordered = factors.determinant();
        bordered.ln_abs += frame.norm(&null).ln();
        Ok(Node {
            tangent: frame.unit(&null),
            z,
            bordered,
            stability: self.eval.stability()?,
        })
    }

    /// Factors of `[F_y F_p; normal]` in units of the weights.
    fn bordered(&self, frame: &Frame, normal: &[f64]) -> Result<Factors, Cause> {
        let n = self.eval.n;
        let (w, states) = (&frame.weights, frame.states);
        Factors::new(DMatrix::from_fn(n + 1, n + 1, |i, j| {
            match (i < n, j < n) {
                (true, true) => self.eval.dfdy[i * n + j] * w[j],
                (true, false) => self.eval.dfdp[i] * w[n],
                (false, true) => normal[j] / w[j] / states,
                (false, false) => normal[n] / w[n],
            }
        }))
    }

    /// The node as it is handed out.
    pub(super) fn point(&self, node: &Node) -> BranchPoint {
        let n = self.eval.n;
        let tangent = self.frame(&node.z).unit(&node.tangent);
        BranchPoint {
            state: node.stability.state(node.z[n], node.z[..n].to_vec()),
            tangent_p: tangent[n],
            tangent_y: tangent[..n].to_vec(),
        }
    }
}

/// Cubic through both nodes with their tangents: point and direction at the share `theta` of the way.
fn interpolate(frame: &Frame, a: &Node, b: &Node, theta: f64) -> (Vec<f64>, Vec<f64>) {
    let chord = difference(&b.z, &a.z);
    let length = frame.norm(&chord);
    let (ta, tb) = (frame.unit(&a.tangent), frame.unit(&b.tangent));
    let (left, right) = (1.0 - theta, theta);
    let point = (0..chord.len())
        .map(|i| {
            let bend = left * left * right * (length * ta[i] - chord[i])
                - left * right * right * (length * tb[i] - chord[i]);
            a.z[i] + right * chord[i] + bend
        })
        .collect();
    let direction: Vec<f64> = (0..chord.len())
        .map(|i| {
            let bend = left * (left - 2.0 * right) * (length * ta[i] - chord[i])
                - right * (2.0 * left - right) * (length * tb[i] - chord[i]);
            chord[i] + bend
        })
        .collect();
    (point, frame.unit(&direction))
}

pub(super) fn difference(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}
