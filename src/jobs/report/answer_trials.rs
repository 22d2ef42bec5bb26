//! The trials of each paper with their measured swell.

use crate::book::Book;
use crate::jobs::fitted::Bench;
use crate::trade::{Name, State, Trial};

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
    let of = |paper: &'a Name| {
        let own = book.trials().iter().filter(|trial| trial.paper == *paper);
        let trials = own.map(|trial| TrialSwell { trial, measured: measured(bench, trial) });
        PaperTrials { paper, trials: trials.collect() }
    };
    let papers = book.papers().iter().map(|paper| of(&paper.name));
    papers.filter(|paper| !paper.trials.is_empty()).collect()
}

fn measured(bench: &Bench, trial: &Trial) -> Vec<Measured> {
    let all = &bench.observations;
    let rows = all
        .rows
        .iter()
        .filter(|row| row.state.has_thread() && all.trials[row.trial].name == trial.name);
    let mut measured: Vec<Measured> = rows
        .map(|row| {
            let swell_mm = row.swell_mm + all.trials[row.trial].guards_mm;
            let percent = 100.0 * swell_mm / row.fore_edge_mm;
            Measured { state: row.state, swell_mm, percent }
        })
        .collect();
    measured.sort_by_key(|one| State::ALL.iter().position(|state| *state == one.state));
    measured
}
