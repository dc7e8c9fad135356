//! Batches: same results for any number of threads, stops, panics, memory.

use std::collections::HashSet;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Condvar, Mutex};
use std::thread::ThreadId;
use std::time::Duration;

use marshgas::study::batch::{BatchError, BatchOptions, Job, MAX_THREADS, run_all, run_reduce};

/// A number whose every bit depends on the index.
fn work(index: usize) -> f64 {
    (0..50).fold(index as f64 * 0.37, |x, _| (x * 1.3 + 0.1).sin())
}

fn silent(_: usize) {}

fn options(stop: &AtomicBool, threads: Option<usize>, chunk: usize) -> BatchOptions<'_> {
    BatchOptions {
        threads,
        stop,
        chunk,
    }
}

/// Sum in index order, bit for bit, and the order in which the results came.
fn summed(threads: Option<usize>, chunk: usize, count: usize) -> (u64, Vec<usize>) {
    let stop = AtomicBool::new(false);
    let (mut sum, mut order) = (0.0, Vec::new());
    let tally = run_reduce(
        count,
        options(&stop, threads, chunk),
        work,
        |index, job: Job<f64>| {
            sum += job.unwrap_or(f64::NAN);
            order.push(index);
        },
        &silent,
    );
    let tally = tally.map_or((0, 0), |tally| (tally.reduced, tally.not_begun));
    assert_eq!(tally, (count, 0));
    (sum.to_bits(), order)
}

#[test]
fn results_are_in_index_order_for_any_number_of_threads() {
    let stop = AtomicBool::new(false);
    let expected: Vec<_> = (0..1000).map(|index| Some(Ok(work(index)))).collect();
    for threads in [Some(1), Some(2), Some(7), None] {
        let got = run_all(1000, options(&stop, threads, 1), work, &silent).unwrap();
        assert!(got == expected, "{threads:?} threads");
    }
}

#[test]
fn reduced_sums_do_not_depend_on_threads_or_chunks() {
    let serial: f64 = (0..500).map(work).fold(0.0, |sum, value| sum + value);
    for threads in [Some(1), Some(2), Some(7), None] {
        for chunk in [1, 3, 64, 500, usize::MAX] {
            let (sum, order) = summed(threads, chunk, 500);
            assert_eq!(sum, serial.to_bits(), "{threads:?} threads, chunk {chunk}");
            assert!(order.into_iter().eq(0..500));
        }
    }
}

#[test]
fn a_pool_of_its_own_uses_no_more_threads_than_asked() {
    let stop = AtomicBool::new(false);
    for threads in [1, 3] {
        let seen: Mutex<HashSet<ThreadId>> = Mutex::default();
        run_all(
            200,
            options(&stop, Some(threads), 1),
            |_| {
                seen.lock().unwrap().insert(std::thread::current().id());
            },
            &silent,
        )
        .unwrap();
        let seen = seen.into_inner().unwrap();
        assert!((1..=threads).contains(&seen.len()));
        // One thread is the caller's own; a pool is none of it.
        let own = seen.contains(&std::thread::current().id());
        assert_eq!(own, threads == 1);
    }
}

#[test]
fn a_batch_within_a_batch_begins_no_more_outer_jobs_than_there_are_threads() {
    let stop = AtomicBool::new(false);
    let (under_way, most) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let inner = |_| std::thread::sleep(std::time::Duration::from_millis(1));
    let outer = |_| {
        let now = under_way.fetch_add(1, Ordering::SeqCst) + 1;
        most.fetch_max(now, Ordering::SeqCst);
        run_all(3, options(&stop, Some(1), 1), inner, &silent).unwrap();
        under_way.fetch_sub(1, Ordering::SeqCst);
    };
    run_all(40, options(&stop, Some(2), 1), outer, &silent).unwrap();
    assert!(most.into_inner() <= 2);
}

#[test]
fn two_threads_run_two_jobs_at_the_same_time() {
    let stop = AtomicBool::new(false);
    let (met, arrived) = (Condvar::new(), Mutex::new(0));
    // Each job waits for the other; the limit only keeps a broken batch from hanging.
    let meet = |_| {
        let mut count = arrived.lock().unwrap();
        *count += 1;
        met.notify_all();
        let limit = Duration::from_secs(60);
        let (count, _) = met
            .wait_timeout_while(count, limit, |count| *count < 2)
            .unwrap();
        *count
    };
    let got = run_all(2, options(&stop, Some(2), 1), meet, &silent).unwrap();
    assert_eq!(got, [Some(Ok(2)), Some(Ok(2))]);
}

