//! What one lane is about: its stretch, its step, and what the last attempt said.

use super::Stretch;
use crate::solver::control::StepControl;
use crate::solver::options::{Method, Options};
use crate::solver::rosenbrock::{Crossing, Goal, LAST_DIGITS, ROUNDING, STRETCH, apart};
use crate::solver::statistics::Statistics;
use crate::solver::tableau::Tableau;

/// What a lane does at present.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum State {
    /// Nothing more to do.
    Idle,
    /// It waits for the slope at the start of a stretch.
    Starting,
    /// On its way.
    Running,
}

/// One lane.
#[derive(Debug)]
pub(super) struct Task {
    pub(super) state: State,
    pub(super) stretch: Stretch,
    pub(super) control: StepControl,
    embedded_order: u32,
    /// End of the last stretch and the state there, when it was reached.
    reached: Option<f64>,
    pub(super) jumped: bool,
    pub(super) max_step: f64,
    max_steps: u64,
    pub(super) first_step: Option<f64>,
    pub(super) t: f64,
    /// Step wanted next.
    pub(super) h: f64,
    attempts: u64,
    pub(super) crossing: Option<f64>,
    /// How far the step that found the crossing overshot it.
    pub(super) overshot: f64,
    /// The attempt under way.
    pub(super) goal: Goal,
    pub(super) step: f64,
    pub(super) end: f64,
    wanted: f64,
}

impl Task {
    pub(super) fn new(dim: usize, tableau: &Tableau) -> Self {
        Self {
            state: State::Idle,
            stretch: Stretch {
                y: vec![0.0; dim],
                t0: 0.0,
                t1: 0.0,
                fresh: None,
                statistics: Statistics::default(),
            },
            control: StepControl::new(tableau.embedded_order),
            embedded_order: tableau.embedded_order,
            reached: None,
            jumped: true,
            max_step: 1.0,
            max_steps: 0,
            first_step: None,
            t: 0.0,
            h: 1.0,
            attempts: 0,
            crossing: None,
            overshot: 0.0,
            goal: Goal::Step,
            step: 1.0,
            end: 1.0,
            wanted: 1.0,
        }
    }

    /// Takes the next stretch up; `before` is the state at the end of the one before. Returns the options of a new
    /// run.
    pub(super) fn begin(&mut self, before: impl Iterator<Item = f64>) -> Option<Options> {
        let fresh = self.stretch.fresh.take();
        if let Some(options) = &fresh {
            debug_assert_eq!(options.method, Method::Rodas5P);
            self.control = StepControl::new(self.embedded_order);
            self.reached = None;
            self.max_step = options.max_step;
            self.max_steps = options.max_steps;
            self.first_step = options.first_step;
            self.stretch.statistics = Statistics::default();
        }
        let carried = self.reached.take() == Some(self.stretch.t0);
        self.jumped = !carried || !before.eq(self.stretch.y.iter().copied());
        self.state = State::Starting;
        self.stretch.statistics.segments += 1;
        fresh
    }

    /// Length of the stretch.
    pub(super) fn length(&self) -> f64 {
        self.stretch.t1 - self.stretch.t0
    }

    /// Sets out with a first step.
    pub(super) fn set_out(&mut self, h: f64) {
        self.state = State::Running;
        self.t = self.stretch.t0;
        self.h = h;
        self.attempts = 0;
        self.crossing = None;
    }

    /// Chooses the next step; `false` if there is none left to try.
    pub(super) fn choose(&mut self) -> bool {
        if self.attempts >= self.max_steps {
            return false;
        }
        self.attempts += 1;
        let left = self.stretch.t1 - self.t;
        self.wanted = self.h.min(self.max_step);
        // The last two steps share what is left, so that none is a splinter.
        let last = self.wanted * STRETCH >= left && left <= self.max_step * ROUNDING;
        (self.goal, self.step, self.end) = match self.crossing.take() {
            Some(at) => {
                let at = apart(self.t, at);
                (Goal::Crossing, at - self.t, at)
            }
            None if last => (Goal::End, left, self.stretch.t1),
            None => {
                let step = self.wanted.min(0.5 * left);
                (Goal::Step, step, self.t + step)
            }
        };
        self.h >= LAST_DIGITS * self.t.abs() && self.h >= f64::MIN_POSITIVE
    }

    /// Notes an accepted step; returns whether the stretch is done.
    pub(super) fn accept(&mut self, error: f64) -> bool {
        let tried = self.h;
        let cut = self.step < self.wanted || self.goal != Goal::Step;
        self.h = self.control.accept(self.step, error, cut);
        if self.goal == Goal::Crossing {
            // The longer step had been within tolerance too.
            self.h = self.h.max(tried);
        }
        self.stretch.statistics.accept(self.step);
        self.t = self.end;
        self.goal == Goal::End || self.end >= self.stretch.t1
    }

    /// The stretch is done.
    pub(super) fn arrive(&mut self) {
        self.reached = Some(self.stretch.t1);
    }

    pub(super) fn reject(&mut self, error: f64) {
        self.stretch.statistics.rejected_error += 1;
        self.h = self.control.reject(self.step, error);
    }

    pub(super) fn refuse(&mut self) {
        self.stretch.statistics.rejected_rhs += 1;
        self.h = self.control.refuse(self.step);
    }

    pub(super) fn crosses(&mut self, found: Crossing) {
        self.stretch.statistics.crossings += 1;
        self.crossing = Some(found.at);
        self.overshot = found.overshot;
    }
}
