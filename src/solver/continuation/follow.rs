//! The walk along a branch.

use std::sync::atomic::Ordering;

use super::failure::{Cause, ContinuationFailure, Trouble};
use super::family::Family;
use super::stationary::check_start;
use super::walk::{Frame, Node, Walker, difference};
use super::{Branch, Direction, End, Options, Special, SpecialKind};

/// Turn of the branch within one step that the step length aims at, [rad].
const WANTED_TURN: f64 = 0.2;
/// Largest growth and shrinkage of the step from one to the next.
const STEP_FACTORS: (f64, f64) = (0.3, 2.0);
/// Factor of the step after a refusal.
const REFUSED_FACTOR: f64 = 0.4;
/// Size of a state beyond which a branch counts as unbounded, [typical size].
const UNBOUNDED: f64 = 1e6;
/// Distance from the starting point at which a branch has come back to it, [-].
const CLOSED: f64 = 1e-6;
/// Share of the parameter range to which a parameter value is met along the branch, before Newton sits on it.
const NEAR_PARAMETER: f64 = 1e-10;
/// Distance by which Newton may then move the states, [-]; more leads to another branch.
const NEAR_STATES: f64 = 1e-4;
/// Share of the parameter range by which a fold may lie outside and still count as inside.
const ROUNDING: f64 = 1e-13;
/// Most Newton iterations, and the factor by which the step may then grow.
const GROWTH: [(usize, f64); 4] = [(2, 2.0), (3, 1.5), (4, 1.0), (5, 0.7)];

/// Follows the branch of steady states through the one near `y0` at the parameter `p0`.
///
/// The start is first improved by a damped Newton iteration at `p0`; it may be an unstable state. The branch is followed
/// in one direction until the parameter leaves its range or one of the other reasons in [`End`] stops it.
///
/// # Errors
/// [`ContinuationFailure`] when the options or the start are unsuitable, or the family says that no step will help.
/// A branch that stops early is not an error; see [`Branch::end`].
pub fn follow<F: Family + ?Sized>(
    family: &mut F,
    y0: &[f64],
    p0: f64,
    options: &Options<'_>,
) -> Result<Branch, ContinuationFailure> {
    check(family, y0, p0, options)?;
    let mut walker = Walker::new(family, options.tolerance, options.p_max - options.p_min);
    let no_state = |cause| ContinuationFailure::NoSteadyState { p: p0, cause };
    let y = match walker.eval.newton(y0, p0, options.tolerance) {
        Ok(y) => y,
        Err(trouble) => return Err(no_state(trouble.attempt()?)),
    };
    let start = match walker.start(&y, p0) {
        Ok(start) => start,
        Err(trouble) => {
            return Err(ContinuationFailure::NoDirection {
                p: p0,
                cause: trouble.attempt()?,
            });
        }
    };
    let start = match options.direction {
        Direction::Up => start,
        Direction::Down => walker.reversed(start)?,
    };
    Walk {
        branch: Record::new(&walker, &start),
        start,
        walker,
        options,
    }
    .run()
}

/// Checks what can be checked before the first evaluation.
fn check<F: Family + ?Sized>(
    family: &F,
    y0: &[f64],
    p0: f64,
    options: &Options<'_>,
) -> Result<(), ContinuationFailure> {
    check_start(family, y0, options.tolerance)?;
    let range = |what: &str, value, allowed| ContinuationFailure::Range {
        what: what.into(),
        value,
        allowed,
    };
    if !options.p_min.is_finite() {
        return Err(range("smallest parameter", options.p_min, "finite"));
    }
    if !(options.p_max > options.p_min && options.p_max.is_finite()) {
        return Err(range(
            "largest parameter",
            options.p_max,
            "finite and above the smallest",
        ));
    }
    if !(options.p_min..=options.p_max).contains(&p0) {
        return Err(range("starting parameter", p0, "within its range"));
    }
    if !(options.max_step > 0.0 && options.max_step <= 1.0) {
        return Err(range(
            "longest step",
            options.max_step,
            "above 0 and at most 1",
        ));
    }
    if !(options.min_step > 0.0 && options.min_step <= options.max_step) {
        return Err(range(
            "shortest step",
            options.min_step,
            "above 0 and at most the longest",
        ));
    }
    if !(options.min_step..=options.max_step).contains(&options.first_step) {
        return Err(range(
            "first step",
            options.first_step,
            "within the shortest and the longest",
        ));
    }
    if options.max_points == 0 {
        return Err(range("largest number of points", 0.0, "at least 1"));
    }
    Ok(())
}

