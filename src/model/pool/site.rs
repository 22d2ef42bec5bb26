//! One normal likelihood for what a mixture of normals over the spreads says about the
//! coefficients.

use super::symmetric::{Column, Eigen, dot, inverse, times};
use crate::model::mixed::Joint;
use crate::model::swell::beliefs::{COEFFICIENTS, Square, square};

/// Factors by which the beliefs are widened, one after another, until the readings do not
/// contradict them in any direction. Found by trying: docs/model.md.
const WIDER: [f64; 4] = [1.5, 2.0, 3.0, 4.0];
/// Information up to this share of the beliefs' information is rounding error: variances of a fit
/// have twelve digits or more.
const NOTHING: f64 = 1e-9;
/// In standard deviations of the belief: how far away an estimate may lie in a direction, and how
/// far the mean may have moved in a direction of which nothing is kept.
const FAR: f64 = 100.0;
const SLIGHTLY: f64 = 0.02;

/// A normal likelihood `exp(−½·zᵀIz + wᵀz)` of z, which is believed to be standard normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Site {
    pub information: Square,
    pub weighted: Column,
}

/// The site of expectation propagation, from a fit's draws in units in which the beliefs about the
/// coefficients are standard normal. It is found under beliefs somewhat wider than those of the
/// fit. Under these it preserves the mean and covariance of the mixture. If the readings contradict
/// the beliefs so much that the mixture is wider than they are in some direction, no likelihood does
/// that. The beliefs are then widened further. Source: T. Minka, 2001; docs/model.md, "What a
/// bench's readings say".
///
/// `None` if no draw has a covariance with an inverse.
pub(super) fn site(draws: &[Joint<COEFFICIENTS>]) -> Option<Site> {
    let mut last = None;
    for (site, contradicted) in WIDER.iter().filter_map(|&times| site_under(draws, times)) {
        last = Some(site);
        if !contradicted {
            break;
        }
    }
    last
}

/// The site under beliefs `times` as wide, and whether it leaves out what the readings say in some
/// direction.
fn site_under(draws: &[Joint<COEFFICIENTS>], times: f64) -> Option<(Site, bool)> {
    let wider: Vec<_> = draws.iter().filter_map(|draw| widened(draw, times)).collect();
    if wider.is_empty() {
        return None;
    }
    let (mean, covariance) = moments(&wider);
    Some(divided(&mean, &covariance, times))
}

/// A draw under beliefs that are `wider` times as wide. Its `weight` becomes the log of its weight,
/// plus the log of its likelihood then over that now.
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

/// Mean and covariance of draws whose weights are logarithms.
fn moments(draws: &[Joint<COEFFICIENTS>]) -> (Column, Square) {
    let top = draws.iter().map(|draw| draw.weight).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = draws.iter().map(|draw| (draw.weight - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    let average = |value: &dyn Fn(&Joint<COEFFICIENTS>) -> f64| -> f64 {
        draws.iter().zip(&weights).map(|(draw, weight)| weight * value(draw)).sum::<f64>() / sum
    };
    let mean: Column = std::array::from_fn(|at| average(&|draw| draw.mean[at]));
    let covariance = square(|at, to| {
        average(&|draw| {
            let off = |at: usize| draw.mean[at] - mean[at];
            draw.covariance[at][to] + off(at) * off(to)
        })
    });
    (mean, covariance)
}

/// Divides the beliefs, `wider` times as wide as standard normal, out of a mean and a covariance.
/// It works along the eigenvectors of the covariance.
fn divided(mean: &Column, covariance: &Square, wider: f64) -> (Site, bool) {
    let eigen = Eigen::of(&covariance.map(|row| row.map(|value| value / (wider * wider))));
    let (mut information, mut weighted) = ([0.0; COEFFICIENTS], [0.0; COEFFICIENTS]);
    let mut contradicted = false;
    for (at, (&variance, vector)) in eigen.values.iter().zip(&eigen.vectors).enumerate() {
        let moved = dot(vector, mean) / wider;
        let more = variance.recip() - 1.0;
        // If readings are strong, the estimate may lie anywhere.
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
