//! Every paper's thread factor beside what nominal figures say of it.

use super::answer_knockdown::{DRAWN, trials_of};
use crate::jobs::fitted::Bench;
use crate::model::mixed::Ranges;
use crate::trade::{Hardness, State};

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StateFactor {
    pub state: State,
    /// From the book.
    pub fitted: Ranges,
    /// From the beliefs alone.
    pub nominal: Ranges,
}

/// A paper's factors.
#[derive(Clone, Debug, PartialEq)]
pub struct FactorRow {
    pub paper: String,
    pub hardness: Hardness,
    /// Trials it was measured in.
    pub trials: usize,
    /// As sewn and knocked down.
    pub factors: Vec<StateFactor>,
}

/// The papers of a book, the one that swallows most thread first.
#[derive(Clone, Debug, PartialEq)]
pub struct FactorsView {
    /// The papers.
    pub rows: Vec<FactorRow>,
    /// Trials the fit used.
    pub trials: usize,
}

/// Every paper's factors, by the last state drawn, least first; equal ones by name.
pub fn factors_view(bench: &Bench) -> FactorsView {
    let fitted = bench.fit.factor_ranges(&DRAWN);
    let asked: Vec<_> = (bench.observations.papers.iter())
        .flat_map(|paper| DRAWN.map(|state| (paper.hardness, state)))
        .collect();
    let nominal = bench.nominal.untried_factor_ranges(&asked);
    let papers = bench.observations.papers.iter().zip(&fitted);
    let mut rows: Vec<FactorRow> = papers
        .zip(nominal.chunks(DRAWN.len()))
        .enumerate()
        .map(|(level, ((paper, fitted), nominal))| FactorRow {
            paper: paper.name.to_string(),
            hardness: paper.hardness,
            trials: trials_of(bench, level).count(),
            factors: (DRAWN.into_iter().zip(fitted).zip(nominal))
                .map(|((state, &fitted), &nominal)| StateFactor { state, fitted, nominal })
                .collect(),
        })
        .collect();
    let middle = |row: &FactorRow| row.factors.last().map_or(0.0, |factor| factor.fitted.q50);
    rows.sort_by(|a, b| middle(a).total_cmp(&middle(b)).then_with(|| a.paper.cmp(&b.paper)));
    FactorsView { rows, trials: bench.fit.trials_used() }
}
