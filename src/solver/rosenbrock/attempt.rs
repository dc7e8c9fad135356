//! One attempted step.

use super::Rosenbrock;
use crate::lanes::{LaneSet, Real};
use crate::solver::failure::ShrinkCause;
use crate::solver::segment::Segment;
use crate::solver::stages::{self, Shared};
use crate::solver::system::{RhsFailure, System};

/// Steps of the search for a crossing, and the width to which it is found, in shares of the step.
const ROOT_STEPS: usize = 40;
const ROOT_WIDTH: f64 = 1e-9;
/// Least share of the bracket that one of them cuts off.
const ROOT_EDGE: f64 = 1e-3;
/// A crossing is reached where this share of the margin that a longer step overshot is left: the polynomial of that step
/// foretells it no better (a thousandth at a tolerance of 1e-3), and to go for the rest took a splinter and the long step
/// again. Where the margin falls so slowly that rounding hides its sign, the search would not end at all.
const REACHED: f64 = 1e-3;
/// A crossing within this share of the step stands at its start already.
const SPLINTER: f64 = 1e-6;

/// What a step ends at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::solver) enum Goal {
    /// Nothing special.
    Step,
    /// The other piece of the right-hand side.
    Crossing,
    /// The end of the segment.
    End,
}

/// How an attempt ended.
pub(super) enum Attempt {
    /// Within tolerance, with the error in units of it; the new state is in `argument`, the slope there in `next`
    /// unless the segment ends.
    Accepted(f64),
    /// Within tolerance, but the right-hand side goes over to its other piece at this time.
    Crosses(f64),
    /// Error above tolerance, in units of it.
    TooRough(f64),
    /// Why it could not be finished; a shorter step may.
    Unfinished(ShrinkCause),
    /// What the right-hand side said when no step will help.
    Hopeless(String),
}

/// Where a step hands over to the other piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::solver) struct Crossing {
    /// When.
    pub(in crate::solver) at: f64,
    /// How far the step that found it overshot it.
    pub(in crate::solver) overshot: f64,
}

/// Whether a step that was to end at a crossing reached it.
pub(in crate::solver) fn is_reached(margin: f64, overshot: f64) -> bool {
    margin < REACHED * overshot
}

/// Where the margin of the piece in force vanishes inside a step, given both ends with the margins there.
fn crossing(
    start: (f64, f64),
    end: (f64, f64),
    mut margin: impl FnMut(f64) -> f64,
) -> Option<Crossing> {
    let beyond = outside(start, end, &mut margin);
    (beyond.1 < 0.0).then(|| crossing_before(start, beyond, end.0 - start.0, margin))
}

/// Where the margin vanishes inside a step of some length, given its start and a time beyond with the margins there.
pub(in crate::solver) fn crossing_before(
    start: (f64, f64),
    beyond: (f64, f64),
    length: f64,
    mut margin: impl FnMut(f64) -> f64,
) -> Crossing {
    let at = vanishing(start, beyond, length, &mut margin);
    let is_splinter = at - start.0 < SPLINTER * length;
    Crossing {
        at,
        overshot: if is_splinter {
            f64::INFINITY
        } else {
            -beyond.1
        },
    }
}

/// A time inside a step at which the piece in force holds no longer, and the margin there: its end, or where a parabola
/// through the margins of both ends and of the middle is lowest. One that goes over and comes back within a step shows at
/// its end no more. A margin not below zero says that there is none.
#[inline(always)]
pub(in crate::solver) fn outside<R: Real>(
    start: (R, R),
    end: (R, R),
    mut margin: impl FnMut(R) -> R,
) -> (R, R) {
    let (zero, half) = (R::splat(0.0), R::splat(0.5));
    let mut at_share = |share: R| {
        let at = start.0 + share * (end.0 - start.0);
        (at, margin(at))
    };
    let pick = |of: LaneSet, a: (R, R), b: (R, R)| (R::pick(of, a.0, b.0), R::pick(of, a.1, b.1));
    let middle = at_share(half);
    let bend = start.1 + end.1 - middle.1 * 2.0;
    let lowest = half + (start.1 - end.1) * 0.25 / bend;
    let dips = zero.below(bend) & zero.below(lowest) & lowest.below(R::splat(1.0));
    let mut out = end;
    if !dips.is_empty() {
        out = pick(dips, at_share(lowest), out);
    }
    out = pick(middle.1.below(zero), middle, out);
    pick(end.1.below(zero), end, out)
}

