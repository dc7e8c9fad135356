//! The step loop of the Rosenbrock methods.

use super::control::{self, StepControl};
use super::dense_step::{DenseStep, Inside};
use super::failure::{Failure, ScaledError, ShrinkCause, Situation};
use super::linear::Linear;
use super::options::{Method, Options};
use super::stages::{self, Block, Shared};
use super::statistics::Statistics;
use super::system::{RhsFailure, System};
use super::tableau::{RODAS4, RODAS4P, RODAS5P, Tableau};

/// A step that would end within this share of itself before the end of the segment is stretched to it.
const STRETCH: f64 = 1.05;

/// Newton steps allowed to balance the algebraic rows after a jump; they converge quadratically.
const SETTLING_STEPS: u32 = 30;
/// Algebraic states count as balanced when the next Newton step is below this share of their tolerance.
const SETTLED: f64 = 1e-3;
/// Reciprocal step, in segments, in which no differential state can move.
const STANDSTILL: f64 = 1e12;

/// Workspaces of one Rosenbrock integration, made once.
#[derive(Debug)]
pub(super) struct Rosenbrock {
    tableau: &'static Tableau,
    dim: usize,
    linear: Linear,
    control: StepControl,
    /// Jacobian, time derivative and right-hand side at the accepted state, and a spare for the next one.
    here: Slope,
    next: Slope,
    y: Vec<Block>,
    /// Argument of the current stage; the new state at the end of the step.
    argument: Vec<Block>,
    f: Vec<f64>,
    b: Vec<Block>,
    u: Vec<Block>,
    atol: Vec<Block>,
    mass: Vec<Block>,
    /// End of the last segment, when it was reached.
    reached: Option<f64>,
    /// Whether `argument` and the last stage vector hold an attempt of this segment.
    attempted: bool,
}

/// What [`System::jacobian`] gives.
#[derive(Debug)]
struct Slope {
    f: Vec<f64>,
    dfdt: Vec<Block>,
    values: Vec<f64>,
}

impl Slope {
    fn new(dim: usize, entries: usize) -> Self {
        Self {
            f: vec![0.0; dim],
            dfdt: vec![[0.0; 4]; stages::blocks(dim)],
            values: vec![0.0; entries],
        }
    }

    fn evaluate<S: System>(
        &mut self,
        system: &mut S,
        t: f64,
        y: &[Block],
    ) -> Result<(), RhsFailure> {
        let dim = self.f.len();
        let dfdt = &mut self.dfdt.as_flattened_mut()[..dim];
        system.jacobian(
            t,
            &y.as_flattened()[..dim],
            &mut self.f,
            dfdt,
            &mut self.values,
        )
    }
}

/// How an attempt ended.
enum Attempt {
    /// Error in units of tolerance.
    Done(f64),
    /// Why it could not be finished.
    Unfinished(ShrinkCause),
    /// No step will help.
    Hopeless(String),
}

impl Rosenbrock {
    pub(super) fn new<S: System>(system: &S, options: &Options) -> Self {
        let dim = system.dim();
        let tableau = match options.method {
            Method::Rodas4 => &RODAS4,
            Method::Rodas4P => &RODAS4P,
            Method::Rodas5P | Method::Dopri5 => &RODAS5P,
        };
        let blocks = stages::blocks(dim);
        let zeros = || vec![[0.0; 4]; blocks];
        let mut atol = vec![[1.0; 4]; blocks];
        atol.as_flattened_mut()[..dim].copy_from_slice(&options.atol);
        let mut mass = zeros();
        for (i, mass) in mass.as_flattened_mut()[..dim].iter_mut().enumerate() {
            *mass = if system.is_algebraic(i) { 0.0 } else { 1.0 };
        }
        let entries = system.pattern().entries.len();
        Self {
            tableau,
            dim,
            linear: Linear::new(system.pattern(), |i| system.is_algebraic(i)),
            control: StepControl::new(tableau.embedded_order),
            here: Slope::new(dim, entries),
            next: Slope::new(dim, entries),
            y: zeros(),
            argument: zeros(),
            f: vec![0.0; dim],
            b: zeros(),
            u: vec![[0.0; 4]; blocks * tableau.stages],
            atol,
            mass,
            reached: None,
            attempted: false,
        }
    }

