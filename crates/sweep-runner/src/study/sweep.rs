//! Cases in parallel, their rows in order.

use std::any::Any;
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::{Condvar, Mutex, PoisonError};

/// How many rows each thread may be ahead of the first that is not yet done: what bounds the memory.
const AHEAD: usize = 64;

struct Progress<S, E> {
    /// Place in the list of the next case to begin.
    next: usize,
    /// Place of the next row to write.
    written: usize,
    /// Rows that are done before an earlier one.
    waiting: BTreeMap<usize, String>,
    sink: S,
    failed: Option<E>,
    /// What a sink that panicked said; it ends the threads as an error does, and goes on when they are done.
    panicked: Option<Box<dyn Any + Send>>,
}

impl<S, E> Progress<S, E> {
    fn is_over(&self) -> bool {
        self.failed.is_some() || self.panicked.is_some()
    }
}

/// Computes `row` for every case and gives the rows to `sink` in the order of `cases`, each as soon as all before it
/// are there. The rows are the same at any number of threads. Ends at the first error of the sink; once `go_on` is
/// false no further case is begun, and those in hand are finished.
///
/// A panic of `row` becomes the row that `lost` makes; one of `sink` ends all threads and goes on in the caller.
pub fn rows_in_order<E: Send>(
    cases: &[usize],
    threads: usize,
    row: impl Fn(usize) -> String + Sync,
    lost: impl Fn(usize) -> String + Sync,
    go_on: impl Fn() -> bool + Sync,
    sink: impl FnMut(usize, &str) -> Result<(), E> + Send,
) -> Result<(), E> {
    let threads = threads.clamp(1, cases.len().max(1));
    let start =
        Progress { next: 0, written: 0, waiting: BTreeMap::new(), sink, failed: None, panicked: None };
    let (progress, moved) = (Mutex::new(start), Condvar::new());
    let work = || {
        loop {
            let mut p = progress.lock().unwrap_or_else(PoisonError::into_inner);
            while !p.is_over() && p.next < cases.len() && p.next >= p.written + AHEAD * threads {
                p = moved.wait(p).unwrap_or_else(PoisonError::into_inner);
            }
            let place = p.next;
            if p.is_over() || place >= cases.len() || !go_on() {
                return;
            }
            p.next += 1;
            drop(p);
            let case = cases[place];
            let made = catch_unwind(AssertUnwindSafe(|| row(case))).unwrap_or_else(|_| lost(case));
            let mut guard = progress.lock().unwrap_or_else(PoisonError::into_inner);
            let p = &mut *guard;
            p.waiting.insert(place, made);
            while !p.is_over()
                && let Some(text) = p.waiting.remove(&p.written)
            {
                match catch_unwind(AssertUnwindSafe(|| (p.sink)(cases[p.written], &text))) {
                    Ok(done) => p.failed = done.err(),
                    Err(said) => p.panicked = Some(said),
                }
                p.written += 1;
            }
            moved.notify_all();
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..threads {
            scope.spawn(work);
        }
        work();
    });
    let end = progress.into_inner().unwrap_or_else(PoisonError::into_inner);
    if let Some(said) = end.panicked {
        resume_unwind(said);
    }
    end.failed.map_or(Ok(()), Err)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A row that takes longer the more its number is divided by seven.
    fn slow(case: usize) -> String {
        std::thread::sleep(std::time::Duration::from_micros((case % 7) as u64 * 200));
        format!("row {case}\n")
    }

    fn made(threads: usize, cases: &[usize]) -> String {
        let mut text = String::new();
        let sink = |_, row: &str| {
            text += row;
            Ok::<(), ()>(())
        };
        rows_in_order(cases, threads, slow, |_| String::new(), || true, sink).unwrap();
        text
    }

    #[test]
    fn exact_rows_in_order_at_any_number_of_threads() {
        let cases: Vec<usize> = (0..400).rev().collect();
        let told: String = cases.iter().map(|c| format!("row {c}\n")).collect();
        for threads in [1, 2, 8] {
            assert_eq!(made(threads, &cases), told, "{threads} threads");
        }
        assert_eq!(made(4, &[]), "");
    }

    #[test]
    fn exact_an_error_of_the_sink_ends_it_and_a_panic_is_a_row() {
        let cases: Vec<usize> = (0..1000).collect();
        let mut seen = Vec::new();
        let sink = |case, row: &str| {
            seen.push(row.to_string());
            if case == 10 { Err("full") } else { Ok(()) }
        };
        let row = |case| {
            assert!(case != 3, "a case that panics");
            slow(case)
        };
        let lost = |c| format!("lost {c}\n");
        assert_eq!(rows_in_order(&cases, 3, row, lost, || true, sink), Err("full"));
        assert_eq!(seen.len(), 11);
        assert_eq!(seen[3], "lost 3\n");
    }

    #[test]
    fn exact_a_panic_of_the_sink_ends_all_threads() {
        let cases: Vec<usize> = (0..1000).collect();
        for threads in [1, 2] {
            let (ended, end) = std::sync::mpsc::channel();
            let cases = cases.clone();
            std::thread::spawn(move || {
                let sink = |case, _: &str| {
                    assert!(case != 3, "a sink that panics");
                    Ok::<(), ()>(())
                };
                let run = || rows_in_order(&cases, threads, slow, |_| String::new(), || true, sink);
                let _ = ended.send(catch_unwind(AssertUnwindSafe(run)).is_err());
            });
            // 1000 rows take less than a second
            assert_eq!(end.recv_timeout(std::time::Duration::from_secs(30)), Ok(true), "{threads} threads");
        }
    }

    #[test]
    fn exact_cases_in_hand_are_finished_when_it_is_to_stop() {
        use std::sync::atomic::{AtomicUsize, Ordering};
        let cases: Vec<usize> = (0..1000).collect();
        for threads in [1, 4] {
            let begun = AtomicUsize::new(0);
            let row = |case| {
                begun.fetch_add(1, Ordering::SeqCst);
                slow(case)
            };
            let mut text = String::new();
            let sink = |_, row: &str| {
                text += row;
                Ok::<(), ()>(())
            };
            let go_on = || begun.load(Ordering::SeqCst) < 50;
            rows_in_order(&cases, threads, row, |_| String::new(), go_on, sink).unwrap();
            let begun = begun.into_inner();
            assert!((50..50 + threads).contains(&begun), "{begun}");
            assert_eq!(text, (0..begun).map(|c| format!("row {c}\n")).collect::<String>());
        }
    }
}
