//! An explicit method from a library behind the same facade: an independent check on non-stiff systems.
//!
//! The library's habits are met here: every segment runs from 0; states are scaled so that one absolute tolerance
//! serves all; a refused right-hand side is told by numbers that are not numbers, which makes the library shorten
//! its step, and is kept aside; only accepted steps are taken from it, its own output grid never.

use std::cell::RefCell;

use ode_solvers::dop_shared::IntegrationError;
use ode_solvers::{DVector, Dopri5, OutputType, System as LibrarySystem};

use super::control;
use super::dense_step::{DenseStep, Inside};
use super::failure::{Failure, ShrinkCause, Situation};
use super::segment::Segment;
use super::system::{RhsFailure, System};

/// Share of the steps allowed that a segment may take before it is given up for stiffness. Every living digester is stiff;
/// the check by an explicit method is worth its time all the same, as long as it comes to an end.
const PATIENCE: f64 = 0.1;
/// Steps are bound by stability, not by their error, where on average they are longer than the fastest decay among them
/// (the method's limit is 3.3 times as long, Hairer & Wanner, IV.2, and steps swing about it).
const BOUND: f64 = 1.0;
/// The library's own test for stiffness asks for fifteen steps beyond the limit without six below, which a step that swings
/// about the limit never shows; it is not made.
const NO_TEST: u32 = u32::MAX;
/// The library keeps every step until it ends, so it is ended and taken up again after so many.
const CHUNK: u64 = 10_000;

/// What is kept from one segment to the next.
#[derive(Debug, Default)]
pub(super) struct Explicit {
    /// First step of the last segment.
    restart: Option<f64>,
}

/// The system in scaled states and segment time, as the library wants it.
struct Scaled<'a, 's, S> {
    t0: f64,
    t1: f64,
    unit: &'a [f64],
    inner: &'a RefCell<Inner<'s, S>>,
}

struct Inner<'s, S> {
    system: &'s mut S,
    y: Vec<f64>,
    dy: Vec<f64>,
    calls: u64,
    refused: Option<String>,
    fatal: Option<String>,
}

impl<S: System> LibrarySystem<f64, DVector<f64>> for Scaled<'_, '_, S> {
    fn system(&self, x: f64, scaled: &DVector<f64>, slope: &mut DVector<f64>) {
        let inner = &mut *self.inner.borrow_mut();
        // What follows from a stage that was refused is not to be asked about again.
        if scaled.iter().any(|v| !v.is_finite()) {
            slope.fill(f64::NAN);
            return;
        }
        inner
            .y
            .iter_mut()
            .zip(scaled.iter())
            .zip(self.unit)
            .for_each(|((y, v), unit)| *y = v * unit);
        inner.calls += 1;
        let answer = if inner.fatal.is_some() {
            Err(RhsFailure::Recoverable(String::new()))
        } else {
            inner
                .system
                .rhs((self.t0 + x).min(self.t1), &inner.y, &mut inner.dy)
        };
        match answer {
            Ok(()) => {
                slope
                    .iter_mut()
                    .zip(&inner.dy)
                    .zip(self.unit)
                    .for_each(|((s, dy), unit)| *s = dy / unit);
                return;
            }
            Err(RhsFailure::Recoverable(message)) => inner.refused = Some(message),
            Err(RhsFailure::Fatal(message)) => inner.fatal = Some(message),
        }
        slope.fill(f64::NAN);
    }
}

