//! Fits a book without some of its trials, and predicts them.

use crate::book::Book;
use crate::jobs::fitted::{Bench, BenchError};
use crate::model::compare::{
    Block, Expected, Judged, OfWays, Predictive, Seen, Way, predict_ways, standardised,
};
use crate::model::mixed::Ranges;
use crate::model::{Beliefs, Gaussian, PlannedPaper, PlannedThread, Run, SwellFit, WithoutSome};
use crate::observe::{Observations, Repeatability, Sewn, observe_without};
use crate::trade::{Name, Sewing, State};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Up to this many trials, each is left out alone.
const EXACT: usize = 200;
/// Beyond that, the trials are left out in this many parts.
const FOLDS: usize = 20;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Leaving {
    #[default]
    Trial,
    /// All trials of one paper, so that each paper is predicted as if it had never been tried.
    Paper,
}

impl Leaving {
    /// The number of the group that is left out together.
    pub(crate) fn cluster(self, all: &Observations, trial: usize) -> usize {
        match self {
            Self::Trial => trial,
            Self::Paper => all.trials[trial].paper,
        }
    }
}

/// Trials that are left out together, as indices into all trials.
pub(crate) type Fold = Vec<usize>;

/// Splits the trials with a swell to predict into folds. Sorting them by name makes the folds
/// independent of the order of the file.
pub(crate) fn folds(all: &Observations, leaving: Leaving) -> Vec<Fold> {
    let mut trials: Vec<usize> =
        all.rows.iter().filter(|row| row.state.has_thread()).map(|row| row.trial).collect();
    trials.dedup();
    trials.sort_by(|&a, &b| all.trials[a].name.cmp(&all.trials[b].name));
    let mut together: Vec<Vec<usize>> = Vec::new();
    let mut place = BTreeMap::new();
    for trial in trials {
        let at = *place.entry(leaving.cluster(all, trial)).or_insert(together.len());
        match together.get_mut(at) {
            Some(cluster) => cluster.push(trial),
            None => together.push(vec![trial]),
        }
    }
    deal(&together)
}

fn deal(clusters: &[Vec<usize>]) -> Vec<Fold> {
    let count = if clusters.len() <= EXACT { clusters.len() } else { FOLDS };
    let of = |first| clusters.iter().skip(first).step_by(count).flatten().copied().collect();
    (0..count).map(of).collect()
}

#[derive(Clone, Debug)]
pub(crate) struct Judgement {
    pub block: Block,
    /// For each state, every way's prediction judged against the measured swell.
    pub ways: Vec<OfWays<Judged>>,
    pub agreement: Vec<Agreement>,
    pub expected: Expected,
    /// The normal deviate of its mean swell in the prediction from the other trials.
    pub standardised: Option<f64>,
    /// The factor of its paper as sewn, from the other trials.
    pub factor_without: Option<Gaussian>,
    /// The fore-edge expected from the paper's other trials, in mm.
    pub fore_edge: Gaussian,
    /// Estimated from the other trials.
    pub repeatability: Repeatability,
}

/// A measured swell beside its predictions without its trial, in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Agreement {
    pub trial: String,
    pub state: State,
    pub measured_mm: f64,
    /// Predicted by the fit of the other trials, including the noise of the readings.
    pub own: Ranges,
    /// The median of the prediction by nominal figures.
    pub nominal_mm: f64,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Whole<'a> {
    pub book: &'a Book,
    pub bench: &'a Bench,
    pub beliefs: &'a Beliefs,
    /// The bench's fit, prepared for leaving out trials. `None` if so much is left out at a time
    /// that the others are always fitted from scratch.
    pub without: Option<&'a WithoutSome<'a>>,
}

#[derive(Clone, Debug)]
pub(super) struct Refit {
    pub judgements: Vec<Judgement>,
    /// Whether the others were fitted from scratch, instead of by reweighting the draws of the
    /// whole book's fit.
    pub exact: bool,
}

