//! Score tests: what the data say about terms that a fit leaves out.

use super::asking::Asking;
use crate::algebra::envelope::dot;
use crate::algebra::groups::in_groups;
use crate::algebra::inverse::inverse;
use crate::algebra::lanes::LANES;
use crate::algebra::layout::Layout;
use crate::fit::posterior::Posterior;
use crate::{CoefficientId, Design, Functional, MixedError};
use std::ops::RangeInclusive;

/// Most draws of the spreads that are evaluated, and the number of rows that all their solves see
/// together. They represent all draws, and no chance that is shown has more digits than they give.
/// A long book knows its spreads well, so few draws are enough.
const MOST_DRAWS: RangeInclusive<usize> = 64..=256;
const ROWS: usize = 400_000;

/// What the data say about added coefficients at one draw of the spreads, with each held at 0.
///
/// Let a be the rows' multipliers of a coefficient. Let Σ be the covariance of the rows (everything
/// in the fit, beliefs included), and r the rows' distances from their means. The score is
/// `aᵀΣ⁻¹r`, and the information on two coefficients is `aᵀΣ⁻¹b`. Under the model the scores are
/// normal with mean 0 and that covariance.
#[derive(Clone, Debug, PartialEq)]
pub struct ScoreAt {
    /// The draw's weight.
    pub weight: f64,
    /// One score for each added coefficient.
    pub scores: Vec<f64>,
    /// The information, row by row.
    pub information: Vec<Vec<f64>>,
}

impl Posterior {
    /// The scores of the coefficients `added` over the draws of the spreads. `design` is the fit's
    /// design with these coefficients, each believed to be 0 ± `sd`. The value of `sd` does not
    /// matter: with C their covariance after the data and m their mean, the information is
    /// `C⁻¹ − I/sd²` and the scores are `C⁻¹·m`.
    ///
    /// # Errors
    /// [`MixedError`] for an invalid number or reference.
    pub fn scores(
        &self,
        design: &Design,
        targets: &[f64],
        added: &[CoefficientId],
        sd: f64,
    ) -> Result<Vec<ScoreAt>, MixedError> {
        design.check()?;
        let layout = Layout::new(design, targets);
        let asked: Vec<_> = (added.iter())
            .map(|&id| Functional::default().plus(id, 1.0).resolve(&layout))
            .collect();
        let most = (ROWS / layout.rows.max(1)).clamp(*MOST_DRAWS.start(), *MOST_DRAWS.end());
        let picked = picked(&self.weights, most);
        let theta: Vec<Vec<f64>> = picked.iter().map(|one| self.theta[one.0].clone()).collect();
        let loaded = in_groups(&layout, &theta, |solve, _| {
            let mut asking = Asking::new(&layout);
            let load = |one| (asking.load(&solve.system, one), asking.c.clone());
            asked.iter().map(load).collect::<Vec<_>>()
        });
        let at = |(place, &(_, weight)): (usize, &(usize, f64))| {
            let lane = place % LANES;
            let alone = |(mean, c): &([f64; LANES], Vec<[f64; LANES]>)| {
                (mean[lane], c.iter().map(|lanes| lanes[lane]).collect())
            };
            let loaded: Vec<(f64, Vec<f64>)> = loaded[place / LANES].iter().map(alone).collect();
            score_at(weight, &loaded, sd)
        };
        Ok(picked.iter().enumerate().filter_map(at).collect())
    }
}

/// At most `most` draws that represent all, with their weights: those at evenly spaced points of
/// the cumulative weight.
pub(crate) fn picked(weights: &[f64], most: usize) -> Vec<(usize, f64)> {
    if weights.len() <= most {
        return weights.iter().copied().enumerate().collect();
    }
    let (mut sum, mut passed) = (0.0, 0);
    let counted = weights.iter().enumerate().map(|(draw, weight)| {
        sum += weight;
        let below = ((sum * most as f64 + 0.5) as usize).min(most);
        let count = below - passed;
        passed = below;
        (draw, count as f64 / most as f64)
    });
    counted.filter(|(_, weight)| *weight > 0.0).collect()
}

