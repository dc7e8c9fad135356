//! Special points within one step: which are there, and where.

use super::SpecialKind;
use super::failure::{Cause, Trouble};
use super::family::Family;
use super::walk::{Frame, Node, Walker, difference};

/// Levels of splitting when one step holds several special points.
const MAX_DEPTH: usize = 6;
/// Half the gap around a located point in which no further point of another sort is told apart, [share of the step].
const GAP: f64 = 1e-3;
/// Evaluations spent on one root.
const MAX_EVALUATIONS: usize = 80;
/// Step aside from a point that cannot be had, [share of the step]: a root may hit a crossing of branches exactly, where
/// there is no tangent.
const ASIDE: f64 = 1e-7;
/// Width to which a root must be enclosed when its test function could not be followed down to zero, [share of the step].
const ENOUGH: f64 = 1e-3;

/// Real part of a pair on the imaginary axis, relative to its imaginary part.
const ON_AXIS: f64 = 1e-3;

/// What one interval of the branch is tested for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Test {
    Fold,
    Exchange,
    Pair,
}

impl Test {
    /// Value of the test function that counts as zero, relative to its size at the start of the interval.
    ///
    /// At an exchange the bordered matrix is singular, so the corrector has no footing in the last stretch.
    fn zero(self) -> f64 {
        match self {
            Self::Fold | Self::Pair => 1e-10,
            Self::Exchange => 1e-6,
        }
    }

    fn value(self, frame: &Frame, start: &Node, node: &Node) -> f64 {
        match self {
            Self::Fold => node.slope(frame),
            Self::Exchange => node.bordered.over(start.bordered),
            Self::Pair => {
                // The count gives the side; the distance of the nearest pair from the axis only guides the search.
                let (re, im) = node.stability.nearest_pair.unwrap_or((1.0, 0.0));
                let distance = re.abs() / re.hypot(im);
                if node.stability.unstable == start.stability.unstable {
                    distance
                } else {
                    -distance
                }
            }
        }
    }
}

/// A share of the way and the test value there.
struct Sample {
    theta: f64,
    value: f64,
}

