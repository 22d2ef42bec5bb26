//! The factor of a paper, to compare before and after recording readings.

use crate::jobs::fitted::Bench;
use crate::model::mixed::Summary;
use crate::trade::{Name, State};

/// A paper's factor in a state, and its basis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Factor {
    pub factor: Summary,
    pub nominal: f64,
    /// Number of trials of the paper, and of the whole book.
    pub trials: (usize, usize),
}

/// The factor of a paper in a state; `None` for a paper that is not in the book.
pub(crate) fn factor(bench: &Bench, paper: &Name, state: State) -> Option<Factor> {
    let papers = &bench.observations.papers;
    let level = papers.iter().position(|known| known.name == *paper)?;
    factors(bench, state).into_iter().nth(level)
}

/// The factors of all papers in a state, in the order of the observations.
pub(crate) fn factors(bench: &Bench, state: State) -> Vec<Factor> {
    let Bench { observations: all, fit, nominal, .. } = bench;
    let asked: Vec<_> = all.papers.iter().map(|paper| (paper.hardness, state)).collect();
    let (effects, untried) = (fit.effects(&[state]), nominal.untried_factors(&asked));
    let mut counts = vec![0; all.papers.len()];
    for trial in all.sewn_trials() {
        counts[all.trials[trial].paper] += 1;
    }
    let own = effects.factors.iter().filter_map(|states| states.first()).zip(untried).zip(counts);
    own.map(|((factor, nominal), count)| Factor {
        factor: *factor,
        nominal: nominal.q50,
        trials: (count, fit.trials_used()),
    })
    .collect()
}