/// Where the margin vanishes between the start of a step of some length and a time beyond.
fn vanishing(
    start: (f64, f64),
    beyond: (f64, f64),
    length: f64,
    margin: &mut impl FnMut(f64) -> f64,
) -> f64 {
    // False position, halving the weight of an end that stays twice (Dowell & Jarratt 1971, BIT 11, 168).
    let (mut inside, mut outside) = ((start.0, start.1.max(0.0)), beyond);
    let mut was_inside = None;
    for _ in 0..ROOT_STEPS {
        // Two margins of zero leave nothing to divide by.
        let fall = (inside.1 - outside.1).max(f64::MIN_POSITIVE);
        let share = (inside.1 / fall).clamp(ROOT_EDGE, 1.0 - ROOT_EDGE);
        let at = inside.0 + share * (outside.0 - inside.0);
        let value = margin(at);
        let is_inside = value > 0.0;
        let again = was_inside == Some(is_inside);
        if is_inside {
            inside = (at, value);
            outside.1 *= if again { 0.5 } else { 1.0 };
        } else {
            outside = (at, value);
            inside.1 *= if again { 0.5 } else { 1.0 };
        }
        was_inside = Some(is_inside);
        if outside.0 - inside.0 < ROOT_WIDTH * length {
            break;
        }
    }
    outside.0
}

/// Where a look is taken inside a step. It may pass in one go over what dies out in a small part of it, whose error the
/// method hardly sees; its polynomial then swings. That of Rodas5P errs at a quarter by 8 to 32 % of what died out, always
/// to the far side, once the step is more than ten times as long as that lived; in the middle it crosses over.
const LOOK: f64 = 0.25;

/// The time of that look.
#[inline(always)]
pub(in crate::solver) fn look<R: Real>(start: R, end: R) -> R {
    start + (end - start) * LOOK
}

/// The last time that is surely of the piece which ends at `end` (a time above zero).
#[inline(always)]
pub(in crate::solver) fn last_of_piece<R: Real>(end: R) -> R {
    end * (1.0 - f64::EPSILON)
}

impl From<RhsFailure> for Attempt {
    fn from(failure: RhsFailure) -> Self {
        match failure {
            RhsFailure::Recoverable(message) => Self::Unfinished(ShrinkCause::Refused(message)),
            RhsFailure::Fatal(message) => Self::Hopeless(message),
        }
    }
}

