//! The same work on many items, on every core.

use std::ops::Range;
use std::thread;

/// Fewer items than this are not worth a second thread.
const WORTH_SHARING: usize = 64;

/// Applies `work` to ranges that together make `0..count`, on as many threads as there are
/// cores; the results come back in order, so that the answer does not depend on the cores.
pub(super) fn in_ranges<T: Send>(
    count: usize,
    work: impl Fn(Range<usize>) -> Vec<T> + Sync,
) -> Vec<T> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    if cores == 1 || count < WORTH_SHARING {
        return work(0..count);
    }
    let step = count.div_ceil(cores);
    let work = &work;
    thread::scope(|scope| {
        let handles: Vec<_> = (0..count)
            .step_by(step)
            .map(|from| scope.spawn(move || work(from..count.min(from + step))))
            .collect();
        let join = |handle: thread::ScopedJoinHandle<'_, Vec<T>>| {
            handle.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        };
        handles.into_iter().flat_map(join).collect()
    })
}