/// A walk under way.
struct Walk<'a, 'o, F: ?Sized> {
    walker: Walker<'a, F>,
    options: &'a Options<'o>,
    start: Node,
    branch: Record,
}

/// What a walk leaves behind.
struct Record {
    points: Vec<super::BranchPoint>,
    specials: Vec<Special>,
}

impl Record {
    fn new<F: Family + ?Sized>(walker: &Walker<'_, F>, start: &Node) -> Self {
        Self {
            points: vec![walker.point(start)],
            specials: Vec::new(),
        }
    }
}

/// A step that succeeded.
struct Step {
    specials: Vec<(SpecialKind, Node)>,
    end: Node,
    iterations: usize,
    turn: f64,
    last: Option<End>,
}

impl<F: Family + ?Sized> Walk<'_, '_, F> {
    fn run(mut self) -> Result<Branch, ContinuationFailure> {
        let mut here = self.start.clone();
        let mut step = self.options.first_step;
        let mut steps = 0;
        let end = loop {
            if self.options.stop.load(Ordering::Relaxed) {
                break End::Stopped;
            }
            if self.leaves_at_once(&here) {
                break End::OfRange;
            }
            if steps == self.options.max_points {
                break End::TooManyPoints;
            }
            let frame = self.walker.frame(&here.z);
            let made = match self.attempt(&frame, &here, step, steps > 0) {
                Ok(made) => made,
                Err(trouble) => {
                    let cause = trouble.attempt()?;
                    let work = self.walker.work();
                    match cause {
                        Cause::SharpTurn => work.refused_turn += 1,
                        _ => work.refused_corrector += 1,
                    }
                    step *= REFUSED_FACTOR;
                    if step < self.options.min_step {
                        break End::StepTooSmall { cause };
                    }
                    continue;
                }
            };
            steps += 1;
            step = self.next_step(step, made.iterations, made.turn);
            for (kind, node) in made.specials {
                self.branch.specials.push(Special {
                    kind,
                    index: self.branch.points.len(),
                });
                self.branch.points.push(self.walker.point(&node));
            }
            self.branch.points.push(self.walker.point(&made.end));
            here = made.end;
            if let Some(end) = made.last {
                break end;
            }
        };
        let Record { points, specials } = self.branch;
        Ok(Branch {
            points,
            specials,
            end,
            work: *self.walker.work(),
        })
    }

    /// Whether the branch stands at an end of the range and runs outwards.
    fn leaves_at_once(&self, here: &Node) -> bool {
        let slope = here.slope(&self.walker.frame(&here.z));
        (here.p() == self.options.p_max && slope > 0.0)
            || (here.p() == self.options.p_min && slope < 0.0)
    }

    fn attempt(
        &mut self,
        frame: &Frame,
        here: &Node,
        step: f64,
        may_close: bool,
    ) -> Result<Step, Trouble> {
        let (mut end, iterations, turn) = self.walker.step(frame, here, step)?;
        let mut last = None;
        let bound = self.bounded(end.p());
        if bound != end.p() {
            end = self.walker.at_parameter(frame, here, &end, bound)?;
            last = Some(End::OfRange);
        }
        if may_close && let Some(home) = self.home(frame, here, &end)? {
            end = home;
            last = Some(End::Closed);
        }
        last = self.outside(&end).or(last);
        let mut specials = self.walker.special_points(frame, here, &end)?;
        if let Some(beyond) = specials.iter().find(|(_, node)| self.is_beyond(node)) {
            // A fold just outside the range: the branch left and came back within the step.
            let (beyond, bound) = (beyond.1.clone(), self.bounded(beyond.1.p()));
            end = self.walker.at_parameter(frame, here, &beyond, bound)?;
            last = Some(End::OfRange);
            specials = self.walker.special_points(frame, here, &end)?;
        }
        Ok(Step {
            specials,
            end,
            iterations,
            turn,
            last,
        })
    }

