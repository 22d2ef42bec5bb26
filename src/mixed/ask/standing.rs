//! A few draws that represent all draws of a fit, reweighted for a fit of nearly the same data.

use super::score::picked;
use crate::algebra::groups::in_groups;
use crate::algebra::lanes::LANES;
use crate::algebra::layout::Layout;
use crate::fit::integrate::{Draws, MOST_KEPT, normalised};
use crate::fit::posterior::Posterior;
use crate::{Design, MixedError, MixedParams, Trust};
use linfa::ParamGuard;
use std::iter::repeat_n;

/// Draws of a fit's spreads, ready to be reweighted for other fits.
///
/// A draw's weight under other data or beliefs is its own weight times a ratio: the likelihood and
/// belief of its spreads there, over those here. Source: docs/model.md, "Trials left out".
#[derive(Clone, Debug)]
pub struct Standing<'a> {
    of: &'a Posterior,
    theta: Vec<Vec<f64>>,
    picks: Vec<usize>,
    /// Log weight minus the logs of the likelihood and the belief.
    logs: Vec<f64>,
}

impl Posterior {
    /// At most `most` draws that represent all.
    pub fn standing(&self, most: usize) -> Standing<'_> {
        let mut picked = picked(&self.weights, most);
        // A draw without weight has no likelihood to divide by.
        picked.retain(|one| one.1 > 0.0);
        let thinned = self.weights.len() > most;
        let picks = |weight: f64| if thinned { (weight * most as f64).round() as usize } else { 1 };
        let theta: Vec<Vec<f64>> = picked.iter().map(|one| self.theta[one.0].clone()).collect();
        let likelihoods = in_groups(&self.layout, &theta, |_, likelihoods| likelihoods);
        let each = picked.iter().zip(&theta).zip(likelihoods.as_flattened());
        let log = |((one, theta), likelihood): ((&(usize, f64), &Vec<f64>), &f64)| {
            one.1.ln() - likelihood - self.layout.log_prior(theta)
        };
        let logs = each.map(log).collect();
        Standing { of: self, theta, picks: picked.iter().map(|one| picks(one.1)).collect(), logs }
    }
}

