//! What the data say of one spread, whatever the others are.

use crate::model::mixed::SpreadId;
use crate::model::mixed::algebra::layout::Layout;
use crate::model::mixed::fit::integrate::in_groups;
use crate::model::mixed::fit::mode::spreads_at;
use crate::model::mixed::fit::posterior::Posterior;
use std::ops::RangeInclusive;

/// Draws of the other spreads, and the rows that all their solves together see.
const DRAWS: RangeInclusive<usize> = 64..=256;
const ROWS: usize = 4_000_000;

impl Posterior {
    /// `log ∫ p(y|θ)·p(θ₋ₖ) dθ₋ₖ` at each of these values of the spread k, up to a constant that
    /// they share: the data's likelihood of it under the beliefs about the other spreads and the
    /// coefficients.
    ///
    /// The others are drawn from the fit's own proposal without k, which is a product and has its
    /// density in closed form, and weighted against it (importance sampling); every value sees the
    /// same draws. Source: docs/model.md, "What a bench's readings say".
    pub fn spread_log_likelihood(&self, id: SpreadId, values: &[f64]) -> Vec<f64> {
        let (layout, k) = (&self.layout, id.0);
        let points = self.proposal.points(draws(layout, values.len()));
        let logs = points.iter().map(|x| {
            let others = layout.priors.iter().zip(x).enumerate().filter(|(at, _)| *at != k);
            let belief: f64 = others.map(|(_, (prior, x))| prior.log_density(*x)).sum();
            belief - self.proposal.log_density_without(k, x)
        });
        let logs: Vec<f64> = logs.collect();
        let theta: Vec<Vec<f64>> =
            points.iter().flat_map(|x| at_each(layout, x, k, values)).collect();
        let likelihoods = in_groups(layout, &theta, |_, likelihoods| likelihoods);
        let likelihoods = likelihoods.as_flattened();
        let of_value = |value: usize| {
            let each = logs.iter().enumerate();
            let each = each.map(|(draw, log)| log + likelihoods[draw * values.len() + value]);
            log_sum(&each.collect::<Vec<_>>())
        };
        (0..values.len()).map(of_value).collect()
    }
}

/// How many draws such a table is worth.
fn draws(layout: &Layout, values: usize) -> usize {
    let affordable = ROWS / (layout.rows.max(1) * values.max(1) * layout.priors.len().max(1));
    1 << affordable.clamp(*DRAWS.start(), *DRAWS.end()).ilog2()
}

/// The spreads at `x` with spread `k` at each of the values.
fn at_each(layout: &Layout, x: &[f64], k: usize, values: &[f64]) -> impl Iterator<Item = Vec<f64>> {
    let theta = spreads_at(layout, x);
    values.iter().map(move |&value| {
        let mut theta = theta.clone();
        theta[k] = value;
        theta
    })
}

/// `log Σ exp`, from the largest.
fn log_sum(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top.is_finite() {
        top + logs.iter().map(|log| (log - top).exp()).sum::<f64>().ln()
    } else {
        top
    }
}
