//! Weights corrected by what is known to hold under the posterior.

use super::envelope::{Envelope, dot};
use super::trust::normalise;

/// Held back from the correction: the share of each identity's own variance that is added to it,
/// so that few points do not swing about to meet many identities.
const HELD_BACK: f64 = 0.02;
/// Points for each identity, under which only the plain ones are used.
const POINTS_EACH: usize = 4;

/// Weights after the correction.
#[derive(Clone, Debug)]
pub(super) struct Balanced {
    /// They sum to one.
    pub weights: Vec<f64>,
    /// By how much they were changed: the root of the weighted mean square of their relative
    /// changes. It is a measure of how far averages over the points were off before.
    pub change: f64,
}

/// Corrects weights of points so that `E[∂(x_k·q)/∂x_k + x_k·q·∂log p/∂x_k] = 0` holds as it does
/// under the posterior p, for `q = 1` and, where `bounded` (tails that fall off as a Gaussian's)
/// and enough points are given, `q = x_j`; `slopes` are `x_k·∂log p/∂x_k`. With H these functions and
/// D their weighted products, each weight is multiplied by `1 − Hᵀ·D⁻¹·E[H]`, which takes out of
/// every average what it has in common with them.
///
/// Source: Mira, Solgi and Imparato (2013), "Zero variance Markov chain Monte Carlo for Bayesian
/// estimators", Statistics and Computing 23; Oates, Girolami and Chopin (2017), "Control functionals
/// for Monte Carlo integration", JRSS B 79.
pub(super) fn balanced(
    points: &[&[f64]],
    slopes: &[Vec<f64>],
    weights: Vec<f64>,
    bounded: bool,
) -> Balanced {
    let spreads = points.first().map_or(0, |x| x.len());
    let all = spreads * (spreads + 1);
    let steep = bounded && points.len() >= POINTS_EACH * all;
    let scales = scales(points, &weights);
    let functions: Vec<Vec<f64>> = (points.iter().zip(slopes))
        .map(|(x, slopes)| identities(x, slopes, &scales, steep))
        .collect();
    let Some(shares) = shares(&functions, &weights) else {
        return Balanced { weights, change: f64::INFINITY };
    };
    let factor = |function: &Vec<f64>| 1.0 - dot(function, &shares);
    let factors: Vec<f64> = functions.iter().map(factor).collect();
    let squares = factors.iter().zip(&weights).map(|(f, w)| w * (f - 1.0) * (f - 1.0));
    let change = squares.sum::<f64>().sqrt();
    let mut corrected: Vec<f64> =
        factors.iter().zip(&weights).map(|(factor, weight)| weight * factor.max(0.0)).collect();
    normalise(&mut corrected);
    Balanced { weights: corrected, change }
}

/// The weighted root mean square of each coordinate.
fn scales(points: &[&[f64]], weights: &[f64]) -> Vec<f64> {
    let spreads = points.first().map_or(0, |x| x.len());
    let square = |k: usize| points.iter().zip(weights).map(|(x, w)| w * x[k] * x[k]).sum::<f64>();
    (0..spreads).map(|k| square(k).sqrt().max(f64::MIN_POSITIVE)).collect()
}

fn identities(x: &[f64], slopes: &[f64], scales: &[f64], steep: bool) -> Vec<f64> {
    let mut found: Vec<f64> = slopes.iter().map(|slope| 1.0 + slope).collect();
    if steep {
        for (k, slope) in slopes.iter().enumerate() {
            let each = x.iter().zip(scales).enumerate();
            found.extend(each.map(|(j, (x, scale))| {
                let own = if j == k { 2.0 } else { 1.0 };
                x / scale * (own + slope)
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
    envelope.factorise(&mut products)?;
    envelope.forward(&products, &mut mean, 0);
    envelope.backward(&products, &mut mean);
    Some(mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `|Z|` in two dimensions from points that are drawn as `1.2·|Z|` and weighed as if they were
    /// `|Z|` already: second moments are off by 44 % before, and nearly right after.
    #[test]
    fn moments_of_wrong_weights_are_put_right() {
        let points: Vec<Vec<f64>> = super::super::surprises(256, 2)
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
        let points: Vec<&[f64]> = points.iter().map(Vec::as_slice).collect();
        let found = balanced(&points, &slopes, even, true);
        assert!(found.change > 0.2, "{}", found.change);
        assert!((found.weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        // E|Z| = √(2/π), E Z² = 1.
        assert!((moment(&found.weights, 1) - 0.797_885).abs() < 0.02, "{found:?}");
        assert!((moment(&found.weights, 2) - 1.0).abs() < 0.02, "{}", moment(&found.weights, 2));
    }
}