    /// Advances `y` from `t0` to `t1`, which lies later.
    pub(super) fn advance<S: System>(
        &mut self,
        system: &mut S,
        options: &Options,
        statistics: &mut Statistics,
        (t0, t1): (f64, f64),
        y: &mut [f64],
        on_step: &mut dyn FnMut(&DenseStep<'_>),
    ) -> Result<(), Failure> {
        let jumped = self.reached.take() != Some(t0) || self.y.as_flattened()[..self.dim] != *y;
        self.y.as_flattened_mut()[..self.dim].copy_from_slice(y);
        self.attempted = false;
        self.settle(system, options, statistics, (t0, t1))?;
        let longest = options.max_step.min(t1 - t0);
        let mut h = match self.control.begin(jumped, t1 - t0).or(options.first_step) {
            Some(h) => h.min(longest),
            None => {
                statistics.rhs += 1;
                self.first_guess(system, options, t0, longest)
            }
        };
        let outcome = self.run(system, options, statistics, (t0, t1), &mut h, on_step);
        y.copy_from_slice(&self.y.as_flattened()[..self.dim]);
        if outcome.is_ok() {
            self.reached = Some(t1);
        }
        outcome
    }

    /// Evaluates the slope at the start of a segment, after bringing the algebraic states, which a jump leaves
    /// unbalanced, onto their rows by Newton steps.
    fn settle<S: System>(
        &mut self,
        system: &mut S,
        options: &Options,
        statistics: &mut Statistics,
        (t0, t1): (f64, f64),
    ) -> Result<(), Failure> {
        let algebraic = self.mass.as_flattened()[..self.dim].contains(&0.0);
        let mut change = 0.0;
        for _ in 0..SETTLING_STEPS {
            statistics.jacobians += 1;
            match self.here.evaluate(system, t0, &self.y) {
                Ok(()) => {}
                Err(RhsFailure::Recoverable(_)) if change > 0.0 => {
                    // Half of the way back to the state before.
                    change *= 0.5;
                    self.move_algebraic(-change);
                    continue;
                }
                Err(RhsFailure::Recoverable(message) | RhsFailure::Fatal(message)) => {
                    return Err(Failure::RightHandSide {
                        at: self.situation(system, options, t0, 0.0),
                        message,
                    });
                }
            }
            if !algebraic {
                return Ok(());
            }
            for ((f, here), mass) in self
                .f
                .iter_mut()
                .zip(&self.here.f)
                .zip(self.mass.as_flattened())
            {
                *f = (1.0 - mass) * here;
            }
            self.b.fill([0.0; 4]);
            // So short a step that the differential states stand still.
            let shift = STANDSTILL / (t1 - t0);
            if self
                .linear
                .factor(&self.here.values, shift, statistics)
                .is_err()
            {
                break;
            }
            statistics.solves += 1;
            let step = &mut self.u.as_flattened_mut()[..self.dim];
            self.linear.solve(&self.f, self.b.as_flattened(), step);
            let y = self.y.as_flattened();
            let off = |i: usize| step[i].abs() / (options.atol[i] + options.rtol * y[i].abs());
            let worst = (0..self.dim)
                .filter(|&i| system.is_algebraic(i))
                .map(off)
                .fold(0.0, f64::max);
            if worst < SETTLED {
                return Ok(());
            }
            change = 1.0;
            self.move_algebraic(change);
        }
        let name = (0..self.dim)
            .find(|&i| system.is_algebraic(i))
            .map_or_else(String::new, |i| system.name(i));
        Err(Failure::Unsettled {
            at: self.situation(system, options, t0, 0.0),
            name,
        })
    }

    /// Moves the algebraic states by a share of the first stage vector.
    fn move_algebraic(&mut self, share: f64) {
        let y = self.y.as_flattened_mut().iter_mut();
        for ((y, step), mass) in y
            .zip(self.u.as_flattened())
            .zip(self.mass.as_flattened())
            .take(self.dim)
        {
            *y += share * (1.0 - mass) * step;
        }
    }

    fn run<S: System>(
        &mut self,
        system: &mut S,
        options: &Options,
        statistics: &mut Statistics,
        (t0, t1): (f64, f64),
        h: &mut f64,
        on_step: &mut dyn FnMut(&DenseStep<'_>),
    ) -> Result<(), Failure> {
        let mut t = t0;
        let mut cause = ShrinkCause::Error;
        for _ in 0..options.max_steps {
            let left = t1 - t;
            let wanted = h.min(options.max_step);
            // The last two steps share what is left, so that none is a splinter.
            let last = wanted * STRETCH >= left;
            let step = if last { left } else { wanted.min(0.5 * left) };
            let end = if last { t1 } else { t + step };
            if t + 0.1 * step <= t || step < f64::MIN_POSITIVE {
                return Err(Failure::StepTooSmall {
                    at: self.situation(system, options, t, step),
                    cause,
                });
            }
            match self.attempt(system, options, statistics, t, end, step) {
                Attempt::Done(error) if error > 1.0 => {
                    statistics.rejected_error += 1;
                    cause = ShrinkCause::Error;
                    *h = self.control.reject(step, error);
                    continue;
                }
                Attempt::Done(error) => {
                    if !last {
                        statistics.jacobians += 1;
                        match self.next.evaluate(system, end, &self.argument) {
                            Ok(()) => {}
                            Err(RhsFailure::Recoverable(message)) => {
                                statistics.rejected_rhs += 1;
                                cause = ShrinkCause::Refused(message);
                                *h = self.control.refuse(step);
                                continue;
                            }
                            Err(RhsFailure::Fatal(message)) => {
                                let at = self.situation(system, options, t, step);
                                return Err(Failure::RightHandSide { at, message });
                            }
                        }
                        std::mem::swap(&mut self.here, &mut self.next);
                    }
                    *h = self.control.accept(step, error, step < wanted || last);
                    statistics.accept(step);
                    on_step(&DenseStep {
                        start: t,
                        end,
                        y_start: &self.y.as_flattened()[..self.dim],
                        y_end: &self.argument.as_flattened()[..self.dim],
                        inside: Inside::Rosenbrock {
                            tableau: self.tableau,
                            stages: self.u.as_flattened(),
                            stride: 4 * self.y.len(),
                        },
                    });
                    std::mem::swap(&mut self.y, &mut self.argument);
                    if last {
                        return Ok(());
                    }
                    t = end;
                }
                Attempt::Unfinished(why) => {
                    match why {
                        ShrinkCause::Singular => statistics.rejected_singular += 1,
                        _ => statistics.rejected_rhs += 1,
                    }
                    cause = why;
                    *h = self.control.refuse(step);
                }
                Attempt::Hopeless(message) => {
                    let at = self.situation(system, options, t, step);
                    return Err(Failure::RightHandSide { at, message });
                }
            }
        }
        Err(Failure::TooManySteps {
            at: self.situation(system, options, t, *h),
            limit: options.max_steps,
        })
    }

    /// Tries one step; the new state is left in `argument`.
    fn attempt<S: System>(
        &mut self,
        system: &mut S,
        options: &Options,
        statistics: &mut Statistics,
        t: f64,
        end: f64,
        h: f64,
    ) -> Attempt {
        let (tableau, dim, blocks) = (self.tableau, self.dim, self.y.len());
        if self
            .linear
            .factor(&self.here.values, 1.0 / (h * tableau.gamma), statistics)
            .is_err()
        {
            return Attempt::Unfinished(ShrinkCause::Singular);
        }
        statistics.solves += tableau.stages as u64;
        let d = tableau.d[0] * h;
        for (b, dfdt) in self
            .b
            .as_flattened_mut()
            .iter_mut()
            .zip(self.here.dfdt.as_flattened())
        {
            *b = d * dfdt;
        }
        let first = &mut self.u.as_flattened_mut()[..dim];
        self.linear
            .solve(&self.here.f, self.b.as_flattened(), first);
        let shared = Shared {
            y: &self.y,
            dfdt: &self.here.dfdt,
            mass: &self.mass,
            h,
        };
        for stage in 1..tableau.stages {
            let (before, this) = self.u.split_at_mut(stage * blocks);
            stages::prepare(
                tableau,
                stage,
                &shared,
                before,
                &mut self.argument,
                &mut self.b,
            );
            // Rounding must not carry a stage over the end of a segment, where another piece may begin.
            let time = (t + tableau.node[stage] * h).min(end);
            statistics.rhs += 1;
            match system.rhs(time, &self.argument.as_flattened()[..dim], &mut self.f) {
                Ok(()) => {}
                Err(RhsFailure::Recoverable(message)) => {
                    return Attempt::Unfinished(ShrinkCause::Refused(message));
                }
                Err(RhsFailure::Fatal(message)) => return Attempt::Hopeless(message),
            }
            self.linear.solve(
                &self.f,
                self.b.as_flattened(),
                &mut this.as_flattened_mut()[..dim],
            );
        }
        let last = &self.u[(tableau.stages - 1) * blocks..];
        let verdict = stages::finish(
            &self.y,
            last,
            &self.atol,
            options.rtol,
            dim,
            &mut self.argument,
        );
        self.attempted = true;
        if verdict.finite {
            Attempt::Done(verdict.error)
        } else {
            let found = self.argument.as_flattened().iter().zip(last.as_flattened());
            let i = found
                .take(dim)
                .position(|(y, error)| !(y.is_finite() && error.is_finite()))
                .unwrap_or(0);
            Attempt::Unfinished(ShrinkCause::NotFinite {
                name: system.name(i),
            })
        }
    }

    fn first_guess<S: System>(
        &self,
        system: &mut S,
        options: &Options,
        t: f64,
        longest: f64,
    ) -> f64 {
        let y = &self.y.as_flattened()[..self.dim];
        let weights: Vec<f64> = (0..self.dim)
            .map(|i| {
                if system.is_algebraic(i) {
                    f64::INFINITY
                } else {
                    options.atol[i] + options.rtol * y[i].abs()
                }
            })
            .collect();
        control::first_guess(
            system,
            (t, longest),
            options.method.order(),
            y,
            &self.here.f,
            &weights,
        )
    }

    fn situation<S: System>(
        &self,
        system: &S,
        options: &Options,
        time: f64,
        step: f64,
    ) -> Situation {
        let mut worst = Vec::new();
        if self.attempted {
            let (y, new) = (self.y.as_flattened(), self.argument.as_flattened());
            let last = self.u[(self.tableau.stages - 1) * self.y.len()..].as_flattened();
            let weight = |i: usize| options.atol[i] + options.rtol * y[i].abs().max(new[i].abs());
            let mut scaled: Vec<(usize, f64)> = (0..self.dim)
                .map(|i| (i, (last[i] / weight(i)).abs()))
                .collect();
            scaled.sort_by(|a, b| b.1.total_cmp(&a.1));
            let three = scaled.into_iter().take(3);
            worst = three
                .map(|(i, scaled)| ScaledError {
                    name: system.name(i),
                    scaled,
                })
                .collect();
        }
        Situation { time, step, worst }
    }
}
