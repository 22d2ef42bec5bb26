//! The thread factor of every paper, beside the nominal factor for its hardness.

use super::answer_knockdown::{DRAWN, softest_first, trials_of};
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::fitted::Bench;
use crate::model::mixed::Ranges;
use crate::trade::Hardness;

#[derive(Clone, Debug, PartialEq)]
pub struct FactorRow {
    pub paper: String,
    pub hardness: Hardness,
    /// Number of the paper's trials that were measured with thread.
    pub trials: usize,
    /// As sewn and knocked down.
    pub factors: [Ranges; 2],
}

/// The papers of a book, softest first. Within a hardness, tried papers come before untried ones,
/// and the paper that swallows most thread leads.
#[derive(Clone, Debug, PartialEq)]
pub struct FactorsView {
    pub rows: Vec<FactorRow>,
    /// The factors that the beliefs alone give each hardness among the papers, in their order.
    pub nominal: Vec<(Hardness, [Ranges; 2])>,
    /// Number of trials the fit used.
    pub trials: usize,
    pub grounds: Grounds,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FactorsFinding<'v> {
    NoPaper,
    NothingTried,
    /// Only one paper was tried.
    One(&'v FactorRow),
    /// The 90 % ranges of these two, knocked down, do not overlap.
    Apart {
        least: &'v FactorRow,
        most: &'v FactorRow,
    },
    /// Even the ranges of these two overlap.
    Overlapping {
        least: &'v FactorRow,
        most: &'v FactorRow,
    },
}

impl FactorRow {
    pub fn knocked(&self) -> Ranges {
        self.factors[1]
    }

    fn middle(&self) -> f64 {
        self.knocked().q50
    }
}

impl FactorsView {
    /// The main finding; only tried papers count.
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
        if least.knocked().q95 < most.knocked().q05 {
            FactorsFinding::Apart { least, most }
        } else {
            FactorsFinding::Overlapping { least, most }
        }
    }

    pub fn untried(&self) -> usize {
        self.rows.iter().filter(|row| row.trials == 0).count()
    }
}

pub fn factors_view(bench: &Bench) -> FactorsView {
    let papers = &bench.observations.papers;
    let fitted = bench.fit.factor_ranges(&DRAWN, false);
    let row = |(level, fitted): (usize, &Vec<Ranges>)| FactorRow {
        paper: papers[level].name.to_string(),
        hardness: papers[level].hardness,
        trials: trials_of(bench, level).count(),
        factors: [fitted[0], fitted[1]],
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
    let nominal = nominal.chunks(DRAWN.len()).map(|factors| [factors[0], factors[1]]);
    let nominal = kinds.into_iter().zip(nominal).collect();
    let (trials, grounds) = (bench.fit.trials_used(), bench.grounds.clone());
    FactorsView { rows, nominal, trials, grounds }
}
