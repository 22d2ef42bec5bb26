//! The trials of each paper with their measured swell.

use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::observe::Observations;
use crate::trade::{Name, State, Trial};
use std::collections::BTreeMap;

/// A swell as measured, including repairs at the fold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    pub state: State,
    pub swell_mm: f64,
    /// The same in per cent of the fore-edge.
    pub percent: f64,
}

#[derive(Clone, Debug)]
pub struct TrialSwell<'a> {
    pub trial: &'a Trial,
    /// The states with thread in the folds, in the order of the work.
    pub measured: Vec<Measured>,
}

/// The trials of a paper, in the order of the book.
#[derive(Clone, Debug)]
pub struct PaperTrials<'a> {
    pub paper: &'a Name,
    pub trials: Vec<TrialSwell<'a>>,
}

/// The papers that have trials, in the order of the book.
pub fn trials_by_paper<'a>(book: &'a Book, bench: &Bench) -> Vec<PaperTrials<'a>> {
    let mut seen = measured(&bench.observations);
    let mut of = |paper: &'a Name| {
        let own = book.trials().iter().filter(|trial| trial.paper == *paper);
        let swell = |trial: &'a Trial| TrialSwell {
            trial,
            measured: seen.remove(&trial.name).unwrap_or_default(),
        };
        PaperTrials { paper, trials: own.map(swell).collect() }
    };
    let papers: Vec<PaperTrials<'a>> = book.papers().iter().map(|paper| of(&paper.name)).collect();
    papers.into_iter().filter(|paper| !paper.trials.is_empty()).collect()
}

/// The swells of each trial, in the order of the work.
fn measured(all: &Observations) -> BTreeMap<&Name, Vec<Measured>> {
    let mut by_trial: BTreeMap<&Name, Vec<Measured>> = BTreeMap::new();
    for row in all.rows.iter().filter(|row| row.state.has_thread()) {
        let (swell_mm, percent) = (all.measured_swell_mm(row), all.measured_percent(row));
        let one = Measured { state: row.state, swell_mm, percent };
        by_trial.entry(&all.trials[row.trial].name).or_default().push(one);
    }
    by_trial.values_mut().for_each(|measured| measured.sort_by_key(|one| one.state));
    by_trial
}
