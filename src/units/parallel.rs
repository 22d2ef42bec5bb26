//! The same work on many items, on every core; results in order, so that no answer depends on the
//! cores. The threads wait for work as long as the program runs: to start one takes as long as a
//! short solve.

use rayon::prelude::*;
use std::ops::Range;
use std::sync::mpsc;

/// Fewer items than this are not worth a second thread.
const WORTH_SHARING: usize = 8;

/// How many things can be worked on at once.
pub(crate) fn cores() -> usize {
    rayon::current_num_threads()
}

/// Applies `work` to ranges that together make `0..count`, one for each core.
pub(crate) fn in_ranges<T: Send>(
    count: usize,
    work: impl Fn(Range<usize>) -> Vec<T> + Sync,
) -> Vec<T> {
    if cores() == 1 || count < WORTH_SHARING {
        return work(0..count);
    }
    let step = count.div_ceil(cores());
    let ranges = (0..count).step_by(step).map(|from| from..count.min(from + step));
    at_once(ranges, work).into_iter().flatten().collect()
}

/// Applies `work` to each of a few items at once.
pub(crate) fn at_once<I: Send, T: Send>(
    items: impl IntoIterator<Item = I>,
    work: impl Fn(I) -> T + Sync,
) -> Vec<T> {
    items.into_iter().collect::<Vec<_>>().into_par_iter().map(&work).collect()
}

/// As [`at_once`], and says how many are done whenever one is.
pub(crate) fn watched<I: Sync, T: Send>(
    items: &[I],
    work: impl Fn(&I) -> T + Sync,
    mut done: impl FnMut(usize),
) -> Vec<T> {
    let (sender, receiver) = mpsc::channel();
    let mut found: Vec<_> = std::thread::scope(|scope| {
        scope.spawn(|| {
            let send = |sender: &mut mpsc::Sender<_>, (at, item)| {
                // Nobody listens any more only when the receiver itself has panicked.
                let _ = sender.send((at, work(item)));
            };
            items.par_iter().enumerate().for_each_with(sender, send);
        });
        receiver.iter().zip(1..).map(|(one, count)| (one, done(count)).0).collect()
    });
    found.sort_by_key(|(at, _)| *at);
    found.into_iter().map(|(_, answer)| answer).collect()
}

/// Applies `work` to each item where it stands.
pub(crate) fn each_in_place<T: Send>(items: &mut [T], work: impl Fn(&mut T) + Sync) {
    items.par_iter_mut().with_min_len(WORTH_SHARING).for_each(&work);
}
