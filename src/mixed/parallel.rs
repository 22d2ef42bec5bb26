//! Spreads the same work on many items over all cores. Results keep their order, so that no answer
//! depends on the number of cores.
//!
//! Solves are short, and starting a thread takes as long as one. So [`in_ranges`] has helper
//! threads that wait for work as long as the program runs. A helper that waits for others takes up
//! other work meanwhile. So no work may wait for a lock, or for a lazily computed value that these
//! threads help to compute: it would wait for itself.
//!
//! Reading takes long and much memory: [`at_once`] starts threads that release their memory.

use rayon::{ThreadPool, ThreadPoolBuilder};
use std::ops::Range;
use std::sync::{LazyLock, OnceLock, mpsc};
use std::thread;

/// Fewer items than this are not worth a second thread.
const WORTH_SHARING: usize = 8;

/// The number of cores, cached because asking the system takes longer than a short solve.
pub fn cores() -> usize {
    static CORES: OnceLock<usize> = OnceLock::new();
    *CORES.get_or_init(|| thread::available_parallelism().map_or(1, usize::from))
}

/// Splits `0..count` into ranges, one for each core, or only one for fewer than `worth` items.
fn ranges(count: usize, worth: usize) -> Vec<Range<usize>> {
    let parts = if count < worth { 1 } else { cores() };
    let step = count.div_ceil(parts).max(1);
    (0..count).step_by(step).map(|from| from..count.min(from + step)).collect()
}

/// One thread fewer than there are cores, because the caller works too; `None` if the start fails.
static HELPERS: LazyLock<Option<ThreadPool>> =
    LazyLock::new(|| ThreadPoolBuilder::new().num_threads(cores() - 1).build().ok());

/// Applies `work` to ranges that together cover `0..count`, with the helpers.
pub fn in_ranges<T: Send>(count: usize, work: impl Fn(Range<usize>) -> Vec<T> + Sync) -> Vec<T> {
    with_helpers(ranges(count, WORTH_SHARING), work)
}

/// As [`in_ranges`], for items that take long: two of them are worth a second thread.
pub fn in_ranges_of_long<T: Send>(
    count: usize,
    work: impl Fn(Range<usize>) -> Vec<T> + Sync,
) -> Vec<T> {
    with_helpers(ranges(count, 2), work)
}

fn with_helpers<T: Send>(
    mut others: Vec<Range<usize>>,
    work: impl Fn(Range<usize>) -> Vec<T> + Sync,
) -> Vec<T> {
    let (work, own) = (&work, others.pop().unwrap_or(0..0));
    if others.is_empty() {
        return work(own);
    }
    let Some(helpers) = HELPERS.as_ref() else { return work(0..own.end) };
    let mut found: Vec<Vec<T>> = others.iter().map(|_| Vec::new()).collect();
    let last = helpers.in_place_scope(|scope| {
        for (range, place) in others.into_iter().zip(&mut found) {
            scope.spawn(move |_| *place = work(range));
        }
        work(own)
    });
    found.into_iter().flatten().chain(last).collect()
}

/// As [`in_ranges`], on threads started for it.
pub fn in_shares<T: Send>(count: usize, work: impl Fn(Range<usize>) -> Vec<T> + Sync) -> Vec<T> {
    at_once(ranges(count, WORTH_SHARING), work).into_iter().flatten().collect()
}

/// Applies `work` to each of a few items in parallel: one new thread for each but the last.
pub fn at_once<I: Send, T: Send>(
    items: impl IntoIterator<Item = I>,
    work: impl Fn(I) -> T + Sync,
) -> Vec<T> {
    let work = &work;
    let mut items: Vec<I> = items.into_iter().collect();
    let Some(last) = items.pop() else { return Vec::new() };
    thread::scope(|scope| {
        let spawn = |item| scope.spawn(move || work(item));
        let handles: Vec<_> = items.into_iter().map(spawn).collect();
        let last = work(last);
        handles.into_iter().map(joined).chain([last]).collect()
    })
}

/// Does two things in parallel: `aside` on a thread started for it. Not within the work of a helper:
/// each may wait for the helpers, and this one waits for both.
pub fn both<A: Send, B>(aside: impl FnOnce() -> A + Send, here: impl FnOnce() -> B) -> (A, B) {
    thread::scope(|scope| {
        let aside = scope.spawn(aside);
        let here = here();
        (joined(aside), here)
    })
}

/// Applies `work` to each item in place, on threads started for it.
pub fn each_in_place<T: Send>(items: &mut [T], work: impl Fn(&mut T) + Sync) {
    let step = items.len().div_ceil(cores()).max(WORTH_SHARING);
    at_once(items.chunks_mut(step), |items| items.iter_mut().for_each(&work));
}

fn joined<T>(handle: thread::ScopedJoinHandle<'_, T>) -> T {
    handle.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

/// Applies `work` to each item on threads started for it, and reports after each one how many are
/// done.
pub fn watched<I: Sync, T: Send>(
    items: &[I],
    work: impl Fn(&I) -> T + Sync,
    mut done: impl FnMut(usize),
) -> Vec<T> {
    let (sender, receiver) = mpsc::channel();
    let (work, workers) = (&work, cores().min(items.len()));
    let mut found: Vec<_> = thread::scope(|scope| {
        for worker in 0..workers {
            let sender = sender.clone();
            scope.spawn(move || {
                for (at, item) in items.iter().enumerate().skip(worker).step_by(workers) {
                    // Sending fails only if the receiver itself has panicked.
                    let _ = sender.send((at, work(item)));
                }
            });
        }
        drop(sender);
        receiver.iter().zip(1..).map(|(one, count)| (one, done(count)).0).collect()
    });
    found.sort_by_key(|(at, _)| *at);
    found.into_iter().map(|(_, answer)| answer).collect()
}
