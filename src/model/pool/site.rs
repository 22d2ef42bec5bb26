//! What a mixture of normals over the spreads says of the coefficients, as one normal likelihood.

use super::symmetric::{Column, Eigen, dot, inverse, times};
use crate::model::mixed::Joint;
use crate::model::swell::beliefs::{COEFFICIENTS, Square};

/// How many times as wide as they are the beliefs are taken, one after the other, until no direction
/// is left in which the readings contradict them. Found by trying: docs/model.md.
const WIDER: [f64; 4] = [1.5, 2.0, 3.0, 4.0];
/// Information under this share of that of the beliefs is rounding: variances of a fit have twelve
/// digits and more.
const NOTHING: f64 = 1e-9;
/// In standard deviations of the belief: how far away an estimate may lie in a direction, and how
/// far the mean may have moved in one of which nothing is kept.
const FAR: f64 = 100.0;
const SLIGHTLY: f64 = 0.02;

/// A normal likelihood `exp(−½·zᵀIz + wᵀz)` of what is believed to be standard normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Site {
    pub information: Square,
    pub weighted: Column,
}

/// A fit's draws, in units in which the beliefs about the coefficients are standard normal.
pub(super) struct Tilted {
    draws: Vec<Joint<COEFFICIENTS>>,
}

impl Tilted {
    pub fn new(draws: Vec<Joint<COEFFICIENTS>>) -> Self {
        Self { draws }
    }

    /// The site of expectation propagation under beliefs somewhat wider than those of the fit: there
    /// it leaves mean and covariance of the mixture as they are. Where the readings contradict the
    /// beliefs so much that the mixture is wider than they are in some direction, no likelihood does;
    /// then the beliefs are taken wider still. Source: T. Minka, 2001; docs/model.md, "What a bench's
    /// readings say".
    ///
    /// `None` where no draw has a covariance with an inverse.
    pub fn site(&self) -> Option<Site> {
        let mut last = None;
        for (site, contradicted) in WIDER.iter().filter_map(|&times| self.under(times)) {
            last = Some(site);
            if !contradicted {
                break;
            }
        }
        last
    }

    /// The site under beliefs `times` as wide, and whether there is a direction in which it leaves
    /// out what the readings say.
    fn under(&self, times: f64) -> Option<(Site, bool)> {
        let wider = self.draws.iter().filter_map(|draw| widened(draw, times));
        let wider: Vec<Joint<COEFFICIENTS>> = wider.collect();
        if wider.is_empty() {
            return None;
        }
        let (mean, covariance) = moments(&wider);
        Some(divided(&mean, &covariance, times))
    }
}

/// A draw under beliefs that are `times` as wide: its weight has the logarithm of the likelihood
/// that it has then, over that which it has now, in the place of the weight.
fn widened(draw: &Joint<COEFFICIENTS>, wider: f64) -> Option<Joint<COEFFICIENTS>> {
    let (precision, log_covariance) = inverse(&draw.covariance)?;
    let weighted = times(&precision, &draw.mean);
    let mut less = precision;
    (0..COEFFICIENTS).for_each(|at| less[at][at] -= 1.0 - (wider * wider).recip());
    let (covariance, log_less) = inverse(&less)?;
    let mean = times(&covariance, &weighted);
    let explained = dot(&weighted, &mean) - dot(&weighted, &draw.mean);
    let size = COEFFICIENTS as f64 * 2.0 * wider.ln();
    let weight = draw.weight.ln() + 0.5 * (explained - log_covariance - log_less - size);
    Some(Joint { weight, mean, covariance })
}

/// Mean and covariance of draws with the logarithms of their weights.
fn moments(draws: &[Joint<COEFFICIENTS>]) -> (Column, Square) {
    let top = draws.iter().map(|draw| draw.weight).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = draws.iter().map(|draw| (draw.weight - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    let average = |value: &dyn Fn(&Joint<COEFFICIENTS>) -> f64| -> f64 {
        draws.iter().zip(&weights).map(|(draw, weight)| weight * value(draw)).sum::<f64>() / sum
    };
    let mean: Column = std::array::from_fn(|at| average(&|draw| draw.mean[at]));
    let covariance = std::array::from_fn(|at| {
        std::array::from_fn(|to| {
            average(&|draw| {
                let off = |at: usize| draw.mean[at] - mean[at];
                draw.covariance[at][to] + off(at) * off(to)
            })
        })
    });
    (mean, covariance)
}

/// The beliefs, `times` as wide as standard normal, divided out of a mean and a covariance: direction
/// by direction of the covariance's own.
fn divided(mean: &Column, covariance: &Square, wider: f64) -> (Site, bool) {
    let eigen = Eigen::of(&covariance.map(|row| row.map(|value| value / (wider * wider))));
    let (mut information, mut weighted) = ([0.0; COEFFICIENTS], [0.0; COEFFICIENTS]);
    let mut contradicted = false;
    for (at, (&variance, vector)) in eigen.values.iter().zip(&eigen.vectors).enumerate() {
        let moved = dot(vector, mean) / wider;
        let more = variance.recip() - 1.0;
        // Of strong readings the estimate may lie anywhere.
        if more < 1.0 && moved.abs() > FAR * (1.0 - variance).max(0.0) + SLIGHTLY {
            contradicted = true;
        } else if more > NOTHING {
            information[at] = more / (wider * wider);
            weighted[at] = moved / variance / wider;
        }
    }
    let turned = |at: usize| -> f64 {
        weighted.iter().zip(&eigen.vectors).map(|(w, vector)| w * vector[at]).sum()
    };
    let weighted = std::array::from_fn(turned);
    (Site { information: eigen.with_values(&information), weighted }, contradicted)
}
