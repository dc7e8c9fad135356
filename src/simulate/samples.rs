//! What is read of a vessel within one segment.

use crate::digester::{Layout, Reader, Reading, Tank, TemperatureCourse};
use crate::solver::{DenseStep, RhsFailure};
use crate::units::kelvin;

/// When to read, within one segment.
#[derive(Debug, Clone, Copy)]
pub struct Clock {
    /// Interval of the finer trajectory \[d\].
    pub trace_step_d: f64,
}

/// What is read within one segment: at its start, at times between, and at its end. Kept from one segment to the next so
/// that none allocates.
#[derive(Debug, Default)]
pub(super) struct Samples {
    /// (time, whether it ends a day) of the places.
    times: Vec<(f64, bool)>,
    /// The states there, one after the other.
    states: Vec<f64>,
    /// Whether each is titrated.
    titrated: Vec<bool>,
    readings: Vec<Reading>,
    /// Length of a state.
    dim: usize,
    /// The places filled.
    filled: usize,
    /// Whether the first place was already told as the last of the segment before.
    told: bool,
}

impl Samples {
    /// Sampling times from `t0` to `t1` \[d\], by index, so that no end point is lost to rounding. `told`: a start where
    /// the segment before ended need not be told again.
    pub(super) fn plan(&mut self, (t0, t1): (f64, f64), clock: &Clock, y: &[f64], told: bool) {
        self.dim = y.len();
        self.told = told && self.last() == Some(y);
        let times = &mut self.times;
        times.clear();
        self.titrated.clear();
        self.titrated.push(false);
        let first = (t0 / clock.trace_step_d).floor() as i64 + 1;
        let mut i = first;
        while (i as f64) * clock.trace_step_d < t1 - 1e-9 {
            times.push((i as f64 * clock.trace_step_d, false));
            i += 1;
        }
        let mut day = t0.floor() + 1.0;
        while day <= t1 + 1e-12 {
            times.push((day, true));
            day += 1.0;
        }
        times.sort_by(|a, b| a.0.total_cmp(&b.0));
        times.insert(0, (t0, false));
        self.states.resize(self.dim * (times.len() + 1), 0.0);
        self.states[..self.dim].copy_from_slice(y);
        self.filled = 1;
    }

    /// The last state of the segment before.
    fn last(&self) -> Option<&[f64]> {
        self.states
            .chunks_exact(self.dim)
            .nth(self.filled.checked_sub(1)?)
    }

    /// The state at the start.
    pub(super) fn first(&self) -> &[f64] {
        &self.states[..self.dim]
    }

    /// Whether there is something to be taken in a step that ends at `end` \[d\].
    pub(super) fn wants(&self, end: f64) -> bool {
        let next = self.times.get(self.filled);
        next.is_some_and(|next| reached(next.0, end))
    }

    /// Takes what lies in a step.
    #[inline(always)]
    pub(super) fn take(
        &mut self,
        layout: &Layout,
        course: Option<&TemperatureCourse>,
        step: &DenseStep<'_>,
    ) {
        while let Some(&(t, is_day)) = self.times.get(self.filled) {
            if !reached(t, step.end()) {
                break;
            }
            self.titrated.push(is_day);
            let state = &mut self.states[self.filled * self.dim..][..self.dim];
            step.eval(t.min(step.end()), state);
            // A given course needs no interpolation between steps.
            if let Some(course) = course {
                state[layout.temperature()] = kelvin(course.at(t).0);
            }
            self.filled += 1;
        }
    }

    /// Takes the state at the end.
    pub(super) fn end(&mut self, t1: f64, y: &[f64]) {
        self.times.truncate(self.filled);
        self.times.push((t1, false));
        self.titrated.push(false);
        self.states[self.filled * self.dim..][..self.dim].copy_from_slice(y);
        self.filled += 1;
    }

    /// Reads all that was taken.
    ///
    /// # Errors
    /// The time at which a state allows no pH, and why.
    pub(super) fn read(
        &mut self,
        reader: &mut Reader,
        tank: &Tank,
    ) -> Result<(), (f64, RhsFailure)> {
        let states = &self.states[..self.filled * self.dim];
        let read = reader.read(tank, states, &self.titrated, &mut self.readings);
        read.map_err(|(i, failure)| (self.times[i].0, failure))
    }

    /// (time, whether it ends a day, state, reading) of all that is to be told.
    pub(super) fn readings(&self) -> impl Iterator<Item = (f64, bool, &[f64], &Reading)> {
        let states = self.states.chunks_exact(self.dim);
        let all = self.times.iter().zip(states).zip(&self.readings);
        let all = all.map(|((&(t, is_day), y), reading)| (t, is_day, y, reading));
        all.skip(usize::from(self.told))
    }
}

/// Whether a step that ends at `end` comes as far as a time \[d\], but for rounding.
fn reached(time: f64, end: f64) -> bool {
    time <= end + 1e-12
}
