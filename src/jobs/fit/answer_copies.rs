//! Finds trials that several books share, because they would count twice.

use crate::observe::{Observations, Sewn};
use crate::trade::{Name, State};
use std::collections::BTreeMap;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Shared {
    /// The indices of the two books.
    pub books: [usize; 2],
    pub trials: usize,
    /// The name of the first one.
    pub example: Name,
}

/// The trials that the first two books with any have in common.
///
/// Trials are the same if name, date and sewing agree, and a measured state gives the same figures.
/// Paper and thread may have been renamed, and one of the two books may go on.
pub(super) fn first_shared(books: &[&Observations]) -> Option<Shared> {
    let measured: Vec<BTreeMap<&Name, Measured<'_>>> = books.iter().map(|it| by_name(it)).collect();
    let pairs =
        (0..books.len()).flat_map(|one| (one + 1..books.len()).map(move |other| [one, other]));
    pairs.into_iter().find_map(|books| {
        let [one, other] = books.map(|at| &measured[at]);
        let is_shared = |(name, trial): &(&&Name, &Measured<'_>)| {
            other.get(**name).is_some_and(|there| is_same(trial, there))
        };
        let shared: Vec<&Name> = one.iter().filter(is_shared).map(|(name, _)| *name).collect();
        let example = (*shared.first()?).clone();
        Some(Shared { books, trials: shared.len(), example })
    })
}

struct Measured<'o> {
    sewn: &'o Sewn,
    figures: Vec<(State, f64, f64)>,
}

/// The trials of a book that have an observation.
fn by_name(all: &Observations) -> BTreeMap<&Name, Measured<'_>> {
    let mut trials = BTreeMap::new();
    for row in &all.rows {
        let sewn = &all.trials[row.trial];
        let trial = trials.entry(&sewn.name);
        let trial = trial.or_insert_with(|| Measured { sewn, figures: Vec::new() });
        trial.figures.push((row.state, row.swell_mm, row.fore_edge_mm));
    }
    trials
}

fn is_same(one: &Measured<'_>, other: &Measured<'_>) -> bool {
    let facts = |it: &Measured<'_>| {
        (it.sewn.date, it.sewn.sections, it.sewn.sheets, it.sewn.on, it.sewn.ends, it.sewn.boned)
    };
    facts(one) == facts(other) && one.figures.iter().any(|it| other.figures.contains(it))
}