#[test]
fn progress_says_each_number_once() {
    let stop = AtomicBool::new(false);
    let said = Mutex::new(Vec::new());
    let note = |finished| said.lock().unwrap().push(finished);
    run_all(300, options(&stop, Some(4), 1), work, &note).unwrap();
    run_reduce(300, options(&stop, Some(4), 50), work, |_, _| {}, &note).unwrap();
    let mut said = said.into_inner().unwrap();
    for half in said.chunks_mut(300) {
        half.sort_unstable();
        assert!(half.iter().copied().eq(1..=300));
    }
}

#[test]
fn a_stopped_batch_begins_nothing_more_and_keeps_what_is_done() {
    for threads in [1, 2, 7] {
        let stop = AtomicBool::new(false);
        let begun = Mutex::new(0);
        let got = run_all(
            1000,
            options(&stop, Some(threads), 1),
            |index| {
                let mut begun = begun.lock().unwrap();
                *begun += 1;
                if *begun == 20 {
                    stop.store(true, Ordering::SeqCst);
                }
                work(index)
            },
            &silent,
        )
        .unwrap();
        let done = got.iter().flatten().count();
        assert_eq!(done, begun.into_inner().unwrap());
        // Each other thread can have looked at the flag just before and then wait at the lock with one more job.
        assert!(
            (20..20 + threads).contains(&done),
            "{done}, {threads} threads"
        );
        for (index, job) in got.into_iter().enumerate() {
            assert!(job.is_none_or(|job| job == Ok(work(index))));
        }
    }
}

#[test]
fn a_batch_stopped_before_it_begins_calls_nothing() {
    let stop = AtomicBool::new(true);
    let never = |index: usize| -> usize { unreachable!("job {index} was begun") };
    let all = run_all(50, options(&stop, Some(2), 8), never, &silent).unwrap();
    assert_eq!(all, vec![None; 50]);
    let tally = run_reduce(50, options(&stop, None, 8), never, |_, _| {}, &silent).unwrap();
    assert_eq!((tally.reduced, tally.not_begun), (0, 50));
}

#[test]
fn a_stop_between_chunks_hands_over_whole_chunks() {
    let stop = AtomicBool::new(false);
    let mut order = Vec::new();
    let tally = run_reduce(
        100,
        options(&stop, Some(3), 10),
        work,
        |index, _| {
            order.push(index);
            if index == 39 {
                stop.store(true, Ordering::SeqCst);
            }
        },
        &silent,
    )
    .unwrap();
    assert_eq!((tally.reduced, tally.not_begun), (40, 60));
    assert!(order.into_iter().eq(0..40));
}

#[test]
fn a_panic_stays_in_its_job() {
    let stop = AtomicBool::new(false);
    let fragile = |index: usize| -> usize {
        match index {
            13 => panic!("job {index} meant to break"),
            // The same without the noise of the panic hook, with the other kinds of payload.
            27 => resume_unwind(Box::new("plain text")),
            41 => resume_unwind(Box::new(7_u8)),
            _ => index * 2,
        }
    };
    for threads in [1, 3] {
        let got = run_all(60, options(&stop, Some(threads), 1), fragile, &silent).unwrap();
        for (index, job) in got.into_iter().enumerate() {
            let job = job.unwrap();
            match index {
                13 | 27 | 41 => {
                    let panic = job.unwrap_err();
                    assert_eq!(panic.index, index);
                    let text = match index {
                        13 => "job 13 meant to break",
                        27 => "plain text",
                        _ => "",
                    };
                    assert_eq!(panic.message, text);
                }
                _ => assert_eq!(job.unwrap(), index * 2),
            }
        }
    }
}

/// Counts how many of itself are alive.
struct Counted<'a>(&'a AtomicUsize);

impl Drop for Counted<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

#[test]
fn a_reduction_never_holds_more_than_a_chunk() {
    let stop = AtomicBool::new(false);
    let (alive, most) = (AtomicUsize::new(0), AtomicUsize::new(0));
    run_reduce(
        500,
        options(&stop, Some(4), 16),
        |_| {
            most.fetch_max(alive.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
            Counted(&alive)
        },
        |_, job| drop(job),
        &silent,
    )
    .unwrap();
    assert_eq!(alive.load(Ordering::SeqCst), 0);
    assert_eq!(most.load(Ordering::SeqCst), 16);
}

#[test]
fn empty_batches_and_bad_options() {
    let stop = AtomicBool::new(false);
    assert!(
        run_all(0, BatchOptions::new(&stop), work, &silent)
            .unwrap()
            .is_empty()
    );
    for threads in [0, MAX_THREADS + 1] {
        let error = run_all(5, options(&stop, Some(threads), 1), work, &silent).unwrap_err();
        assert_eq!(error, BatchError::Threads(threads));
    }
    let error = run_reduce(5, options(&stop, None, 0), work, |_, _| {}, &silent).unwrap_err();
    assert_eq!(error, BatchError::EmptyChunk);
}
