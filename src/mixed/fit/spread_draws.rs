//! Draws for questions about the spreads alone.

use super::integrate::{normalised, spreads_of};
use super::mode::log_beliefs;
use super::proposal::Proposal;
use crate::algebra::groups::in_groups;
use crate::algebra::layout::Layout;
use crate::parallel::in_ranges;
use std::ops::RangeInclusive;

/// How many are made, if any, and the number of rows that all their solves see together. Fewer would
/// hardly be more than the draws of a long book's fit.
const SPREAD_DRAWS: RangeInclusive<usize> = 512..=8_192;
const SPREAD_ROWS: usize = 400_000;

/// Draws of the spreads alone, with their weights.
#[derive(Clone, Debug)]
pub(crate) struct SpreadDraws {
    pub theta: Vec<Vec<f64>>,
    pub weights: Vec<f64>,
}

/// The number of draws that is worth its solves, for questions about the spreads alone. The share
/// beyond a bound needs many more draws than an average. `None` in a book so long that its spreads
/// are known sharply.
pub(crate) fn affordable_spread_draws(rows: usize) -> Option<usize> {
    let affordable = (SPREAD_ROWS / rows.max(1)).min(*SPREAD_DRAWS.end());
    SPREAD_DRAWS.contains(&affordable).then(|| 1 << affordable.ilog2())
}

/// Draws the spreads alone. Each draw costs only a solve.
pub(crate) fn spread_draws(layout: &Layout, from: &Proposal, count: usize) -> SpreadDraws {
    let points = from.points(0..count);
    let theta = spreads_of(layout, &points);
    let likelihoods = in_groups(layout, &theta, |_, likelihoods| likelihoods);
    let log = |(x, likelihood): (&Vec<f64>, &f64)| {
        likelihood + log_beliefs(layout, x) - from.log_density(x)
    };
    let logs = in_ranges(points.len(), |range| {
        let likelihoods = &likelihoods.as_flattened()[range.clone()];
        points[range].iter().zip(likelihoods).map(log).collect()
    });
    SpreadDraws { theta, weights: normalised(&logs) }
}
