//! Shapes that tell series apart without colour.

use super::canvas::Canvas;
use super::ink::{Ink, LOOKS};
use crate::report::figure::Look;

/// Half the size of a mark \[px\].
const HALF: f64 = 3.6;
/// Distance between marks along a line \[px\].
const APART: f64 = 110.0;

/// A shape as corners around its middle; an empty list stands for a circle.
const SHAPES: [&[(f64, f64)]; LOOKS] = [
    &[],
    &[(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)],
    &[(0.0, -1.15), (1.1, 0.85), (-1.1, 0.85)],
    &[(0.0, -1.25), (1.25, 0.0), (0.0, 1.25), (-1.25, 0.0)],
    &[(0.0, 1.15), (1.1, -0.85), (-1.1, -0.85)],
    &[(-1.2, -0.5), (1.2, -0.5), (1.2, 0.5), (-1.2, 0.5)],
    &[(-0.5, -1.2), (0.5, -1.2), (0.5, 1.2), (-0.5, 1.2)],
    &[(1.15, 0.0), (-0.85, 1.1), (-0.85, -1.1)],
];

/// Draws a look's shape around `at`, with a rim of paper.
pub(super) fn mark(canvas: &Canvas<'_>, at: (f64, f64), look: Look) {
    let shape = SHAPES[look.0 % LOOKS];
    for (half, ink) in [(HALF + 1.2, Ink::Paper), (HALF, Ink::solid(look))] {
        if shape.is_empty() {
            canvas.circle(at, half, ink);
        } else {
            let corner = |c: &(f64, f64)| (at.0 + c.0 * half, at.1 + c.1 * half);
            let corners: Vec<_> = shape.iter().map(corner).collect();
            canvas.polygon(&corners, ink);
        }
    }
}

/// Marks along a drawn line, those of the series with number `turn` of `turns` set off from the others.
pub(super) fn along(
    canvas: &Canvas<'_>,
    points: &[(f64, f64)],
    look: Look,
    turn: usize,
    turns: usize,
) {
    #[allow(clippy::cast_precision_loss)] // a panel holds few series
    let offset = APART * (turn as f64 + 0.5) / turns.max(1) as f64;
    let Some(first) = points.first() else { return };
    let mut next = first.0 + offset;
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        while b.0 >= next && b.0 > a.0 {
            let t = ((next - a.0) / (b.0 - a.0)).clamp(0.0, 1.0);
            mark(canvas, (next, a.1 + t * (b.1 - a.1)), look);
            next += APART;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_looks_share_a_shape() {
        for (i, shape) in SHAPES.iter().enumerate() {
            assert!(SHAPES[..i].iter().all(|other| other != shape));
        }
    }
}