impl Explicit {
    /// Advances `y` through a segment.
    pub(super) fn advance<S: System>(
        &mut self,
        segment: &mut Segment<'_, S>,
        y: &mut [f64],
        on_step: &mut dyn FnMut(&DenseStep<'_>),
    ) -> Result<(), Failure> {
        let Segment {
            system,
            options,
            statistics,
            t0,
            t1,
        } = segment;
        let (t0, t1) = (*t0, *t1);
        let at = |time: f64, step: f64| Situation {
            time,
            step,
            worst: Vec::new(),
        };
        let dim = y.len();
        let mut slope = vec![0.0; dim];
        statistics.rhs += 1;
        if let Err(RhsFailure::Recoverable(message) | RhsFailure::Fatal(message)) =
            system.rhs(t0, y, &mut slope)
        {
            return Err(Failure::RightHandSide {
                at: at(t0, 0.0),
                message,
            });
        }
        let longest = options.max_step.min(t1 - t0);
        let first = match self.restart.or(options.first_step) {
            Some(step) => step.min(longest),
            None => {
                let weights: Vec<f64> = options
                    .atol
                    .iter()
                    .zip(&*y)
                    .map(|(atol, y)| atol + options.rtol * y.abs())
                    .collect();
                statistics.rhs += 1;
                control::first_guess(
                    &mut |t, y, dy| system.rhs(t, y, dy).is_ok(),
                    (t0, longest),
                    options.method.order(),
                    y,
                    &slope,
                    &weights,
                )
            }
        };

        // In these units the absolute tolerance of every state equals the relative one.
        let unit: Vec<f64> = options
            .atol
            .iter()
            .map(|atol| atol / options.rtol)
            .collect();
        let (mut next, mut slope_next) = (vec![0.0; dim], vec![0.0; dim]);
        let (mut time, mut step) = (t0, first);
        let mut taken = 0;
        loop {
            let limit = CHUNK.min(options.max_steps - taken);
            let start = DVector::from_iterator(dim, y.iter().zip(&unit).map(|(y, unit)| y / unit));
            let inner = Inner {
                system: &mut **system,
                y: y.to_vec(),
                dy: slope.clone(),
                calls: 0,
                refused: None,
                fatal: None,
            };
            let cell = RefCell::new(inner);
            let origin = time;
            let mut library = Dopri5::from_param(
                Scaled {
                    t0: origin,
                    t1,
                    unit: &unit,
                    inner: &cell,
                },
                0.0,
                t1 - origin,
                t1 - origin,
                start,
                options.rtol,
                options.rtol,
                0.9,
                0.04,
                0.2,
                10.0,
                longest,
                step,
                // At most a chunk.
                limit as u32,
                NO_TEST,
                OutputType::Sparse,
            );
            let outcome = library.integrate();
            let (times, states) = library.results().get();
            let (times, states) = (times.clone(), states.clone());
            drop(library);
            let Inner {
                system,
                calls,
                refused,
                fatal,
                ..
            } = cell.into_inner();
            statistics.rhs += calls;

            let mut rate: f64 = 0.0;
            for (i, state) in states.iter().enumerate().skip(1) {
                let end = if outcome.is_ok() && i + 1 == states.len() {
                    t1
                } else {
                    origin + times[i]
                };
                next.iter_mut()
                    .zip(state.iter())
                    .zip(&unit)
                    .for_each(|((y, v), unit)| *y = v * unit);
                if let Some(bad) = next.iter().position(|v| !v.is_finite()) {
                    let cause = ShrinkCause::NotFinite {
                        name: system.name(bad),
                    };
                    return Err(Failure::StepTooSmall {
                        at: at(time, step),
                        cause,
                    });
                }
                statistics.rhs += 1;
                if let Err(RhsFailure::Recoverable(message) | RhsFailure::Fatal(message)) =
                    system.rhs(end, &next, &mut slope_next)
                {
                    return Err(Failure::RightHandSide {
                        at: at(time, step),
                        message,
                    });
                }
                step = end - time;
                rate = rate.max(fastest((y, &next), (&slope, &slope_next), &unit));
                if taken == 0 && i == 1 {
                    self.restart = Some(step);
                }
                statistics.accept(step);
                on_step(&DenseStep {
                    start: time,
                    end,
                    y_start: y,
                    y_end: &next,
                    inside: Inside::Hermite {
                        slope_start: &slope,
                        slope_end: &slope_next,
                    },
                });
                y.copy_from_slice(&next);
                std::mem::swap(&mut slope, &mut slope_next);
                time = end;
            }
            match outcome {
                Ok(stats) => {
                    statistics.rejected_error += u64::from(stats.rejected_steps);
                    return Ok(());
                }
                Err(_) if fatal.is_some() => {
                    return Err(Failure::RightHandSide {
                        at: at(time, step),
                        message: fatal.unwrap_or_default(),
                    });
                }
                Err(IntegrationError::MaxNumStepReached { .. }) => {
                    taken += limit;
                    let left = options.max_steps - taken;
                    let mean = (time - origin) / limit as f64;
                    let patient = (taken as f64) < PATIENCE * options.max_steps as f64;
                    if mean * rate > BOUND && !patient && t1 - time > mean * left as f64 {
                        return Err(Failure::Stiff { at: at(time, step) });
                    }
                    if left > 0 {
                        continue;
                    }
                    return Err(Failure::TooManySteps {
                        at: at(time, step),
                        limit: options.max_steps,
                    });
                }
                Err(IntegrationError::StepSizeUnderflow { .. }) => {
                    let cause = refused.map_or(ShrinkCause::Error, ShrinkCause::Refused);
                    return Err(Failure::StepTooSmall {
                        at: at(time, step),
                        cause,
                    });
                }
                Err(IntegrationError::StiffnessDetected { .. }) => {
                    return Err(Failure::Stiff { at: at(time, step) });
                }
            }
        }
    }
}

/// The fastest decay that a step met \[1/unit of time\], from its ends and the slopes there: where stability bounds the
/// steps, what differs from one to the next is mostly the fastest part.
fn fastest(ends: (&[f64], &[f64]), slopes: (&[f64], &[f64]), unit: &[f64]) -> f64 {
    let distance = |(a, b): (&[f64], &[f64])| {
        let scaled = a.iter().zip(b).zip(unit);
        scaled.map(|((a, b), u)| ((b - a) / u).powi(2)).sum::<f64>()
    };
    (distance(slopes) / distance(ends).max(f64::MIN_POSITIVE)).sqrt()
}