impl<F: Family + ?Sized> Walker<'_, F> {
    /// Special points between `a` and `b`, in the order in which they are met.
    ///
    /// # Errors
    /// An attempt fails when a point cannot be located; a shorter step may help.
    pub(super) fn special_points(
        &mut self,
        frame: &Frame,
        a: &Node,
        b: &Node,
    ) -> Result<Vec<(SpecialKind, Node)>, Trouble> {
        let mut found = Vec::new();
        self.search(frame, a, b, MAX_DEPTH, &mut found)?;
        Ok(found)
    }

    fn search(
        &mut self,
        frame: &Frame,
        a: &Node,
        b: &Node,
        depth: usize,
        found: &mut Vec<(SpecialKind, Node)>,
    ) -> Result<(), Trouble> {
        let Some(&test) = tests(frame, a, b).first() else {
            return Ok(());
        };
        let limit = test.zero();
        let (theta, node) = self.root(frame, a, b, limit, |node| test.value(frame, a, node))?;
        let before = self.between(frame, a, b, theta - GAP.min(0.5 * theta))?;
        let after = self.between(frame, a, b, theta + GAP.min(0.5 * (1.0 - theta)))?;
        if depth > 0 {
            self.search(frame, a, &before, depth - 1, found)?;
        }
        let node = if test == Test::Fold {
            self.sharpened(frame, node, &before, &after)?
        } else {
            node
        };
        found.push((kind(test, &node), node.clone()));
        for other in tests(frame, &before, &after) {
            if other != test {
                found.push((kind(other, &node), node.clone()));
            }
        }
        if depth > 0 {
            self.search(frame, &after, b, depth - 1, found)?;
        }
        Ok(())
    }

    /// The fold at `node` to full accuracy where the extended system can be solved, else as it was located.
    fn sharpened(
        &mut self,
        frame: &Frame,
        node: Node,
        before: &Node,
        after: &Node,
    ) -> Result<Node, Trouble> {
        let reach = frame.norm(&difference(&after.z, &before.z));
        match self.refined_fold(frame, &node) {
            Ok(refined) if frame.norm(&difference(&refined.z, &node.z)) <= reach => Ok(refined),
            Ok(_) | Err(Trouble::Attempt(_)) => Ok(node),
            Err(fatal) => Err(fatal),
        }
    }

    /// Root of `g` along the branch between `a` and `b`, where its signs differ: false position with halved weights
    /// (Illinois rule), and a bisection every third time.
    ///
    /// `limit` is the value that counts as zero.
    pub(super) fn root(
        &mut self,
        frame: &Frame,
        a: &Node,
        b: &Node,
        limit: f64,
        mut g: impl FnMut(&Node) -> f64,
    ) -> Result<(f64, Node), Trouble> {
        let mut low = Sample {
            theta: 0.0,
            value: g(a),
        };
        let mut high = Sample {
            theta: 1.0,
            value: g(b),
        };
        let mut best: Option<(f64, f64, Node)> = None;
        let mut trouble = Cause::NotConverged;
        let mut moved_low = None;
        for evaluation in 1..=MAX_EVALUATIONS {
            let middle = 0.5 * (low.theta + high.theta);
            let secant =
                (low.theta * high.value - high.theta * low.value) / (high.value - low.value);
            let inside = secant > low.theta && secant < high.theta;
            let theta = if inside && evaluation % 3 != 0 {
                secant
            } else {
                middle
            };
            if theta <= low.theta || theta >= high.theta {
                break;
            }
            let made = match self.between(frame, a, b, theta) {
                Err(Trouble::Attempt(_)) => self.between(frame, a, b, theta + ASIDE),
                made => made,
            };
            let node = match made {
                Ok(node) => node,
                Err(Trouble::Attempt(cause)) => {
                    trouble = cause;
                    break;
                }
                Err(fatal) => return Err(fatal),
            };
            let value = g(&node);
            if best
                .as_ref()
                .is_none_or(|(_, smallest, _)| value.abs() < *smallest)
            {
                best = Some((theta, value.abs(), node));
            }
            if value.abs() <= limit {
                break;
            }
            let moves_low = (value < 0.0) == (low.value < 0.0);
            let (moved, other) = if moves_low {
                (&mut low, &mut high)
            } else {
                (&mut high, &mut low)
            };
            *moved = Sample { theta, value };
            if moved_low == Some(moves_low) {
                other.value *= 0.5;
            }
            moved_low = Some(moves_low);
        }
        match best {
            Some((theta, value, node)) if value <= limit || high.theta - low.theta <= ENOUGH => {
                Ok((theta, node))
            }
            _ => Err(trouble.into()),
        }
    }
}

/// Tests that say yes between two nodes of a branch.
fn tests(frame: &Frame, a: &Node, b: &Node) -> Vec<Test> {
    let mut positive = Vec::new();
    if (a.slope(frame) < 0.0) != (b.slope(frame) < 0.0) {
        positive.push(Test::Fold);
    }
    if a.bordered.negative != b.bordered.negative {
        positive.push(Test::Exchange);
    }
    // Each of those moves one real eigenvalue across zero; what they leave unexplained moves in pairs.
    let beyond = a
        .stability
        .unstable
        .abs_diff(b.stability.unstable)
        .saturating_sub(positive.len());
    if beyond >= 2 {
        positive.push(Test::Pair);
    }
    positive
}

/// What a point located by a test is.
fn kind(test: Test, node: &Node) -> SpecialKind {
    match test {
        Test::Fold => SpecialKind::Fold,
        Test::Exchange => SpecialKind::Exchange,
        Test::Pair => match node.stability.nearest_pair {
            Some((re, im)) if re.abs() < ON_AXIS * im => SpecialKind::Hopf { frequency: im },
            // Two real eigenvalues crossed together.
            _ => SpecialKind::Exchange,
        },
    }
}
