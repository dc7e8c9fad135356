//! Jobs in parallel, results in index order; the only home of `rayon`.
//!
//! A job is a pure function of its index. So that the number of threads changes no result, nothing is summed
//! in parallel: results are put in index order first and reduced serially after.

use std::any::Any;
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use rayon::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};

use crate::case::Case;
use crate::simulate::{Member, Outcome, RunFailure};

mod convoys;

/// Most threads that a batch may ask for.
pub const MAX_THREADS: usize = 256;

/// Jobs a chunk of [`run_reduce`] holds where the caller has no reason for another number: enough to keep
/// many cores busy, few enough that a chunk of whole outcomes fits in memory.
pub const DEFAULT_CHUNK: usize = 64;

/// How a batch runs.
#[derive(Debug, Clone, Copy)]
pub struct BatchOptions<'a> {
    /// Worker threads, 1..=[`MAX_THREADS`], in a pool that lives for the call (1: the caller itself); `None` takes the
    /// shared pool, one thread for each core that the process may use.
    pub threads: Option<usize>,
    /// Once true no further job is begun; jobs already begun are finished.
    pub stop: &'a AtomicBool,
    /// Results held at once by [`run_reduce`], at least 1; [`run_all`] does not read it.
    pub chunk: usize,
}

impl<'a> BatchOptions<'a> {
    /// The shared pool and [`DEFAULT_CHUNK`].
    #[must_use]
    pub const fn new(stop: &'a AtomicBool) -> Self {
        Self {
            threads: None,
            stop,
            chunk: DEFAULT_CHUNK,
        }
    }
}

/// A batch that could not begin.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BatchError {
    /// `threads` outside 1..=[`MAX_THREADS`].
    #[error("{0} threads cannot work; give 1 to {MAX_THREADS}")]
    Threads(usize),
    /// `chunk` is 0.
    #[error("a chunk of 0 jobs gets nothing done; give at least 1")]
    EmptyChunk,
    /// The system refused the threads.
    #[error("the system gave no {threads} threads ({reason}); ask for fewer")]
    Pool {
        /// Threads asked for.
        threads: usize,
        /// What the system said.
        reason: String,
    },
}

/// A job that panicked: a fault in the program, kept from ending the other jobs.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("job {index} broke off inside the program: {message}")]
pub struct JobPanic {
    /// Index of the job.
    pub index: usize,
    /// What the panic said; empty if it carried no text.
    pub message: String,
}

/// A finished job.
pub type Job<R> = Result<R, JobPanic>;

/// How many jobs a [`run_reduce`] handed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tally {
    /// Jobs handed to `reduce`, panicked ones included.
    pub reduced: usize,
    /// Jobs not begun because the batch was stopped.
    pub not_begun: usize,
}

