//! Weights corrected by what is known to hold under the posterior.

use super::proposal::moments;
use super::trust::effective;
use crate::model::mixed::algebra::envelope::{Envelope, dot};

/// Held back from the correction: the share of each identity's own variance that is added to it,
/// so that few points do not swing about to meet many identities.
const HELD_BACK: f64 = 0.02;
/// Points that count for each identity, under which only the plain ones are used.
const POINTS_EACH: usize = 3;

/// Weights after the correction.
#[derive(Clone, Debug)]
pub(crate) struct Balanced {
    /// They sum to one.
    pub weights: Vec<f64>,
    /// By how much they were changed: the root of the weighted mean square of their relative
    /// changes. It is a measure of how far averages over the points were off before.
    pub change: f64,
}

/// Corrects weights of points so that `E[∂(x_k·q)/∂x_k + x_k·q·∂log p/∂x_k] = 0` holds as it does
/// under the posterior p, for `q = 1` and, where `bounded` (tails that fall off as a Gaussian's)
/// and enough points are given, x_j in standard deviations from its mean; `slopes` are `x_k·∂log p/∂x_k`. With H these functions and
/// D their weighted products, each weight is multiplied by `1 − Hᵀ·D⁻¹·E[H]`, which takes out of
/// every average what it has in common with them.
///
/// Source: Mira, Solgi and Imparato (2013), "Zero variance Markov chain Monte Carlo for Bayesian
/// estimators", Statistics and Computing 23; Oates, Girolami and Chopin (2017), "Control functionals
/// for Monte Carlo integration", JRSS B 79.
pub(crate) fn balanced(
    points: &[Vec<f64>],
    slopes: &[Vec<f64>],
    weights: &[f64],
    bounded: bool,
) -> Balanced {
    let spreads = points.first().map_or(0, Vec::len);
    let all = spreads * (spreads + 1);
    let steep = bounded && effective(weights) >= (POINTS_EACH * all) as f64;
    let moments = moments(points, weights);
    let functions: Vec<Vec<f64>> = (points.iter().zip(slopes))
        .map(|(x, slopes)| identities(x, slopes, &moments, steep))
        .collect();
    let Some(shares) = shares(&functions, weights) else {
        return Balanced { weights: weights.to_vec(), change: f64::INFINITY };
    };
    let factor = |function: &Vec<f64>| 1.0 - dot(function, &shares);
    let factors: Vec<f64> = functions.iter().map(factor).collect();
    let squares = factors.iter().zip(weights).map(|(f, w)| w * (f - 1.0) * (f - 1.0));
    let change = squares.sum::<f64>().sqrt();
    let mut corrected: Vec<f64> =
        factors.iter().zip(weights).map(|(factor, weight)| weight * factor.max(0.0)).collect();
    let sum: f64 = corrected.iter().sum();
    corrected.iter_mut().for_each(|weight| *weight /= sum);
    Balanced { weights: corrected, change }
}

fn identities(x: &[f64], slopes: &[f64], moments: &[(f64, f64)], steep: bool) -> Vec<f64> {
    let mut found: Vec<f64> = slopes.iter().map(|slope| 1.0 + slope).collect();
    if steep {
        for (k, slope) in slopes.iter().enumerate() {
            let each = x.iter().zip(moments).enumerate();
            found.extend(each.map(|(j, (x, (mean, sd)))| {
                let own = if j == k { x / sd } else { 0.0 };
                (x - mean) / sd * (1.0 + slope) + own
            }));
        }
    }
    found
}

/// `D⁻¹·E[H]`; `None` where the identities cannot be told apart.
fn shares(functions: &[Vec<f64>], weights: &[f64]) -> Option<Vec<f64>> {
    let size = functions.first().map_or(0, Vec::len);
    let envelope = Envelope::new(size, std::iter::once(0..size));
    let (mut products, mut mean) = (vec![0.0; envelope.len()], vec![0.0; size]);
    for (function, &weight) in functions.iter().zip(weights) {
        let mut at = 0;
        for (i, &one) in function.iter().enumerate() {
            let scaled = weight * one;
            mean[i] += scaled;
            let row = &mut products[at..=at + i];
            row.iter_mut().zip(function).for_each(|(sum, other)| *sum += scaled * other);
            at += i + 1;
        }
    }
    (0..size).for_each(|i| products[envelope.index(i, i)] *= 1.0 + HELD_BACK);
    let (products, mean) = (products.as_chunks_mut().0, mean.as_chunks_mut().0);
    let [determinant] = envelope.factorise::<1>(products);
    envelope.forward(products, mean, 0, &mut Vec::new());
    envelope.backward(products, mean);
    determinant.is_finite().then(|| mean.as_flattened().to_vec())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `|Z|` in two dimensions from points that are drawn as `1.2·|Z|` and weighed as if they were
    /// `|Z|` already: second moments are off by 44 % before, and nearly right after.
    #[test]
    fn moments_of_wrong_weights_are_put_right() {
        let points: Vec<Vec<f64>> = crate::model::mixed::surprises(256, 2)
            .into_iter()
            .map(|z| z.iter().map(|z| 1.2 * z.abs()).collect())
            .collect();
        let slopes: Vec<Vec<f64>> =
            points.iter().map(|x| x.iter().map(|x| -x * x).collect()).collect();
        let moment = |weights: &[f64], power| {
            points.iter().zip(weights).map(|(x, w)| w * x[0].powi(power)).sum::<f64>()
        };
        let even = vec![1.0 / 256.0; 256];
        assert!((moment(&even, 2) - 1.44).abs() < 0.05);
        let found = balanced(&points, &slopes, &even, true);
        assert!(found.change > 0.2, "{}", found.change);
        assert!((found.weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        // E|Z| = √(2/π), E Z² = 1.
        assert!((moment(&found.weights, 1) - 0.797_885).abs() < 0.02, "{found:?}");
        assert!((moment(&found.weights, 2) - 1.0).abs() < 0.02, "{}", moment(&found.weights, 2));
    }
}
