//! The likelihood of one spread, with the other spreads integrated out.

use crate::SpreadId;
use crate::algebra::groups::in_groups;
use crate::algebra::layout::Layout;
use crate::fit::integrate::log_sum;
use crate::fit::mode::spreads_at;
use crate::fit::posterior::Posterior;
use std::ops::RangeInclusive;

/// Draws of the other spreads, and the number of rows that all their solves see together. A long
/// book determines the other spreads well, so few draws are enough.
const DRAWS: RangeInclusive<usize> = 8..=256;
const ROWS: usize = 2_000_000;

impl Posterior {
    /// `log ∫ p(y|θ)·p(θ₋ₖ) dθ₋ₖ` at each of these values of the spread k, up to a constant that
    /// they share. This is the data's likelihood for the spread, under the beliefs about the other
    /// spreads and the coefficients.
    ///
    /// The other spreads are drawn from the fit's own proposal without k. The proposal is made a
    /// product whose density has a closed form, and the draws are weighted against it (importance
    /// sampling). Every value sees the same draws. Source: docs/model.md, "What a bench's readings
    /// say".
    pub fn spread_log_likelihood(&self, id: SpreadId, values: &[f64]) -> Vec<f64> {
        let (layout, k) = (&self.layout, id.0);
        let proposal = self.proposal.independent();
        let points = proposal.points(0..draws(layout, values.len()));
        let logs = points.iter().map(|x| {
            let others = layout.priors.iter().zip(x).enumerate().filter(|(at, _)| *at != k);
            let belief: f64 = others.map(|(_, (prior, x))| prior.log_density(*x)).sum();
            belief - proposal.log_density_without(k, x)
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

/// The number of draws for a table of `values` values.
fn draws(layout: &Layout, values: usize) -> usize {
    let affordable = ROWS / (layout.rows.max(1) * values.max(1));
    1 << affordable.clamp(*DRAWS.start(), *DRAWS.end()).ilog2()
}

/// The spreads at `x`, with spread `k` set to each of the values.
fn at_each(layout: &Layout, x: &[f64], k: usize, values: &[f64]) -> impl Iterator<Item = Vec<f64>> {
    let theta = spreads_at(layout, x);
    values.iter().map(move |&value| {
        let mut theta = theta.clone();
        theta[k] = value;
        theta
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::algebra::conditional::Solve;
    use crate::{Belief, Design, GroupEffect, MixedParams, Row, SpreadPrior};
    use linfa::dataset::DatasetBase;
    use linfa::traits::Fit;
    use ndarray::Array1;

    const SCALES: [f64; 2] = [0.4, 0.3];

    fn fitted(rows: usize) -> Posterior {
        let mut design = Design::new();
        let [group, own] = [("group", SCALES[0]), ("own", SCALES[1])]
            .map(|(name, scale)| design.spread(name, SpreadPrior::HalfNormal(scale)));
        let level = design.coefficient(Belief { mean: 1.0, sd: 0.8 });
        let grouping = design.grouping(4, vec![GroupEffect::Spread(group)]);
        let effect = design.effect(grouping, 0);
        for row in 0..rows {
            design.push(Row {
                variance: 0.01,
                coefficients: vec![(level, 1.0)],
                effects: vec![(effect, row % 4, 1.0)],
                own: vec![(own, 1.0)],
                block: None,
            });
        }
        let value = |row: usize| {
            1.2 + 0.4 * (2.3 * (row % 4) as f64).sin() + 0.2 * (1.7 * row as f64).cos()
        };
        let targets = Array1::from_iter((0..rows).map(value));
        MixedParams::new().fit(&DatasetBase::new(design, targets)).unwrap()
    }

    /// Compared with the trapezoidal rule over the other spread. The rule is exact to all digits
    /// for a smooth function that is even at one end and vanishes at the other (textbook). Sampling
    /// may be off by a twentieth of a unit of log likelihood where the spread is likely at all.
    #[test]
    fn one_spread_is_as_likely_as_by_quadrature() {
        let values = [0.0, 0.05, 0.1, 0.2, 0.4, 0.8];
        for rows in [3, 8, 24] {
            let fit = fitted(rows);
            let mut solve = Solve::new(&fit.layout);
            for k in 0..2 {
                let mut exact = |value: f64| {
                    let logs = (0..2000).map(|at| {
                        let x = f64::from(at) * 0.004;
                        let mut theta = [value; 2];
                        theta[1 - k] = x * SCALES[1 - k];
                        let end = if at == 0 { 0.5_f64.ln() } else { 0.0 };
                        solve.at(&theta) - 0.5 * x * x + end
                    });
                    log_sum(&logs.collect::<Vec<_>>())
                };
                let exact = values.map(&mut exact);
                let found = fit.spread_log_likelihood(SpreadId(k), &values);
                let top = |logs: &[f64]| logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                for (ours, theirs) in found.iter().zip(&exact) {
                    let (ours, theirs) = (ours - top(&found), theirs - top(&exact));
                    let bound = if theirs > -4.0 { 0.05 } else { 0.05 * theirs.abs() };
                    assert!((ours - theirs).abs() < bound, "{rows} {k}: {ours} {theirs}");
                }
            }
        }
    }
}
