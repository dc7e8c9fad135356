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
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Edge {
    /// The last value that survives; `None` if not even the first tried did.
    pub(super) survives: Option<f64>,
    /// The first value that does not; `None` if all tried survive.
    pub(super) fails: Option<f64>,
    /// Every value of the first round and whether it survived, from safe to unsafe.
    pub(super) tried: Vec<(f64, bool)>,
}

impl Edge {
    /// Whether nothing survives beyond the first of the first round that does not.
    pub(super) fn is_monotone(&self) -> bool {
        self.tried.is_sorted_by(|a, b| a.1 >= b.1)
    }
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
        let tried: Vec<(f64, bool)> = values.iter().copied().zip(verdicts.clone()).collect();
        let Some(first) = verdicts.iter().position(|ok| !ok) else {
            return Ok(Edge {
                survives: values.last().copied(),
                fails: None,
                tried,
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
            tried,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edge(survives: impl Fn(f64) -> bool + Sync) -> Edge {
        let stop = AtomicBool::new(false);
        let crew = Crew::new(BatchOptions::new(&stop), &|_| {});
        let ask = |v| Ok(survives(v));
        crew.edge(0.0, &[1.0, 2.0, 4.0, 8.0], 2, ask).unwrap()
    }

    #[test]
    fn the_edge_is_closed_in_on_and_what_was_tried_is_kept() {
        let found = edge(|v| v < 3.3);
        let (survives, fails) = (found.survives.unwrap(), found.fails.unwrap());
        assert!(survives < 3.3 && 3.3 <= fails && fails - survives < 0.1);
        assert!(found.is_monotone());
        assert_eq!(
            found.tried,
            [(1.0, true), (2.0, true), (4.0, false), (8.0, false)]
        );
    }

    #[test]
    fn survival_beyond_a_failure_is_told() {
        let found = edge(|v| !(1.5..3.0).contains(&v));
        assert!(!found.is_monotone());
        assert!(found.fails.unwrap() <= 2.0);
    }
}