/// Runs `work(0)` to `work(count - 1)` in parallel and returns the results in index order.
///
/// The result is the same for any number of threads. `None` marks a job not begun because the batch was
/// stopped. After each job `progress` is called from a worker thread with the number of finished jobs: each
/// number once, but not always in order. A panic in `work` is caught (its text still goes through the process's
/// panic hook); a panic in `progress` is not.
///
/// # Errors
/// [`BatchError::Threads`] and [`BatchError::Pool`].
pub fn run_all<R: Send>(
    count: usize,
    options: BatchOptions<'_>,
    work: impl Fn(usize) -> R + Sync,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Vec<Option<Job<R>>>, BatchError> {
    let workers = workers(options.threads)?;
    let finished = AtomicUsize::new(0);
    Ok(run_range(&workers, 0..count, options.stop, &work, &|| {
        progress(finished.fetch_add(1, Ordering::Relaxed) + 1)
    }))
}

/// A job that is the run of a case: what it needs before, and what is made of it after.
///
/// Runs of one shape go several at once in the lanes of wide instructions, which changes no result.
pub trait Runs: Sync {
    /// What is kept from before a run to after it.
    type Kept: Send;
    /// The result of a job.
    type Result: Send;

    /// The run of a job; or its result, where there is nothing to run.
    ///
    /// # Errors
    /// The result.
    fn before(&self, index: usize) -> Result<(Member, Self::Kept), Self::Result>;

    /// The result of a job.
    fn after(
        &self,
        index: usize,
        case: &Case,
        kept: Self::Kept,
        outcome: Result<Outcome, RunFailure>,
    ) -> Self::Result;
}

/// As [`run_all`], for jobs that are runs.
///
/// # Errors
/// As [`run_all`].
pub fn run_cases<J: Runs>(
    count: usize,
    options: BatchOptions<'_>,
    jobs: &J,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Vec<Option<Job<J::Result>>>, BatchError> {
    let workers = workers(options.threads)?;
    let finished = AtomicUsize::new(0);
    let tick = || progress(finished.fetch_add(1, Ordering::Relaxed) + 1);
    Ok(convoys::run_range(
        &workers,
        0..count,
        options.stop,
        jobs,
        &tick,
    ))
}

/// As [`run_reduce`], for jobs that are runs.
///
/// # Errors
/// As [`run_reduce`].
pub fn reduce_cases<J: Runs>(
    count: usize,
    options: BatchOptions<'_>,
    jobs: &J,
    reduce: impl FnMut(usize, Job<J::Result>),
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Tally, BatchError> {
    let run = |workers: &Workers, range, tick: &(dyn Fn() + Sync)| {
        convoys::run_range(workers, range, options.stop, jobs, tick)
    };
    reduce_chunks(count, options, run, reduce, progress)
}

/// Runs the jobs chunk after chunk in parallel and hands each result to `reduce`, serially and in index order.
///
/// At most `options.chunk` results are held at once, so memory is flat in `count`. What `reduce` sees depends
/// neither on the threads nor on the chunk. After a stop `reduce` still sees the jobs that were finished, and
/// these can have gaps. `progress` as in [`run_all`].
///
/// # Errors
/// As [`run_all`], and [`BatchError::EmptyChunk`].
pub fn run_reduce<R: Send>(
    count: usize,
    options: BatchOptions<'_>,
    work: impl Fn(usize) -> R + Sync,
    reduce: impl FnMut(usize, Job<R>),
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Tally, BatchError> {
    let run = |workers: &Workers, range, tick: &(dyn Fn() + Sync)| {
        run_range(workers, range, options.stop, &work, tick)
    };
    reduce_chunks(count, options, run, reduce, progress)
}

fn reduce_chunks<R>(
    count: usize,
    options: BatchOptions<'_>,
    run: impl Fn(&Workers, Range<usize>, &(dyn Fn() + Sync)) -> Vec<Option<Job<R>>>,
    mut reduce: impl FnMut(usize, Job<R>),
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Tally, BatchError> {
    if options.chunk == 0 {
        return Err(BatchError::EmptyChunk);
    }
    let workers = workers(options.threads)?;
    let finished = AtomicUsize::new(0);
    let tick = || progress(finished.fetch_add(1, Ordering::Relaxed) + 1);
    let mut reduced = 0;
    let mut begin = 0;
    while begin < count && !options.stop.load(Ordering::Relaxed) {
        let end = begin.saturating_add(options.chunk).min(count);
        let results = run(&workers, begin..end, &tick);
        for (index, result) in (begin..end).zip(results) {
            if let Some(result) = result {
                reduce(index, result);
                reduced += 1;
            }
        }
        begin = end;
    }
    Ok(Tally {
        reduced,
        not_begun: count - reduced,
    })
}

/// Where the jobs of a call run.
enum Workers {
    /// In the shared pool.
    Shared,
    /// In a pool for this call.
    Own(ThreadPool),
    /// On the caller's thread, one after another. A pool of one would let a caller that is itself a worker begin its next
    /// job while it waits: a batch within a batch would then have all its jobs under way at once.
    Caller,
}

fn workers(threads: Option<usize>) -> Result<Workers, BatchError> {
    let Some(threads) = threads else {
        return Ok(Workers::Shared);
    };
    if !(1..=MAX_THREADS).contains(&threads) {
        return Err(BatchError::Threads(threads));
    }
    if threads == 1 {
        return Ok(Workers::Caller);
    }
    ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map(Workers::Own)
        .map_err(|error| BatchError::Pool {
            threads,
            reason: error.to_string(),
        })
}

fn run_range<R: Send>(
    workers: &Workers,
    range: Range<usize>,
    stop: &AtomicBool,
    work: &(impl Fn(usize) -> R + Sync),
    tick: &(dyn Fn() + Sync),
) -> Vec<Option<Job<R>>> {
    let job = |index: usize| {
        if stop.load(Ordering::Relaxed) {
            return None;
        }
        let result = guarded(index, work);
        tick();
        Some(result)
    };
    // Jobs last milliseconds to seconds and differ much: split down to one, or the last ones wait on each other.
    let spread = |range: Range<usize>| {
        let jobs = range.into_par_iter().with_max_len(1);
        jobs.map(job).collect()
    };
    match workers {
        Workers::Shared => spread(range),
        Workers::Own(pool) => pool.install(|| spread(range)),
        Workers::Caller => range.map(job).collect(),
    }
}

/// One job with its panic caught. Nothing of a broken job is looked at again, so no half-changed value can leak.
fn guarded<R>(index: usize, work: &impl Fn(usize) -> R) -> Job<R> {
    catch_unwind(AssertUnwindSafe(|| work(index))).map_err(|payload| JobPanic {
        index,
        message: panic_text(payload.as_ref()),
    })
}

fn panic_text(payload: &(dyn Any + Send)) -> String {
    if let Some(text) = payload.downcast_ref::<&str>() {
        (*text).to_owned()
    } else if let Some(text) = payload.downcast_ref::<String>() {
        text.clone()
    } else {
        String::new()
    }
}
