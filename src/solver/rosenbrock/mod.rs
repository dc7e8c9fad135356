//! The step loop of the Rosenbrock methods.

mod attempt;
mod settle;

use self::attempt::Attempt;
pub(super) use self::attempt::{
    Crossing, Goal, crossing_before, is_reached, last_of_piece, look, outside,
};
use super::control::{self, StepControl};
use super::dense_step::{DenseStep, Inside};
use super::failure::{Failure, ScaledError, ShrinkCause, Situation};
use super::linear::Linear;
use super::options::{Method, Options};
use super::segment::Segment;
use super::system::{RhsFailure, System};
use super::tableau::{RODAS4, RODAS4P, RODAS5P, Tableau};

/// A step that would end within this share of itself before the end of the segment is stretched to it.
pub(super) const STRETCH: f64 = 1.05;
/// The longest step may be passed by the rounding of the times.
pub(super) const ROUNDING: f64 = 1.0 + 1e-9;
/// A step below this share of the time has no digits left (Hairer & Wanner, RODAS).
pub(super) const LAST_DIGITS: f64 = 10.0 * f64::EPSILON;

/// Where a step to a crossing ends: one that lies so near to the start of its step that no digits are left between them is
/// taken a little later.
pub(super) fn apart(t: f64, crossing: f64) -> f64 {
    crossing.max(t + LAST_DIGITS * t.abs())
}

/// Workspaces of one Rosenbrock integration, made once.
#[derive(Debug)]
pub(super) struct Rosenbrock {
    tableau: &'static Tableau,
    linear: Linear,
    control: StepControl,
    /// Slope at the accepted state, and a spare for the next one.
    here: Slope,
    next: Slope,
    y: Vec<f64>,
    /// Argument of the current stage; the new state at the end of the step.
    argument: Vec<f64>,
    f: Vec<f64>,
    /// What a stage adds to the right-hand side.
    b: Vec<f64>,
    /// Stage vectors, one after the other.
    u: Vec<f64>,
    /// 1 for a differential row, 0 for an algebraic one.
    mass: Vec<f64>,
    /// End of the last segment, when it was reached.
    reached: Option<f64>,
    /// How far the step that found the crossing overshot it.
    overshot: f64,
    /// Whether `argument` and the last stage vector hold an attempt of this segment.
    attempted: bool,
}

/// What [`System::jacobian`] gives.
#[derive(Debug)]
struct Slope {
    f: Vec<f64>,
    dfdt: Vec<f64>,
    values: Vec<f64>,
}

impl Slope {
    fn new(dim: usize, entries: usize) -> Self {
        Self {
            f: vec![0.0; dim],
            dfdt: vec![0.0; dim],
            values: vec![0.0; entries],
        }
    }

    fn evaluate<S: System>(&mut self, system: &mut S, t: f64, y: &[f64]) -> Result<(), RhsFailure> {
        system.jacobian(t, y, &mut self.f, &mut self.dfdt, &mut self.values)
    }
}

impl Rosenbrock {
    pub(super) fn new<S: System>(system: &S, options: &Options) -> Self {
        let (dim, entries) = (system.dim(), system.pattern().entries.len());
        let tableau = match options.method {
            Method::Rodas4 => &RODAS4,
            Method::Rodas4P => &RODAS4P,
            Method::Rodas5P | Method::Dopri5 => &RODAS5P,
        };
        Self {
            tableau,
            linear: Linear::new(system.pattern(), |i| system.is_algebraic(i)),
            control: StepControl::new(tableau.embedded_order),
            here: Slope::new(dim, entries),
            next: Slope::new(dim, entries),
            y: vec![0.0; dim],
            argument: vec![0.0; dim],
            f: vec![0.0; dim],
            b: vec![0.0; dim],
            u: vec![0.0; dim * tableau.stages],
            mass: (0..dim)
                .map(|i| if system.is_algebraic(i) { 0.0 } else { 1.0 })
                .collect(),
            reached: None,
            overshot: 0.0,
            attempted: false,
        }
    }

    /// Forgets what earlier segments taught about the step.
    pub(super) fn reset(&mut self) {
        self.control = StepControl::new(self.tableau.embedded_order);
        self.reached = None;
    }