impl Standing<'_> {
    /// Fits another design with the same spreads by reweighting these draws. `None` if the spreads
    /// differ or the weights cannot be trusted: the design must then be fitted by itself. The mode
    /// and the record are those of the fit that the draws come from.
    ///
    /// # Errors
    /// [`MixedError`] for an invalid number or reference.
    pub fn fit(&self, design: &Design, targets: &[f64]) -> Result<Option<Posterior>, MixedError> {
        design.check()?;
        if !self.of.has_spreads(design.spreads()) {
            return Ok(None);
        }
        let layout = Layout::new(design, targets);
        let draws = self.weighted(&layout);
        let checked = MixedParams::new().check()?.check_trust(&draws.trust, draws.theta.len());
        Ok(checked.is_ok().then(|| self.of.with(layout, draws)))
    }

    /// The draws, with their weights under `layout`.
    fn weighted(&self, layout: &Layout) -> Draws {
        let count = self.theta.len();
        let keep = count * layout.envelope.len() <= MOST_KEPT;
        let groups = in_groups(layout, &self.theta, |solve, likelihoods| {
            (likelihoods, keep.then(|| solve.system.clone()))
        });
        let (likelihoods, solved): (Vec<[f64; LANES]>, Vec<_>) = groups.into_iter().unzip();
        let each = self.logs.iter().zip(&self.theta).zip(likelihoods.as_flattened());
        let log = |((log, theta), likelihood): ((&f64, &Vec<f64>), &f64)| {
            log + likelihood + layout.log_prior(theta)
        };
        let weights = normalised(&each.map(log).collect::<Vec<_>>());
        Draws {
            theta: self.theta.clone(),
            solved: solved.into_iter().collect(),
            trust: self.trust(&weights),
            weights,
            proposal: self.of.proposal.clone(),
            evaluations: count,
        }
    }

    /// Judges the weights. In the tail, a draw picked several times counts as so many picks, each
    /// with its share of the weight. The halves of one weight are then not larger than others.
    fn trust(&self, weights: &[f64]) -> Trust {
        let shared = weights.iter().zip(&self.picks);
        let each = shared.flat_map(|(weight, &picks)| repeat_n(weight / picks as f64, picks));
        let pareto_k = Trust::of(&each.collect::<Vec<_>>()).pareto_k;
        Trust { pareto_k, ..Trust::of(weights) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Belief, Functional, GroupEffect, Row, SpreadPrior};
    use linfa::dataset::DatasetBase;
    use linfa::traits::Fit;
    use ndarray::Array1;

    /// Values of groups of four, with a spread between groups and one within.
    fn design(rows: usize, scale: f64) -> (Design, Functional) {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(scale);
        let [group, own] = ["group", "own"].map(|name| design.spread(name, prior));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let grouping = design.grouping(12, vec![GroupEffect::Spread(group)]);
        let effect = design.effect(grouping, 0);
        for row in 0..rows {
            design.push(Row {
                variance: 0.01,
                coefficients: vec![(level, 1.0)],
                effects: vec![(effect, row / 4, 1.0)],
                own: vec![(own, 1.0)],
                block: None,
            });
        }
        (design, Functional::default().plus(level, 1.0).plus_new(group, 1.0).plus_new(own, 1.0))
    }

    /// The values of `rows` rows, with `out` added to the last.
    fn targets(rows: usize, out: f64) -> Vec<f64> {
        let value = |row: usize| {
            1.0 + 0.3 * (5.1 * (row / 4) as f64).sin() + 0.2 * (1.7 * row as f64).sin()
        };
        (0..rows).map(|row| value(row) + if row + 1 == rows { out } else { 0.0 }).collect()
    }

    fn fitted(rows: usize, values: &[f64]) -> Posterior {
        let targets = Array1::from_vec(values.to_vec());
        MixedParams::new().fit(&DatasetBase::new(design(rows, 0.5).0, targets)).unwrap()
    }

    #[test]
    fn weighing_the_draws_is_fitting_the_others() {
        let values = targets(40, 0.3);
        let (full, exact) = (fitted(40, &values), fitted(39, &values[..39]));
        let (others, asked) = design(39, 0.5);
        let weighted = full.standing(256).fit(&others, &values[..39]).unwrap().unwrap();
        assert!(weighted.theta.len() <= 256);
        let ask = |fit: &Posterior| fit.project(std::slice::from_ref(&asked)).remove(0);
        let (ours, theirs) = (ask(&weighted), ask(&exact));
        assert!((ours.mean() - theirs.mean()).abs() < 0.01 * theirs.sd());
        assert!((ours.sd() / theirs.sd() - 1.0).abs() < 0.02, "{} {}", ours.sd(), theirs.sd());
        assert!((ask(&full).sd() / theirs.sd() - 1.0).abs() > 0.02, "leaving it out says nothing");
    }

    /// One value far out inflates the spread of the whole. Without it, the spread lies where the
    /// whole has hardly any draws.
    #[test]
    fn where_the_others_lie_elsewhere_they_must_be_fitted() {
        let values = targets(40, 6.0);
        let full = fitted(40, &values);
        let standing = full.standing(256);
        let others = design(39, 0.5).0;
        let layout = Layout::new(&others, &values[..39]);
        let trust = standing.weighted(&layout).trust;
        assert!(trust.pareto_k > 0.7, "{trust:?}");
        assert!(standing.fit(&others, &values[..39]).unwrap().is_none());
    }

    #[test]
    fn other_spreads_must_be_fitted() {
        let values = targets(40, 0.0);
        let full = fitted(40, &values);
        let fit = |scale| full.standing(256).fit(&design(39, scale).0, &values[..39]).unwrap();
        assert!(fit(0.5).is_some());
        assert!(fit(0.6).is_none());
    }

    /// A draw picked twice has twice the weight, which by itself looks like a heavy tail.
    #[test]
    fn a_draw_picked_twice_is_judged_as_two() {
        let full = fitted(40, &targets(40, 0.0));
        let picks: Vec<usize> = (0..118).map(|draw| if draw < 10 { 2 } else { 1 }).collect();
        let weights: Vec<f64> = picks.iter().map(|&picks| picks as f64 / 128.0).collect();
        let standing = Standing { of: &full, theta: Vec::new(), logs: Vec::new(), picks };
        let (found, merged) = (standing.trust(&weights), Trust::of(&weights));
        assert_eq!((found.pareto_k, merged.pareto_k), (f64::NEG_INFINITY, f64::INFINITY));
        assert_eq!((found.effective, found.largest), (merged.effective, 2.0 / 128.0));
    }
}