    /// The nearest parameter within the range.
    fn bounded(&self, p: f64) -> f64 {
        p.clamp(self.options.p_min, self.options.p_max)
    }

    /// Whether a node lies outside the range by more than rounding.
    fn is_beyond(&self, node: &Node) -> bool {
        (node.p() - self.bounded(node.p())).abs() > ROUNDING * self.walker.range
    }

    /// Whether a state has gone where the branch need not be followed.
    fn outside(&self, node: &Node) -> Option<End> {
        let family = &self.walker.eval.family;
        let y = &node.z[..self.walker.eval.n];
        let boundary = family
            .boundary(y, node.p())
            .map(|state| End::Boundary { state });
        let far = |(i, y): (usize, &f64)| y.abs() > UNBOUNDED * family.scale(i);
        boundary.or_else(|| {
            y.iter()
                .enumerate()
                .position(far)
                .map(|state| End::Unbounded { state })
        })
    }

    /// The starting point, if the branch passes it between `a` and `b` in the direction in which it left.
    fn home(&mut self, frame: &Frame, a: &Node, b: &Node) -> Result<Option<Node>, Trouble> {
        let start = self.start.clone();
        let ahead = |node: &Node| frame.dot(&start.tangent, &difference(&node.z, &start.z));
        let near = frame.norm(&difference(&b.z, &a.z));
        let far = frame.norm(&difference(&start.z, &a.z)) > 2.0 * near;
        if far || ahead(a) >= 0.0 || ahead(b) < 0.0 {
            return Ok(None);
        }
        let (_, node) = self.walker.root(frame, a, b, 0.1 * CLOSED, ahead)?;
        Ok((frame.norm(&difference(&node.z, &start.z)) <= CLOSED).then_some(node))
    }

    fn next_step(&self, step: f64, iterations: usize, turn: f64) -> f64 {
        let by_iterations = GROWTH
            .iter()
            .find(|(most, _)| iterations <= *most)
            .map_or(STEP_FACTORS.0, |(_, f)| *f);
        let by_turn = WANTED_TURN / turn.max(WANTED_TURN / STEP_FACTORS.1);
        let factor = by_iterations.min(by_turn).max(STEP_FACTORS.0);
        (step * factor).clamp(self.options.min_step, self.options.max_step)
    }
}

impl<F: Family + ?Sized> Walker<'_, F> {
    /// The start seen in the other direction.
    fn reversed(&mut self, start: Node) -> Result<Node, ContinuationFailure> {
        let frame = self.frame(&start.z);
        let back: Vec<f64> = start.tangent.iter().map(|t| -t).collect();
        let p = start.p();
        match self.node(&frame, start.z, &back) {
            Ok(node) => Ok(node),
            Err(trouble) => Err(ContinuationFailure::NoDirection {
                p,
                cause: trouble.attempt()?,
            }),
        }
    }

    /// The node between `a` and `b` at a parameter value that lies between theirs.
    pub(super) fn at_parameter(
        &mut self,
        frame: &Frame,
        a: &Node,
        b: &Node,
        p: f64,
    ) -> Result<Node, Trouble> {
        let range = self.range;
        let off = |node: &Node| (node.p() - p) / range;
        let (_, near) = self.root(frame, a, b, NEAR_PARAMETER, off)?;
        if off(&near).abs() > NEAR_PARAMETER {
            return Err(Cause::NotConverged.into());
        }
        let n = self.eval.n;
        let mut z = near.z.clone();
        z[n] = p;
        match self.eval.newton(&z[..n], p, self.tolerance) {
            Ok(y) => z[..n].copy_from_slice(&y),
            // A fold lies on this value: the point found along the branch is as good as any.
            Err(Trouble::Attempt(_)) => {}
            Err(fatal) => return Err(fatal),
        }
        if frame.norm(&difference(&z, &near.z)) > NEAR_STATES {
            return Err(Cause::AnotherBranch.into());
        }
        self.node(frame, z, &near.tangent)
    }
}
