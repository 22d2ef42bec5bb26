//! A book's fit as a table of draws.

use crate::jobs::fitted::Bench;
use crate::model::{Coefficient, SwellSpread, Unknown};

/// The unknown that a column describes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DrawnOf {
    Spread(SwellSpread),
    Coefficient(Coefficient),
    /// What a paper, thread or hand adds: the word for the effect in columns, and its name.
    Effect(&'static str, String),
}

/// What a column gives of its unknown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrawnAs {
    /// Its value at the draw.
    Value,
    /// Its mean, given the spreads of the draw.
    Mean,
    /// Its standard deviation, given the spreads of the draw.
    Sd,
}

#[derive(Clone, Debug, PartialEq)]
pub struct DrawnColumn {
    pub of: DrawnOf,
    pub holds: DrawnAs,
    /// One number for each draw.
    pub values: Vec<f64>,
}

/// Draws from a fit, one for each row.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawTable {
    /// The draws' weights, which sum to one.
    pub weights: Vec<f64>,
    pub columns: Vec<DrawnColumn>,
}

/// The draws of the spreads with their weights, and for each draw the mean and standard deviation
/// of every other unknown.
pub fn weighted_draws(bench: &Bench) -> DrawTable {
    let draws = bench.fit.weighted_draws(&bench.observations);
    let unknowns = draws.unknowns.into_iter().flat_map(|(unknown, mixture)| {
        let (means, sds) = mixture.components().map(|(_, mean, sd)| (mean, sd)).unzip();
        let column = |holds, values| DrawnColumn { of: named(unknown, bench), holds, values };
        [column(DrawnAs::Mean, means), column(DrawnAs::Sd, sds)]
    });
    DrawTable { weights: draws.weights, columns: spreads(draws.spreads).chain(unknowns).collect() }
}

/// `count` equally weighted joint draws of all unknowns.
pub fn plain_draws(bench: &Bench, count: usize, seed: u64) -> DrawTable {
    let draws = bench.fit.plain_draws(&bench.observations, count, seed);
    let unknowns = draws.unknowns.into_iter().map(|(unknown, values)| DrawnColumn {
        of: named(unknown, bench),
        holds: DrawnAs::Value,
        values,
    });
    DrawTable {
        weights: vec![1.0 / draws.count as f64; draws.count],
        columns: spreads(draws.spreads).chain(unknowns).collect(),
    }
}

fn spreads(spreads: Vec<(SwellSpread, Vec<f64>)>) -> impl Iterator<Item = DrawnColumn> {
    spreads.into_iter().map(|(spread, values)| DrawnColumn {
        of: DrawnOf::Spread(spread),
        holds: DrawnAs::Value,
        values,
    })
}

fn named(unknown: Unknown, bench: &Bench) -> DrawnOf {
    let all = &bench.observations;
    let paper = |word, level: usize| DrawnOf::Effect(word, all.papers[level].name.to_string());
    match unknown {
        Unknown::Coefficient(name) => DrawnOf::Coefficient(name),
        Unknown::Paper(level) => paper("paper", level),
        Unknown::PaperKnocked(level) => paper("paper_knocked", level),
        Unknown::PaperFold(level) => paper("paper_fold", level),
        Unknown::Thread(level) => DrawnOf::Effect("thread", all.threads[level].name.to_string()),
        Unknown::Hand(level) => DrawnOf::Effect("hand", all.hands[level].clone()),
    }
}
