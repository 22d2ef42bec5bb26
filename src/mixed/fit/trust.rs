//! Whether weighted draws can be trusted: how many count, how much weight one carries, and how
//! heavy the tail of the weights is.

use serde::Serialize;

/// The number of largest weights that make up the tail: this share of all, but at most this many
/// times the root of their number. Source: Vehtari, Simpson, Gelman, Yao and Gabry (2024), "Pareto
/// smoothed importance sampling", JMLR 25(72).
const TAIL_SHARE: f64 = 0.2;
const TAIL_ROOTS: f64 = 3.0;
/// Fewer weights than this say nothing about a tail.
const FEWEST: usize = 5;

/// What the weights of the draws say about their reliability.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Trust {
    /// Effective number of draws: `(Σw)²/Σw²`.
    pub effective: f64,
    /// Share of the total weight on the heaviest draw.
    pub largest: f64,
    /// Shape k̂ of the generalised Pareto distribution of the largest weights. Up to 0.5 averages
    /// converge as they should; from 0.7 on they cannot be relied on.
    pub pareto_k: f64,
}

impl Trust {
    /// From normalised weights.
    pub fn of(weights: &[f64]) -> Self {
        Self {
            effective: effective(weights),
            largest: weights.iter().copied().fold(0.0, f64::max),
            pareto_k: pareto_k(weights),
        }
    }
}

/// Effective number of draws with these normalised weights: `1/Σw²`.
pub(crate) fn effective(weights: &[f64]) -> f64 {
    weights.iter().map(|w| w * w).sum::<f64>().recip()
}

/// k̂ of the tail of the weights; −∞ without a tail.
fn pareto_k(weights: &[f64]) -> f64 {
    let count = weights.len() as f64;
    let tail = (TAIL_SHARE * count).min(TAIL_ROOTS * count.sqrt()).ceil() as usize;
    let mut sorted = weights.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let Some(cut) = sorted.len().checked_sub(tail + 1).filter(|_| tail >= FEWEST) else {
        return f64::NEG_INFINITY;
    };
    let beyond: Vec<f64> = sorted[cut + 1..].iter().map(|weight| weight - sorted[cut]).collect();
    shape(&beyond)
}

/// Shape of the generalised Pareto distribution of `x`, in rising order, by the posterior mean of
/// Zhang and Stephens (2009), Technometrics 51, "A new and efficient estimation method for the
/// generalized Pareto distribution". Drawn towards 0.5 as by ten more values, after Vehtari and
/// others.
fn shape(x: &[f64]) -> f64 {
    const PRIOR: f64 = 3.0;
    const TOWARDS: (f64, f64) = (0.5, 10.0);
    let n = x.len() as f64;
    let (quartile, largest) = (x[((n / 4.0 + 0.5) as usize).max(1) - 1], x[x.len() - 1]);
    if quartile <= 0.0 {
        return if largest > 0.0 { f64::INFINITY } else { f64::NEG_INFINITY };
    }
    let grid = 30.0 + n.sqrt().floor();
    let at = |j: u32| (1.0 - (grid / (f64::from(j) - 0.5)).sqrt()) / (PRIOR * quartile);
    let candidates: Vec<f64> = (1..=grid as u32).map(|j| at(j) + largest.recip()).collect();
    let k = |b: f64| x.iter().map(|x| (-b * x).ln_1p()).sum::<f64>() / n;
    let profile = |&b: &f64| n * ((-b / k(b)).ln() - k(b) - 1.0);
    let logs: Vec<f64> = candidates.iter().map(profile).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    let b = candidates.iter().zip(&weights).map(|(b, w)| b * w).sum::<f64>() / sum;
    (n * k(b) + TOWARDS.0 * TOWARDS.1) / (n + TOWARDS.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Weights `exp(scale·z)` at the normal quantiles of `count` equal shares.
    fn weights(count: usize, scale: f64) -> Vec<f64> {
        use statrs::distribution::{ContinuousCDF, Normal};
        let normal = Normal::new(0.0, 1.0).unwrap();
        let at = |i: usize| (i as f64 + 0.5) / count as f64;
        let raw: Vec<f64> = (0..count).map(|i| (scale * normal.inverse_cdf(at(i))).exp()).collect();
        let sum: f64 = raw.iter().sum();
        raw.iter().map(|weight| weight / sum).collect()
    }

    /// tests/reference/SOURCE.md names the source of these figures.
    #[test]
    fn the_shape_of_the_tail_is_that_of_another_library() {
        let theirs = include_str!("../../../tests/reference/pareto_arviz.csv");
        let mut seen = 0;
        for line in theirs.lines().skip(1) {
            let row: Vec<f64> = line.split(',').map(|field| field.parse().unwrap()).collect();
            let ours = Trust::of(&weights(row[0] as usize, row[1])).pareto_k;
            assert!((ours - row[2]).abs() < 1e-9, "{row:?}: {ours}");
            seen += 1;
        }
        assert!(seen >= 8);
    }

    #[test]
    fn even_weights_all_count_and_have_no_tail() {
        let trust = Trust::of(&[0.01; 100]);
        assert!((trust.effective - 100.0).abs() < 1e-9);
        assert_eq!((trust.largest, trust.pareto_k), (0.01, f64::NEG_INFINITY));
    }

    #[test]
    fn one_draw_that_carries_all_is_not_to_be_trusted() {
        let mut weights = vec![0.0; 1000];
        weights[17] = 1.0;
        let trust = Trust::of(&weights);
        assert_eq!((trust.effective, trust.largest, trust.pareto_k), (1.0, 1.0, f64::INFINITY));
    }
}
