//! The one entry for an integration, whatever the method.

use super::dense_step::DenseStep;
use super::explicit::Explicit;
use super::failure::{Failure, Situation};
use super::options::{self, Method, Options, SetupFailure};
use super::rosenbrock::Rosenbrock;
use super::segment::Segment;
use super::statistics::Statistics;
use super::system::System;

/// Integrates a system segment by segment.
///
/// A segment is a stretch on which the right-hand side is smooth; at a jump of the state or of the right-hand side
/// the caller ends a segment, changes the state and starts the next. All workspaces are made once and no step
/// allocates, except with the explicit method and where the linear algebra has to pivot densely (an algebraic or
/// auxiliary row without a diagonal entry, more than 255 unknowns, or an unsound pivot). From one segment to the next
/// only step sizes are carried: the one that fitted the first step after the last jump, or the running one if the
/// state did not change. Algebraic states are brought onto their rows at the start of every segment.
#[derive(Debug)]
pub struct Integrator {
    options: Options,
    statistics: Statistics,
    engine: Engine,
}

#[derive(Debug)]
enum Engine {
    Rosenbrock(Box<Rosenbrock>),
    Explicit(Explicit),
}

impl Integrator {
    /// Checks the options and makes the workspaces.
    ///
    /// # Errors
    /// [`SetupFailure`] when the options do not fit the system.
    pub fn new<S: System>(system: &S, options: Options) -> Result<Self, SetupFailure> {
        options::check(system, &options)?;
        let engine = match options.method {
            Method::Dopri5 => Engine::Explicit(Explicit::default()),
            _ => Engine::Rosenbrock(Box::new(Rosenbrock::new(system, &options))),
        };
        Ok(Self {
            options,
            statistics: Statistics::default(),
            engine,
        })
    }

    /// Advances `y` from `t0` to exactly `t1` and calls `on_step` after every accepted step.
    ///
    /// The system must be the one (or of the same shape as the one) the integrator was made for. With `t1 == t0`
    /// nothing is done.
    ///
    /// # Errors
    /// [`Failure`]; `y` then holds the last accepted state.
    pub fn advance<S: System>(
        &mut self,
        system: &mut S,
        t0: f64,
        t1: f64,
        y: &mut [f64],
        on_step: &mut dyn FnMut(&DenseStep<'_>),
    ) -> Result<(), Failure> {
        self.check_call(system, t0, t1, y)?;
        if t1 == t0 {
            return Ok(());
        }
        self.statistics.segments += 1;
        let mut segment = Segment {
            system,
            options: &self.options,
            statistics: &mut self.statistics,
            t0,
            t1,
        };
        match &mut self.engine {
            Engine::Rosenbrock(engine) => engine.advance(&mut segment, y, on_step),
            Engine::Explicit(engine) => engine.advance(&mut segment, y, on_step),
        }
    }

    /// Counters so far.
    #[must_use]
    pub fn statistics(&self) -> &Statistics {
        &self.statistics
    }

    /// Takes over the counters of a run that was made elsewhere, see [`super::Abreast`].
    pub fn set_statistics(&mut self, statistics: Statistics) {
        self.statistics = statistics;
    }

    /// Sets the counters back.
    pub fn reset_statistics(&mut self) {
        self.statistics = Statistics::default();
    }

    /// Forgets counters and carried steps, so that the next run gives what a new integrator gives; keeps the
    /// workspaces.
    pub fn reset(&mut self) {
        self.reset_statistics();
        match &mut self.engine {
            Engine::Rosenbrock(engine) => engine.reset(),
            Engine::Explicit(engine) => *engine = Explicit::default(),
        }
    }

    /// Options in use.
    #[must_use]
    pub fn options(&self) -> &Options {
        &self.options
    }

    fn check_call<S: System>(
        &self,
        system: &S,
        t0: f64,
        t1: f64,
        y: &[f64],
    ) -> Result<(), Failure> {
        let dim = self.options.atol.len();
        if y.len() != dim || system.dim() != dim {
            let detail = format!(
                "{} values for a system of {}, set up for {dim}",
                y.len(),
                system.dim()
            );
            return Err(Failure::Misuse { detail });
        }
        if !(t0.is_finite() && t1.is_finite() && t1 >= t0) {
            return Err(Failure::Misuse {
                detail: format!("the segment from {t0} to {t1} does not run forwards"),
            });
        }
        match y.iter().position(|v| !v.is_finite()) {
            None => Ok(()),
            Some(i) => Err(Failure::NotFinite {
                at: Situation {
                    time: t0,
                    step: 0.0,
                    worst: Vec::new(),
                },
                name: system.name(i),
            }),
        }
    }
}
