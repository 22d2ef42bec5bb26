//! What the trials show about each paper and thread of the stock.

use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::jobs::record::answer_changed::{Factor, factors};
use crate::model::mixed::Summary;
use crate::trade::{Name, State, Trial};
use std::collections::BTreeMap;

#[derive(Clone, Debug, Default)]
pub(crate) struct Taught {
    pub papers: BTreeMap<Name, Factor>,
    /// What a thread adds to the factor, beyond its diameter.
    pub threads: BTreeMap<Name, Summary>,
}

/// The factors of all papers, knocked down, and what threads add to them.
pub(crate) fn taught(bench: &Bench) -> Taught {
    let all = &bench.observations;
    let papers = all.papers.iter().map(|paper| paper.name.clone());
    let threads = all.threads.iter().map(|thread| thread.name.clone());
    Taught {
        papers: papers.zip(factors(bench, State::Knocked)).collect(),
        threads: threads.zip(bench.fit.effects(&[]).threads).collect(),
    }
}

/// Number of trials for each paper or thread, as picked by `name`.
pub(crate) fn counted(book: &Book, name: fn(&Trial) -> &Name) -> BTreeMap<&Name, usize> {
    let mut counts = BTreeMap::new();
    for trial in book.trials() {
        *counts.entry(name(trial)).or_default() += 1;
    }
    counts
}
