//! The same work on many items, on every core.

use std::ops::Range;
use std::sync::OnceLock;
use std::thread;

/// Fewer items than this are not worth a second thread.
const WORTH_SHARING: usize = 8;

/// How many things can be worked on at once; asking the system takes longer than a short solve.
pub(crate) fn cores() -> usize {
    static CORES: OnceLock<usize> = OnceLock::new();
    *CORES.get_or_init(|| thread::available_parallelism().map_or(1, usize::from))
}

/// Applies `work` to ranges that together make `0..count`, on as many threads as there are
/// cores; the results come back in order, so that the answer does not depend on the cores.
pub(crate) fn in_ranges<T: Send>(
    count: usize,
    work: impl Fn(Range<usize>) -> Vec<T> + Sync,
) -> Vec<T> {
    let cores = cores();
    if cores == 1 || count < WORTH_SHARING {
        return work(0..count);
    }
    let step = count.div_ceil(cores);
    let ranges = (0..count).step_by(step).map(|from| from..count.min(from + step));
    at_once(ranges, work).into_iter().flatten().collect()
}

/// Applies `work` to each of a few items at once, one thread for each but the last; results in order.
pub(crate) fn at_once<I: Send, T: Send>(
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

/// Applies `work` to each item where it stands, on as many threads as there are cores.
pub(crate) fn each_in_place<T: Send>(items: &mut [T], work: impl Fn(&mut T) + Sync) {
    let step = items.len().div_ceil(cores()).max(WORTH_SHARING);
    at_once(items.chunks_mut(step), |items| items.iter_mut().for_each(&work));
}

fn joined<T>(handle: thread::ScopedJoinHandle<'_, T>) -> T {
    handle.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}
