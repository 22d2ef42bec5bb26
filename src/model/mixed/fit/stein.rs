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
    /// The largest standard error that a spread's mean, in its standard deviations, or its standard
    /// deviation, as a share, would have were the points random ones.
    pub error: f64,
}

/// Corrects weights of points so that `E[∂(x_k·q)/∂x_k + x_k·q·∂log p/∂x_k] = 0` holds as it does
/// under the posterior p, for `q = 1` and, where `bounded` (tails that fall off as a Gaussian's) and
/// enough points are given, x_j in standard deviations from its mean; `slopes` are `x_k·∂log p/∂x_k`.
/// With H these functions and D their weighted products, each weight is multiplied by
/// `1 − Hᵀ·D⁻¹·E[H]`, which takes out of every average what it has in common with them. A change
/// beyond `most` is not made: few points would swing about.
///
/// Source: Mira, Solgi and Imparato (2013), "Zero variance Markov chain Monte Carlo for Bayesian
/// estimators", Statistics and Computing 23; Oates, Girolami and Chopin (2017), "Control functionals
/// for Monte Carlo integration", JRSS B 79.
pub(crate) fn balanced(
    points: &[Vec<f64>],
    slopes: &[Vec<f64>],
    weights: &[f64],
    bounded: bool,
    most: f64,
) -> Balanced {
    let identities = Identities::new(points, slopes, weights, bounded);
    let off = identities.as_ref().map(|it| it.explained(&vec![1.0; points.len()]));
    let change = off.as_ref().map_or(f64::INFINITY, |off| {
        off.iter().zip(weights).map(|(off, weight)| weight * off * off).sum::<f64>().sqrt()
    });
    let used = identities.filter(|_| change <= most);
    let mut corrected = weights.to_vec();
    if let (Some(_), Some(off)) = (&used, off) {
        corrected.iter_mut().zip(off).for_each(|(weight, off)| *weight *= (1.0 - off).max(0.0));
        let sum: f64 = corrected.iter().sum();
        corrected.iter_mut().for_each(|weight| *weight /= sum);
    }
    let error = largest_error(points, &corrected, used.as_ref());
    Balanced { weights: corrected, change, error }
}

/// The largest standard error that a spread's mean, in its standard deviations, or its standard
/// deviation, as a share, would have were the points random ones: by what the identities leave
/// unexplained of it.
fn largest_error(points: &[Vec<f64>], weights: &[f64], used: Option<&Identities<'_>>) -> f64 {
    let count = effective(weights);
    let free = (count - used.map_or(0, Identities::count) as f64).max(0.0);
    let error = |mut left: Vec<f64>| {
        if let Some(identities) = used {
            let explained = identities.explained(&left);
            left.iter_mut().zip(explained).for_each(|(left, explained)| *left -= explained);
        }
        let centre = dot(&left, weights);
        let squares = left.iter().zip(weights).map(|(left, w)| (w * (left - centre)).powi(2));
        (squares.sum::<f64>() * count / free).sqrt()
    };
    let each = moments(points, weights).into_iter().enumerate().map(|(k, (mean, sd))| {
        let off: Vec<f64> = points.iter().map(|x| (x[k] - mean) / sd).collect();
        // A share of the variance is twice that of its root.
        let of_deviation = 0.5 * error(off.iter().map(|off| off * off - 1.0).collect());
        of_deviation.max(error(off))
    });
    each.fold(0.0, f64::max)
}

/// Functions of points whose averages under the posterior are zero.
struct Identities<'a> {
    functions: Vec<Vec<f64>>,
    weights: &'a [f64],
    envelope: Envelope,
    /// Their weighted products, factorised.
    products: Vec<f64>,
}

impl<'a> Identities<'a> {
    /// `None` where they cannot be told apart.
    fn new(
        points: &[Vec<f64>],
        slopes: &[Vec<f64>],
        weights: &'a [f64],
        bounded: bool,
    ) -> Option<Self> {
        let spreads = points.first().map_or(0, Vec::len);
        let all = spreads * (spreads + 1);
        let steep = bounded && effective(weights) >= (POINTS_EACH * all) as f64;
        let moments = moments(points, weights);
        let functions: Vec<Vec<f64>> = (points.iter().zip(slopes))
            .map(|(x, slopes)| identities(x, slopes, &moments, steep))
            .collect();
        let size = functions.first().map_or(0, Vec::len);
        let envelope = Envelope::new(size, std::iter::once(0..size));
        let mut products = vec![0.0; envelope.len()];
        for (function, &weight) in functions.iter().zip(weights) {
            let mut at = 0;
            for (i, &one) in function.iter().enumerate() {
                let scaled = weight * one;
                let row = &mut products[at..=at + i];
                row.iter_mut().zip(function).for_each(|(sum, other)| *sum += scaled * other);
                at += i + 1;
            }
        }
        (0..size).for_each(|i| products[envelope.index(i, i)] *= 1.0 + HELD_BACK);
        let [determinant] = envelope.factorise::<1>(products.as_chunks_mut().0);
        determinant.is_finite().then_some(Self { functions, weights, envelope, products })
    }

    fn count(&self) -> usize {
        self.functions.first().map_or(0, Vec::len)
    }

    /// What they explain of values at the points: the fit to them by weighted least squares.
    fn explained(&self, values: &[f64]) -> Vec<f64> {
        let mut shares = vec![0.0; self.count()];
        for ((function, weight), value) in self.functions.iter().zip(self.weights).zip(values) {
            let scaled = weight * value;
            shares.iter_mut().zip(function).for_each(|(sum, one)| *sum += scaled * one);
        }
        let (products, solved) = (self.products.as_chunks().0, shares.as_chunks_mut().0);
        self.envelope.forward::<1>(products, solved, 0, &mut Vec::new());
        self.envelope.backward(products, solved);
        self.functions.iter().map(|function| dot(function, &shares)).collect()
    }
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
        let found = balanced(&points, &slopes, &even, true, 1.0);
        assert!(found.change > 0.2, "{}", found.change);
        assert!((found.weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        // E|Z| = √(2/π), E Z² = 1.
        assert!((moment(&found.weights, 1) - 0.797_885).abs() < 0.02, "{found:?}");
        assert!((moment(&found.weights, 2) - 1.0).abs() < 0.02, "{}", moment(&found.weights, 2));
    }
}