/// Fits the book without a fold and predicts each of its trials.
pub(super) fn refit(whole: Whole<'_>, fold: &Fold) -> Result<Refit, BenchError> {
    let Whole { book, bench, beliefs, without } = whole;
    let trials = &bench.observations.trials;
    let left_out: BTreeSet<&Name> = fold.iter().map(|&at| &trials[at].name).collect();
    let others = observe_without(book, &left_out, bench.observations.weighing)?;
    let weighted = without.map(|fit| fit.weighted(&others)).transpose()?.flatten();
    let exact = weighted.is_none();
    let fit = weighted.map_or_else(|| SwellFit::new(&others, beliefs), Ok)?;
    let written = |at: usize| book.trials().iter().find(|trial| trial.name == trials[at].name);
    let found = fold.iter().filter_map(|&at| Some((at, written(at)?)));
    let blocks: Vec<Block> =
        found.map(|(at, trial)| block(&bench.observations, &others, at, trial.sewing)).collect();
    let expected = fit.expect(&blocks)?;
    let pairs = blocks.into_iter().zip(expected);
    let judged = pairs.map(|(block, expected)| judgement(block, expected, &others, &fit, bench));
    Ok(Refit { judgements: judged.collect::<Result<_, _>>()?, exact })
}

fn judgement(
    block: Block,
    expected: Expected,
    others: &Observations,
    fit: &SwellFit,
    bench: &Bench,
) -> Result<Judgement, BenchError> {
    let answers = predict_ways(&block, &expected, others, &bench.nominal)?;
    let judged = block.seen.iter().zip(&answers).map(|(seen, ways)| {
        ways.each_ref()
            .map(|way| way.as_ref().map(|way| way.judge(seen.swell_mm, seen.fore_edge_mm)))
    });
    let sewn = &bench.observations.trials[block.trial];
    let agreement =
        block.seen.iter().zip(&answers).filter_map(|(seen, ways)| agreement(sewn, seen, ways));
    Ok(Judgement {
        ways: judged.collect(),
        agreement: agreement.collect(),
        standardised: standardised(&block, &expected),
        factor_without: block.run.paper.level.and_then(|level| fit.paper_factor(level)),
        fore_edge: fit.expected_fore_edge(&block)?,
        repeatability: others.repeatability,
        expected,
        block,
    })
}

/// The book's own fit and nominal figures predict every state.
fn agreement(sewn: &Sewn, seen: &Seen, ways: &OfWays<Predictive>) -> Option<Agreement> {
    let mixture = |way: Way| match ways[way as usize].as_ref()? {
        Predictive::Mixture(mixture) => Some(mixture),
        Predictive::Student(_) => None,
    };
    Some(Agreement {
        trial: sewn.name.to_string(),
        state: seen.state,
        measured_mm: seen.swell_mm + sewn.guards_mm,
        own: mixture(Way::Own)?.ranges().raised(sewn.guards_mm),
        nominal_mm: mixture(Way::Nominal)?.quantile(0.5) + sewn.guards_mm,
    })
}

/// A trial in the form that the others' fit takes. Both observations have the same papers and
/// threads.
pub(crate) fn block(all: &Observations, others: &Observations, at: usize, sewing: Sewing) -> Block {
    let trial = &all.trials[at];
    let seen = all.rows.iter().filter(|row| row.trial == at && row.state.has_thread());
    Block {
        trial: at,
        run: Run {
            paper: PlannedPaper::of(all, trial.paper),
            thread: PlannedThread::of(all, trial.thread),
            sewing,
            boned: trial.boned,
        },
        hand: others.hands.iter().position(|hand| *hand == all.hands[trial.hand]),
        seen: seen
            .map(|row| Seen {
                state: row.state,
                swell_mm: row.swell_mm,
                fore_edge_mm: row.fore_edge_mm,
                variance: others.noise_variance(row),
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_trial_is_left_out_once() {
        for (trials, folds) in [(0, 0), (3, 3), (200, 200), (201, 20), (410, 20)] {
            let dealt = deal(&(0..trials).map(|trial| vec![trial]).collect::<Vec<_>>());
            assert_eq!(dealt.len(), folds);
            let sizes: Vec<usize> = dealt.iter().map(Vec::len).collect();
            let most = sizes.iter().max().copied().unwrap_or(0);
            assert!(sizes.iter().all(|&size| size > 0 && size + 1 >= most), "{sizes:?}");
            let mut all: Vec<usize> = dealt.into_iter().flatten().collect();
            all.sort_unstable();
            assert_eq!(all, (0..trials).collect::<Vec<_>>());
        }
    }
}
