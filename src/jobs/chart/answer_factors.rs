//! Every paper's thread factor, with what nominal figures say of its hardness.

use super::answer_knockdown::{DRAWN, softest_first, trials_of};
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::fitted::Bench;
use crate::model::mixed::Ranges;
use crate::trade::{Hardness, State};

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StateFactor {
    pub state: State,
    pub factor: Ranges,
}

/// A paper's factors, from the book.
#[derive(Clone, Debug, PartialEq)]
pub struct FactorRow {
    pub paper: String,
    pub hardness: Hardness,
    /// Trials it was measured in.
    pub trials: usize,
    /// As sewn and knocked down.
    pub factors: Vec<StateFactor>,
}

/// What beliefs alone say of any paper of a hardness.
#[derive(Clone, Debug, PartialEq)]
pub struct NominalFactors {
    pub hardness: Hardness,
    /// As sewn and knocked down.
    pub factors: Vec<StateFactor>,
}

/// The papers of a book, from the softest to the hardest; of one hardness those that were tried
/// first, and the one that swallows most thread before the others.
#[derive(Clone, Debug, PartialEq)]
pub struct FactorsView {
    /// The papers.
    pub rows: Vec<FactorRow>,
    /// Every hardness that the papers have, in their order.
    pub nominal: Vec<NominalFactors>,
    /// Trials the fit used.
    pub trials: usize,
    /// On what the figures without trials rest.
    pub grounds: Grounds,
}

/// What the factors come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FactorsFinding<'v> {
    NoPaper,
    NothingTried,
    /// One paper was tried.
    One(&'v FactorRow),
    /// The 90 % ranges of these two, knocked down, do not meet.
    Apart {
        least: &'v FactorRow,
        most: &'v FactorRow,
    },
    /// The ranges even of these two overlap.
    Overlapping {
        least: &'v FactorRow,
        most: &'v FactorRow,
    },
}

impl FactorRow {
    /// The factor knocked down.
    pub fn knocked(&self) -> Option<Ranges> {
        let knocked = self.factors.iter().find(|factor| factor.state == State::Knocked);
        knocked.map(|factor| factor.factor)
    }

    fn middle(&self) -> f64 {
        self.knocked().map_or(0.0, |factor| factor.q50)
    }
}

impl FactorsView {
    /// What they come to: only papers that were tried count.
    pub fn finding(&self) -> FactorsFinding<'_> {
        let tried = || self.rows.iter().filter(|row| row.trials > 0);
        let order = |a: &&FactorRow, b: &&FactorRow| a.middle().total_cmp(&b.middle());
        let (Some(least), Some(most)) = (tried().min_by(order), tried().max_by(order)) else {
            let is_empty = self.rows.is_empty();
            return if is_empty { FactorsFinding::NoPaper } else { FactorsFinding::NothingTried };
        };
        if tried().count() == 1 {
            return FactorsFinding::One(least);
        }
        let ends = least.knocked().zip(most.knocked());
        if ends.is_some_and(|(least, most)| least.q95 < most.q05) {
            FactorsFinding::Apart { least, most }
        } else {
            FactorsFinding::Overlapping { least, most }
        }
    }

    /// Papers without a trial.
    pub fn untried(&self) -> usize {
        self.rows.iter().filter(|row| row.trials == 0).count()
    }
}

fn by_state(ranges: &[Ranges]) -> Vec<StateFactor> {
    let factor = |(state, &factor)| StateFactor { state, factor };
    DRAWN.into_iter().zip(ranges).map(factor).collect()
}

/// Every paper's factors.
pub fn factors_view(bench: &Bench) -> FactorsView {
    let papers = &bench.observations.papers;
    let fitted = bench.fit.factor_ranges(&DRAWN, false);
    let row = |(level, fitted): (usize, &Vec<Ranges>)| FactorRow {
        paper: papers[level].name.to_string(),
        hardness: papers[level].hardness,
        trials: trials_of(bench, level).count(),
        factors: by_state(fitted),
    };
    let mut rows: Vec<FactorRow> = fitted.iter().enumerate().map(row).collect();
    rows.sort_by(|a, b| {
        let group = |row: &FactorRow| (softest_first(row.hardness), row.trials == 0);
        let middles = a.middle().total_cmp(&b.middle());
        group(a).cmp(&group(b)).then(middles).then_with(|| a.paper.cmp(&b.paper))
    });
    let mut kinds: Vec<Hardness> = rows.iter().map(|row| row.hardness).collect();
    kinds.dedup();
    let asked: Vec<_> =
        kinds.iter().flat_map(|&hardness| DRAWN.map(|state| (hardness, state))).collect();
    let nominal = bench.nominal.untried_factor_ranges(&asked);
    let nominal = kinds.into_iter().zip(nominal.chunks(DRAWN.len()));
    let nominal = nominal
        .map(|(hardness, factors)| NominalFactors { hardness, factors: by_state(factors) })
        .collect();
    let (trials, grounds) = (bench.fit.trials_used(), bench.grounds.clone());
    FactorsView { rows, nominal, trials, grounds }
}