    /// Advances `y` through a segment.
    pub(super) fn advance<S: System>(
        &mut self,
        segment: &mut Segment<'_, S>,
        y: &mut [f64],
        on_step: &mut dyn FnMut(&DenseStep<'_>),
    ) -> Result<(), Failure> {
        let jumped = self.reached.take() != Some(segment.t0) || self.y != *y;
        self.y.copy_from_slice(y);
        self.attempted = false;
        if segment.system.margin(&self.y) < 0.0 {
            segment.system.switch();
        }
        self.settle(segment)?;
        let length = segment.t1 - segment.t0;
        let longest = segment.options.max_step.min(length);
        let h = match self
            .control
            .begin(jumped, length)
            .or(segment.options.first_step)
        {
            Some(h) => h,
            None => self.first_guess(segment, longest),
        };
        let outcome = self.run(segment, h, on_step);
        y.copy_from_slice(&self.y);
        if outcome.is_ok() {
            self.reached = Some(segment.t1);
        }
        outcome
    }

    fn run<S: System>(
        &mut self,
        segment: &mut Segment<'_, S>,
        mut h: f64,
        on_step: &mut dyn FnMut(&DenseStep<'_>),
    ) -> Result<(), Failure> {
        let mut t = segment.t0;
        let mut cause = ShrinkCause::Error;
        let mut crossing = None;
        for _ in 0..segment.options.max_steps {
            let left = segment.t1 - t;
            let longest = segment.options.max_step;
            let wanted = h.min(longest);
            // The last two steps share what is left, so that none is a splinter.
            let last = wanted * STRETCH >= left && left <= longest * ROUNDING;
            let (goal, step, end) = match crossing.take() {
                Some(at) => {
                    let at = apart(t, at);
                    (Goal::Crossing, at - t, at)
                }
                None if last => (Goal::End, left, segment.t1),
                None => {
                    let step = wanted.min(0.5 * left);
                    (Goal::Step, step, t + step)
                }
            };
            if h < LAST_DIGITS * t.abs() || h < f64::MIN_POSITIVE {
                return Err(Failure::StepTooSmall {
                    at: self.situation(segment, t, step),
                    cause,
                });
            }
            let why = match self.attempt(segment, t, end, step, goal) {
                Attempt::Accepted(error) => {
                    let tried = h;
                    h = self
                        .control
                        .accept(step, error, step < wanted || goal != Goal::Step);
                    if goal == Goal::Crossing {
                        // The longer step had been within tolerance too.
                        h = h.max(tried);
                    }
                    segment.statistics.accept(step);
                    on_step(&self.dense(t, end));
                    std::mem::swap(&mut self.y, &mut self.argument);
                    if goal == Goal::End || end >= segment.t1 {
                        return Ok(());
                    }
                    std::mem::swap(&mut self.here, &mut self.next);
                    t = end;
                    continue;
                }
                Attempt::Crosses(at) => {
                    segment.statistics.crossings += 1;
                    crossing = Some(at);
                    continue;
                }
                Attempt::TooRough(error) => {
                    segment.statistics.rejected_error += 1;
                    h = self.control.reject(step, error);
                    cause = ShrinkCause::Error;
                    continue;
                }
                Attempt::Unfinished(why) => why,
                Attempt::Hopeless(message) => {
                    return Err(Failure::RightHandSide {
                        at: self.situation(segment, t, step),
                        message,
                    });
                }
            };
            match why {
                ShrinkCause::Singular => segment.statistics.rejected_singular += 1,
                _ => segment.statistics.rejected_rhs += 1,
            }
            h = self.control.refuse(step);
            cause = why;
        }
        Err(Failure::TooManySteps {
            at: self.situation(segment, t, h),
            limit: segment.options.max_steps,
        })
    }

    /// The step just attempted, from inside.
    fn dense(&self, start: f64, end: f64) -> DenseStep<'_> {
        DenseStep {
            start,
            end,
            y_start: &self.y,
            y_end: &self.argument,
            inside: Inside::Rosenbrock {
                tableau: self.tableau,
                stages: &self.u,
            },
        }
    }

    fn first_guess<S: System>(&self, segment: &mut Segment<'_, S>, longest: f64) -> f64 {
        let options = segment.options;
        let allowed = |i: usize| options.atol[i] + options.rtol * self.y[i].abs();
        let weights: Vec<f64> = self
            .mass
            .iter()
            .enumerate()
            .map(|(i, m)| if *m == 0.0 { f64::INFINITY } else { allowed(i) })
            .collect();
        segment.statistics.rhs += 1;
        let at = (segment.t0, longest);
        let system = &mut *segment.system;
        control::first_guess(
            &mut |t, y, dy| system.rhs(t, y, dy).is_ok(),
            at,
            options.method.order(),
            &self.y,
            &self.here.f,
            &weights,
        )
    }

    fn situation<S: System>(&self, segment: &Segment<'_, S>, time: f64, step: f64) -> Situation {
        let (options, dim) = (segment.options, self.y.len());
        let mut worst = Vec::new();
        if self.attempted {
            let last = &self.u[(self.tableau.stages - 1) * dim..];
            let allowed = |i: usize| {
                options.atol[i] + options.rtol * self.y[i].abs().max(self.argument[i].abs())
            };
            let mut scaled: Vec<(usize, f64)> = (0..dim)
                .map(|i| (i, (last[i] / allowed(i)).abs()))
                .collect();
            scaled.sort_by(|a, b| b.1.total_cmp(&a.1));
            let three = scaled.into_iter().take(3);
            worst = three
                .map(|(i, scaled)| ScaledError {
                    name: segment.system.name(i),
                    scaled,
                })
                .collect();
        }
        Situation { time, step, worst }
    }
}
