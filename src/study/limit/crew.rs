//! Many trials at once, with one progress and one way to stop.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

use super::failure::LimitFailure;
use crate::study::batch::{BatchOptions, run_all};

/// Points between the ends of an interval in each round of a search.
const WITHIN: usize = 4;

/// Who does the trials.
pub(super) struct Crew<'a> {
    options: BatchOptions<'a>,
    progress: &'a (dyn Fn(f64) + Sync),
    /// Share of the work done before the present batch, and the share it holds.
    share: Mutex<(f64, f64)>,
}

/// The edge between what survives and what does not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    /// The last value that survives; `None` if not even the first tried did.
    pub(super) survives: Option<f64>,
    /// The first value that does not; `None` if all tried survive.
    pub(super) fails: Option<f64>,
}

impl<'a> Crew<'a> {
    pub(super) fn new(options: BatchOptions<'a>, progress: &'a (dyn Fn(f64) + Sync)) -> Self {
        Self {
            options,
            progress,
            share: Mutex::new((0.0, 0.0)),
        }
    }

    pub(super) fn stop(&self) -> &'a AtomicBool {
        self.options.stop
    }

    /// What follows is this share of the whole work.
    pub(super) fn next_part(&self, share: f64) {
        if let Ok(mut at) = self.share.lock() {
            at.0 += at.1;
            at.1 = share;
            (self.progress)(at.0);
        }
    }

    /// Does all jobs and returns their results in order, or the first failure in that order.
    pub(super) fn all<R: Send>(
        &self,
        count: usize,
        work: impl Fn(usize) -> Result<R, LimitFailure> + Sync,
    ) -> Result<Vec<R>, LimitFailure> {
        let (done, part) = self.share.lock().map(|at| *at).unwrap_or_default();
        let results = run_all(count, self.options, work, &|finished| {
            (self.progress)(done + part * finished as f64 / count.max(1) as f64);
        })?;
        if self.options.stop.load(Ordering::Relaxed) {
            return Err(LimitFailure::Stopped);
        }
        results
            .into_iter()
            .map(|job| job.ok_or(LimitFailure::Stopped)??)
            .collect()
    }

    /// The edge of survival: all `values` first, ordered from safe to unsafe, then `rounds` times four more between
    /// the last that survives and the first that does not. `safe` survives without a trial.
    pub(super) fn edge(
        &self,
        safe: f64,
        values: &[f64],
        rounds: usize,
        survives: impl Fn(f64) -> Result<bool, LimitFailure> + Sync,
    ) -> Result<Edge, LimitFailure> {
        let verdicts = self.all(values.len(), |i| survives(values[i]))?;
        let Some(first) = verdicts.iter().position(|ok| !ok) else {
            return Ok(Edge {
                survives: values.last().copied(),
                fails: None,
            });
        };
        let mut low = if first == 0 { safe } else { values[first - 1] };
        let mut any = first > 0;
        let mut high = values[first];
        for _ in 0..rounds {
            let between: Vec<f64> = (1..=WITHIN)
                .map(|i| low + (high - low) * i as f64 / (WITHIN + 1) as f64)
                .collect();
            let verdicts = self.all(WITHIN, |i| survives(between[i]))?;
            match verdicts.iter().position(|ok| !ok) {
                Some(0) => high = between[0],
                Some(i) => (low, high, any) = (between[i - 1], between[i], true),
                None => (low, any) = (between[WITHIN - 1], true),
            }
        }
        Ok(Edge {
            survives: any.then_some(low),
            fails: Some(high),
        })
    }
}
