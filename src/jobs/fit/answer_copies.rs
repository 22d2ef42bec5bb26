//! Finds copies of a book among several, because their trials would count twice.

use crate::observe::{Observation, Observations, Sewn};

/// The indices of the first book whose measured trials are all in another one too, and of that
/// other one. `None` if every book has a trial of its own.
///
/// Trials are the same if name, date, sewing, and the names of paper and thread agree, and every
/// measured state gives the same figures. This also finds an older copy of a book.
pub(super) fn first_copy(books: &[&Observations]) -> Option<(usize, usize)> {
    let pairs = (0..books.len()).flat_map(|of| (of + 1..books.len()).map(move |copy| (copy, of)));
    let mut both = pairs.flat_map(|(copy, of)| [(copy, of), (of, copy)]);
    both.find(|&(copy, of)| is_within(books[copy], books[of]))
}

/// Whether every measured trial of one book is in another.
fn is_within(one: &Observations, other: &Observations) -> bool {
    let trials = one.observed_trials();
    let found = |&trial: &usize| (0..other.trials.len()).any(|at| is_same(one, trial, other, at));
    !trials.is_empty() && trials.iter().all(found)
}

fn is_same(one: &Observations, trial: usize, other: &Observations, at: usize) -> bool {
    let (a, b) = (&one.trials[trial], &other.trials[at]);
    if a.name != b.name || one.papers[a.paper].name != other.papers[b.paper].name {
        return false;
    }
    let facts = |sewn: &Sewn| (sewn.date, sewn.sections, sewn.sheets, sewn.on, sewn.boned);
    let thread = one.threads[a.thread].name == other.threads[b.thread].name;
    let figures = |row: &Observation| (row.state, row.swell_mm, row.fore_edge_mm);
    let of = |all: &Observations, trial| {
        let rows = all.rows.iter().filter(|row| row.trial == trial);
        rows.map(figures).collect::<Vec<_>>()
    };
    let measured = of(other, at);
    let rows = of(one, trial).iter().all(|row| measured.contains(row));
    thread && facts(a) == facts(b) && rows
}