/// The score from each coefficient's mean and `L⁻¹·c`; `None` if the data cannot separate them.
fn score_at(weight: f64, loaded: &[(f64, Vec<f64>)], sd: f64) -> Option<ScoreAt> {
    let covariance = |i: usize, j: usize| dot(&loaded[i].1, &loaded[j].1);
    let (mut information, _) = inverse(loaded.len(), covariance)?;
    let times = |row: &Vec<f64>| row.iter().zip(loaded).map(|(p, (mean, _))| p * mean).sum();
    let scores = information.iter().map(times).collect();
    (0..loaded.len()).for_each(|at| information[at][at] -= 1.0 / (sd * sd));
    Some(ScoreAt { weight, scores, information })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Belief, GroupEffect, MixedParams, Row, SpreadPrior};
    use linfa::dataset::DatasetBase;
    use linfa::traits::Fit;
    use ndarray::Array1;

    const TARGETS: [f64; 7] = [2.0, 1.2, 3.0, 2.2, 1.9, 0.7, 2.6];
    const ADDED: [[f64; 7]; 2] =
        [[0.3, -0.2, 0.5, 0.0, -0.6, 0.1, 0.4], [1.0, 0.0, 1.0, 0.0, 1.0, 1.0, 0.0]];

    /// Two groups, three blocks with two effects each, an effect for each row, and two correlated
    /// coefficients.
    fn design() -> Design {
        let mut design = Design::new();
        let prior = SpreadPrior::HalfNormal(0.5);
        let [group, block, tilt, own] =
            ["group", "block", "tilt", "own"].map(|name| design.spread(name, prior));
        let level = design.coefficient(Belief { mean: 1.0, sd: 2.0 });
        let slope = design.coefficient(Belief { mean: 0.5, sd: 0.8 });
        design.correlate(slope, level, -0.6);
        let grouping = design.grouping(2, vec![GroupEffect::Spread(group)]);
        let group = design.effect(grouping, 0);
        design.block(block);
        design.block(tilt);
        for row in 0..7 {
            let load = 1.0 + 0.1 * row as f64;
            design.push(Row {
                variance: 0.05,
                coefficients: vec![(level, load), (slope, (row % 4) as f64)],
                effects: vec![(group, row % 2, load)],
                own: vec![(own, load)],
                block: Some((row / 3, vec![load, load * (row % 3) as f64])),
            });
        }
        design
    }

    fn loads(row: &Row) -> [f64; 2] {
        [0, 1].map(|at| row.coefficients[at].1)
    }

    /// The covariance of two rows of the design above at the spreads `theta`.
    fn covariance(design: &Design, theta: &[f64], i: usize, j: usize) -> f64 {
        let (a, b) = (&design.rows[i], &design.rows[j]);
        let square = |at: usize| theta[at] * theta[at];
        let ([level, slope], [other, tilted]) = (loads(a), loads(b));
        let mut sum = 4.0 * level * other + 0.64 * slope * tilted;
        sum += -0.6 * 2.0 * 0.8 * (level * tilted + slope * other);
        if a.effects[0].1 == b.effects[0].1 {
            sum += square(0) * a.effects[0].2 * b.effects[0].2;
        }
        let ((here, loads), (there, others)) =
            (a.block.as_ref().unwrap(), b.block.as_ref().unwrap());
        if here == there {
            sum += square(1) * loads[0] * others[0] + square(2) * loads[1] * others[1];
        }
        if i == j {
            sum += square(3) * a.own[0].1 * b.own[0].1 + a.variance;
        }
        sum
    }

    /// Works out `aᵀΣ⁻¹r` and `aᵀΣ⁻¹b` in full.
    #[test]
    fn scores_are_those_of_the_whole_covariance() {
        let plain = design();
        let targets = Array1::from_vec(TARGETS.to_vec());
        let fit = MixedParams::new().draws(64).minimum_effective(1.0);
        let posterior = fit.fit(&DatasetBase::new(plain.clone(), targets)).unwrap();
        let mut wider = plain.clone();
        let added = ADDED.map(|_| wider.coefficient(Belief { mean: 0.0, sd: 0.3 }));
        for row in 0..7 {
            wider.add_terms(row, added.iter().zip(ADDED).map(|(&id, x)| (id, x[row])));
        }
        let found = posterior.scores(&wider, &TARGETS, &added, 0.3).unwrap();
        assert_eq!(found.len(), posterior.theta.len());
        for (at, theta) in found.iter().zip(&posterior.theta) {
            let (inverse, _) = inverse(7, |i, j| covariance(&plain, theta, i, j)).unwrap();
            let times = |a: &[f64; 7], b: &dyn Fn(usize) -> f64| -> f64 {
                (0..7)
                    .flat_map(|i| (0..7).map(move |j| (i, j)))
                    .map(|(i, j)| a[i] * inverse[i][j] * b(j))
                    .sum()
            };
            let missed = |row: usize| {
                let [level, slope] = loads(&plain.rows[row]);
                TARGETS[row] - level - 0.5 * slope
            };
            for (one, x) in ADDED.iter().enumerate() {
                assert!((at.scores[one] - times(x, &missed)).abs() < 1e-8, "{at:?}");
                for (other, y) in ADDED.iter().enumerate() {
                    let wanted = times(x, &|row| y[row]);
                    assert!((at.information[one][other] - wanted).abs() < 1e-8, "{at:?}");
                }
            }
        }
    }

    #[test]
    fn picked_draws_stand_for_all() {
        let weights: Vec<f64> = (0..1000).map(|at| f64::from(at) / 499_500.0).collect();
        let picked = picked(&weights, *MOST_DRAWS.end());
        assert!(picked.len() <= *MOST_DRAWS.end());
        let sum: f64 = picked.iter().map(|one| one.1).sum();
        let mean: f64 = picked.iter().map(|one| one.0 as f64 * one.1).sum();
        // Σ at·w = Σ at²/499 500 = 666 + 1/3.
        assert!((sum - 1.0).abs() < 1e-12 && (mean - 666.333).abs() < 1.0, "{mean}");
    }
}
