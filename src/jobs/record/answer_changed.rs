//! What readings have changed: the factor of their paper before and after.

use crate::jobs::fitted::Bench;
use crate::model::mixed::Summary;
use crate::observe::Observations;
use crate::trade::{Name, State};

/// A paper's factor in a state, and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Factor {
    pub factor: Summary,
    /// What nominal figures say.
    pub nominal: f64,
    /// Trials of the paper, and of the book.
    pub trials: (usize, usize),
}

/// The factor of a paper in a state; `None` for a paper that is not in the book.
pub(crate) fn factor(bench: &Bench, paper: &Name, state: State) -> Option<Factor> {
    let Bench { observations: all, fit, nominal, .. } = bench;
    let level = all.papers.iter().position(|known| known.name == *paper)?;
    let factor = *fit.effects(&[state]).factors.get(level)?.first()?;
    let untried = nominal.untried_factors(&[(all.papers[level].hardness, state)]);
    let trials = (trials_of(all, level), fit.trials_used());
    Some(Factor { factor, nominal: untried.first()?.q50, trials })
}

fn trials_of(all: &Observations, paper: usize) -> usize {
    let own = |trial: &usize| all.trials[*trial].paper == paper;
    all.observed_trials().into_iter().filter(own).count()
}
