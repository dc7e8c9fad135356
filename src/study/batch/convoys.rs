//! Runs in convoys: one on each thread, all of them drawing from one queue.

use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use super::{Job, Runs, Workers, guarded};
use crate::case::Case;
use crate::simulate::{self, Member, Outcome, Port, RunFailure};

/// Results by place in the range.
type Results<R> = Mutex<Vec<Option<Job<R>>>>;

/// Runs the jobs of a range; `None` marks one that was not begun because of `stop`.
pub(super) fn run_range<J: Runs>(
    workers: &Workers,
    range: Range<usize>,
    stop: &AtomicBool,
    jobs: &J,
    tick: &(dyn Fn() + Sync),
) -> Vec<Option<Job<J::Result>>> {
    let results = Mutex::new((0..range.len()).map(|_| None).collect());
    let queue = AtomicUsize::new(range.start);
    let sail = |convoys: usize| {
        let mut quay = Quay {
            jobs,
            range: &range,
            queue: &queue,
            stop,
            results: &results,
            tick,
            // Few runs are shared out evenly: one convoy could take them all while the others idle.
            most: range.len().div_ceil(convoys),
            aboard: Vec::new(),
        };
        // A panic in one run takes those beside it along; they are run again alone, which gives the same bits, and the
        // one to blame names itself. Nothing of a broken convoy is looked at again.
        while catch_unwind(AssertUnwindSafe(|| simulate::run_many(&mut quay))).is_err() {
            for (index, _) in std::mem::take(&mut quay.aboard) {
                let job = guarded(index, &|index| alone(jobs, index));
                quay.put(index, job);
            }
        }
    };
    // One convoy for each thread.
    let fleet = || {
        rayon::broadcast(|convoy| sail(convoy.num_threads()));
    };
    match workers {
        Workers::Shared => fleet(),
        Workers::Own(pool) => pool.install(fleet),
        Workers::Caller => sail(1),
    }
    results
        .into_inner()
        .unwrap_or_else(|broken| broken.into_inner())
}

fn alone<J: Runs>(jobs: &J, index: usize) -> J::Result {
    match jobs.before(index) {
        Ok((member, kept)) => {
            let outcome = simulate::run_on(&member.engine, &member.case, &mut |_| {});
            jobs.after(index, &member.case, kept, outcome)
        }
        Err(result) => result,
    }
}

/// Where a convoy takes its runs from and brings them to.
struct Quay<'a, J: Runs> {
    jobs: &'a J,
    range: &'a Range<usize>,
    queue: &'a AtomicUsize,
    stop: &'a AtomicBool,
    results: &'a Results<J::Result>,
    tick: &'a (dyn Fn() + Sync),
    /// Most runs under way at a time.
    most: usize,
    /// What is kept of the runs under way, by index.
    aboard: Vec<(usize, Option<J::Kept>)>,
}

impl<J: Runs> Quay<'_, J> {
    fn put(&self, index: usize, job: Job<J::Result>) {
        let mut results = match self.results.lock() {
            Ok(results) => results,
            Err(broken) => broken.into_inner(),
        };
        if let Some(place) = results.get_mut(index - self.range.start) {
            *place = Some(job);
        }
        drop(results);
        (self.tick)();
    }
}

impl<J: Runs> Port for Quay<'_, J> {
    fn next(&mut self) -> Option<(usize, Member)> {
        loop {
            if self.aboard.len() >= self.most || self.stop.load(Ordering::Relaxed) {
                return None;
            }
            let index = self.queue.fetch_add(1, Ordering::Relaxed);
            if index >= self.range.end {
                return None;
            }
            self.aboard.push((index, None));
            let found = self.jobs.before(index);
            match found {
                Ok((member, kept)) => {
                    if let Some(last) = self.aboard.last_mut() {
                        last.1 = Some(kept);
                    }
                    return Some((index, member));
                }
                Err(result) => {
                    self.aboard.pop();
                    self.put(index, Ok(result));
                }
            }
        }
    }

    fn done(&mut self, index: usize, case: &Case, outcome: Result<Outcome, RunFailure>) {
        let place = self.aboard.iter().position(|(i, _)| *i == index);
        let kept = place.and_then(|place| self.aboard[place].1.take());
        let Some((place, kept)) = place.zip(kept) else {
            return;
        };
        let result = self.jobs.after(index, case, kept, outcome);
        self.aboard.swap_remove(place);
        self.put(index, Ok(result));
    }
}