impl Rosenbrock {
    /// Tries the step from `t` to `end` of length `h`; `goal` says what is at its end.
    pub(super) fn attempt<S: System>(
        &mut self,
        segment: &mut Segment<'_, S>,
        t: f64,
        end: f64,
        h: f64,
        goal: Goal,
    ) -> Attempt {
        let (tableau, dim) = (self.tableau, self.y.len());
        let statistics = &mut *segment.statistics;
        if self
            .linear
            .factor(&self.here.values, 1.0 / (h * tableau.gamma), statistics)
            .is_err()
        {
            return Attempt::Unfinished(ShrinkCause::Singular);
        }
        let d = tableau.d[0] * h;
        for (b, dfdt) in self.b.iter_mut().zip(&self.here.dfdt) {
            *b = d * dfdt;
        }
        statistics.solves += 1;
        self.linear.solve(&self.here.f, &self.b, &mut self.u[..dim]);
        let shared = Shared {
            y: &self.y,
            dfdt: &self.here.dfdt,
            mass: &self.mass,
            h,
        };
        for stage in 1..tableau.stages {
            let (before, this) = self.u.split_at_mut(stage * dim);
            stages::prepare(
                tableau,
                stage,
                &shared,
                before,
                &mut self.argument,
                &mut self.b,
            );
            // At the end of a segment another piece may begin, and no stage must see it.
            let time = (t + tableau.node[stage] * h).min(last_of_piece(end));
            statistics.rhs += 1;
            if let Err(failure) = segment.system.rhs(time, &self.argument, &mut self.f) {
                return failure.into();
            }
            statistics.solves += 1;
            self.linear.solve(&self.f, &self.b, &mut this[..dim]);
        }
        let error = &self.u[(tableau.stages - 1) * dim..];
        let options = segment.options;
        let verdict = stages::finish(
            &self.y,
            error,
            &options.atol,
            options.rtol,
            &mut self.argument,
        );
        self.attempted = true;
        if verdict.finite.is_empty() {
            let name = self.culprit(segment, t, end, h);
            return Attempt::Unfinished(ShrinkCause::NotFinite { name });
        }
        if verdict.error > 1.0 {
            return Attempt::TooRough(verdict.error);
        }
        let at_end = segment.system.margin(&self.argument);
        let mut goes_over = false;
        let mut turns = None;
        if at_end < f64::INFINITY {
            let system = &mut *segment.system;
            let mut y = std::mem::take(&mut self.f);
            let step = self.dense(t, end);
            let mut found = None;
            if goal == Goal::Crossing {
                goes_over = is_reached(at_end, self.overshot);
            } else {
                found = crossing((t, system.margin(&self.y)), (end, at_end), |at| {
                    step.eval_some(at, system.margin_states(), &mut y);
                    system.margin(&y)
                });
            }
            if found.is_none() {
                step.eval_some(look(t, end), system.turning_states(), &mut y);
                turns = system.turns(&self.y, &y, &self.argument);
            }
            self.f = y;
            if let Some(Crossing { at, overshot }) = found {
                self.overshot = overshot;
                return Attempt::Crosses(at);
            }
        }
        if let Some(i) = segment.system.strays(&self.y, &self.argument).or(turns) {
            let message = format!("{} at {:.3e}", segment.system.name(i), self.argument[i]);
            return Attempt::Unfinished(ShrinkCause::Refused(message));
        }
        if goes_over {
            segment.system.switch();
        }
        if goal != Goal::End {
            statistics.jacobians += 1;
            if let Err(failure) = self.next.evaluate(segment.system, end, &self.argument) {
                return failure.into();
            }
        }
        Attempt::Accepted(verdict.error)
    }

    /// Name of the first state that stopped being finite in the last attempt, found by walking its stages again: the
    /// linear algebra had spread it over all of them.
    fn culprit<S: System>(
        &mut self,
        segment: &mut Segment<'_, S>,
        t: f64,
        end: f64,
        h: f64,
    ) -> String {
        let (tableau, dim) = (self.tableau, self.y.len());
        let broken = |v: &[f64]| v.iter().position(|v| !v.is_finite());
        let shared = Shared {
            y: &self.y,
            dfdt: &self.here.dfdt,
            mass: &self.mass,
            h,
        };
        let mut found = broken(&self.here.f).or(broken(&self.here.dfdt));
        for stage in 1..tableau.stages {
            if found.is_some() {
                break;
            }
            let before = &self.u[..stage * dim];
            stages::prepare(
                tableau,
                stage,
                &shared,
                before,
                &mut self.argument,
                &mut self.b,
            );
            let time = (t + tableau.node[stage] * h).min(last_of_piece(end));
            segment.statistics.rhs += 1;
            let answered = segment
                .system
                .rhs(time, &self.argument, &mut self.f)
                .is_ok();
            found = broken(&self.argument).or(if answered { broken(&self.f) } else { None });
        }
        // Finite all along: the numbers grew too large in the linear algebra.
        segment
            .system
            .name(found.or(broken(&self.u)).map_or(0, |i| i % dim))
    }
}
