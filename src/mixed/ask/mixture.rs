//! Weighted mixtures of normal distributions. Every range and every chance comes from one.

use super::normal::{normal_between, normal_cdf};
use serde::Serialize;
use std::sync::Arc;

/// Most Newton steps. Bisection alone would need fewer.
const MAX_STEPS: usize = 200;
/// A quantile is settled when a Newton step is below this share of the mixture's sd. Each step
/// squares the error, so what is left is far below any digit shown.
const SETTLED: f64 = 1e-7;

/// A mixture of normal distributions, with one component for each draw of the spreads.
#[derive(Clone, Debug)]
pub struct Mixture {
    weights: Arc<[f64]>,
    means: Vec<f64>,
    sds: Vec<f64>,
}

/// Mean, standard deviation and the 5, 50 and 95 % quantiles.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Summary {
    pub mean: f64,
    pub sd: f64,
    pub q05: f64,
    pub q50: f64,
    pub q95: f64,
}

/// A distribution with its ranges: 90 % lie between `q05` and `q95`, and half between `q25` and
/// `q75`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ranges {
    pub mean: f64,
    pub sd: f64,
    pub q05: f64,
    pub q25: f64,
    pub q50: f64,
    pub q75: f64,
    pub q95: f64,
}

impl Ranges {
    /// The same for a quantity that is greater by `more`.
    pub fn raised(self, more: f64) -> Self {
        let Self { mean, sd, q05, q25, q50, q75, q95 } = self;
        let [mean, q05, q25, q50, q75, q95] = [mean, q05, q25, q50, q75, q95].map(|x| x + more);
        Self { mean, sd, q05, q25, q50, q75, q95 }
    }
}

impl Mixture {
    /// A mixture from weights that sum to one, and as many means and standard deviations.
    pub fn new(weights: Arc<[f64]>, means: Vec<f64>, sds: Vec<f64>) -> Self {
        Self { weights, means, sds }
    }

    /// The components: weight, mean and standard deviation.
    pub fn components(&self) -> impl Iterator<Item = (f64, f64, f64)> + '_ {
        (self.weights.iter().zip(&self.means).zip(&self.sds)).map(|((&w, &m), &s)| (w, m, s))
    }

    pub fn mean(&self) -> f64 {
        self.components().map(|(w, m, _)| w * m).sum()
    }

    pub fn sd(&self) -> f64 {
        let mean = self.mean();
        self.components().map(|(w, m, s)| w * (s * s + (m - mean) * (m - mean))).sum::<f64>().sqrt()
    }

    /// The probabilities below and above `x`. Each keeps its digits where it is small.
    pub fn tails(&self, x: f64) -> (f64, f64) {
        let below = |(w, m, s)| w * normal_share(x, m, s);
        let above = |(w, m, s): (f64, f64, f64)| w * normal_share(-x, -m, s);
        (self.components().map(below).sum(), self.components().map(above).sum())
    }

    /// A copy with an independent error of this variance added.
    pub fn with_noise(&self, variance: f64) -> Self {
        let sds = self.sds.iter().map(|sd| sd.hypot(variance.sqrt())).collect();
        Self { weights: Arc::clone(&self.weights), means: self.means.clone(), sds }
    }

    /// Log density at `x`: `ln Σ w·φ((x − m)/s)/s`. It is summed relative to the largest term, so
    /// that far tails do not vanish. Infinite where a component is a point mass at `x`.
    pub fn log_density(&self, x: f64) -> f64 {
        let term = |(w, m, s): (f64, f64, f64)| w.ln() + normal_log_density(x, m, s);
        let top = self.components().map(term).fold(f64::NEG_INFINITY, f64::max);
        if !top.is_finite() {
            return top;
        }
        top + self.components().map(|part| (term(part) - top).exp()).sum::<f64>().ln()
    }

    /// The value with probability `p` below it.
    pub fn quantile(&self, p: f64) -> f64 {
        let [quantile] = self.quantiles([p]).2;
        quantile
    }

    /// Mean, standard deviation, and the quantiles at these probabilities.
    fn quantiles<const N: usize>(&self, shares: [f64; N]) -> (f64, f64, [f64; N]) {
        let (mean, sd) = (self.mean(), self.sd());
        if sd == 0.0 {
            return (mean, sd, [mean; N]);
        }
        (mean, sd, shares.map(|p| invert(|x| self.share(x), p, mean, sd)))
    }

    /// The probability at or below `x`, to 10⁻⁹, and its slope.
    fn share(&self, x: f64) -> (f64, f64) {
        self.components().fold((0.0, 0.0), |(share, slope), (w, m, s)| {
            if s > 0.0 {
                let (below, density) = normal_between((x - m) / s);
                (share + w * below, slope + w * density / s)
            } else {
                (share + w * normal_share(x, m, s), slope)
            }
        })
    }

    pub fn ranges(&self) -> Ranges {
        let (mean, sd, [q05, q25, q50, q75, q95]) = self.quantiles([0.05, 0.25, 0.5, 0.75, 0.95]);
        Ranges { mean, sd, q05, q25, q50, q75, q95 }
    }

    /// The same distribution with at most `groups` components. Components with neighbouring
    /// standard deviations are merged into one with their joint weight, mean and variance. The mean
    /// and standard deviation of the whole do not change. With 64 groups, quantiles move by about a
    /// thousandth of a standard deviation (tested), at a small part of the work.
    pub fn condensed(&self, groups: usize) -> Self {
        let mut parts: Vec<(f64, f64, f64)> = self.components().collect();
        parts.sort_unstable_by(|a, b| a.2.total_cmp(&b.2));
        let joined = parts.chunks(parts.len().div_ceil(groups.max(1)).max(1)).map(|group| {
            let weight: f64 = group.iter().map(|part| part.0).sum();
            let share = |part: &(f64, f64, f64)| if weight > 0.0 { part.0 / weight } else { 0.0 };
            let mean: f64 = group.iter().map(|part| share(part) * part.1).sum();
            let variance: f64 = group
                .iter()
                .map(|part| share(part) * (part.2 * part.2 + (part.1 - mean).powi(2)))
                .sum();
            (weight, (mean, variance.sqrt()))
        });
        let (weights, (means, sds)): (Vec<f64>, (Vec<f64>, Vec<f64>)) = joined.unzip();
        Self { weights: weights.into(), means, sds }
    }

    pub fn summary(&self) -> Summary {
        let (mean, sd, [q05, q50, q95]) = self.quantiles([0.05, 0.5, 0.95]);
        Summary { mean, sd, q05, q50, q95 }
    }
}

/// The probability of a normal distribution at or below `x`; a point mass if `sd` is zero.
fn normal_share(x: f64, mean: f64, sd: f64) -> f64 {
    if sd > 0.0 {
        normal_cdf((x - mean) / sd)
    } else if x >= mean {
        1.0
    } else {
        0.0
    }
}

/// Log density of a normal distribution; a point mass if `sd` is zero.
fn normal_log_density(x: f64, mean: f64, sd: f64) -> f64 {
    if sd > 0.0 {
        let z = (x - mean) / sd;
        -0.5 * (z * z + std::f64::consts::TAU.ln()) - sd.ln()
    } else if x == mean {
        f64::INFINITY
    } else {
        f64::NEG_INFINITY
    }
}

/// Inverts a distribution function given with its slope, by Newton steps kept inside a bracket.
/// `centre` and `width` say where the distribution roughly lies.
///
/// The first guess is the normal quantile by Tukey's lambda distribution, whose quantiles at λ =
/// 0.14 are nearly normal. Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.6.15. The
/// factor is from memory, and nothing depends on it.
pub fn invert(cdf: impl Fn(f64) -> (f64, f64), p: f64, centre: f64, width: f64) -> f64 {
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut x = centre + 4.91 * width * (p.powf(0.14) - (1.0 - p).powf(0.14));
    for _ in 0..MAX_STEPS {
        let (share, slope) = cdf(x);
        if share < p {
            low = x;
        } else {
            high = x;
        }
        let newton = x - (share - p) / slope;
        let next = if (low..=high).contains(&newton) && (newton - x).abs() < 8.0 * width {
            if (newton - x).abs() < SETTLED * width {
                return newton;
            }
            newton
        } else if low.is_finite() && high.is_finite() {
            0.5 * (low + high)
        } else {
            x + if share < p { 4.0 * width } else { -4.0 * width }
        };
        if next == x {
            return next;
        }
        x = next;
    }
    x
}

/// Mean, standard deviation and quantiles of weighted values. Half of each value's weight lies
/// below it and half above. Quantiles are interpolated between values.
pub fn weighted_summary(values: &[f64], weights: &[f64]) -> Summary {
    let mean: f64 = values.iter().zip(weights).map(|(x, w)| x * w).sum();
    let variance: f64 = values.iter().zip(weights).map(|(x, w)| w * (x - mean).powi(2)).sum();
    let mut pairs: Vec<_> = values.iter().copied().zip(weights.iter().copied()).collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let quantile = |p| weighted_quantile(&pairs, p);
    Summary {
        mean,
        sd: variance.sqrt(),
        q05: quantile(0.05),
        q50: quantile(0.5),
        q95: quantile(0.95),
    }
}

fn weighted_quantile(sorted: &[(f64, f64)], p: f64) -> f64 {
    let mut below = 0.0;
    let mut last: Option<(f64, f64)> = None;
    for &(value, weight) in sorted {
        let middle = below + 0.5 * weight;
        if middle >= p {
            return match last {
                Some((left, share)) if middle > share => {
                    left + (value - left) * (p - share) / (middle - share)
                }
                _ => value,
            };
        }
        last = Some((value, middle));
        below += weight;
    }
    last.map_or(f64::NAN, |(value, _)| value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_component_has_the_quantiles_of_the_normal() {
        let mixture = Mixture::new(Arc::from([1.0]), vec![10.0], vec![2.0]);
        // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1: z(0.95) = 1.644854.
        assert!((mixture.quantile(0.95) - (10.0 + 2.0 * 1.644_853_627)).abs() < 1e-8);
        assert!((mixture.quantile(0.5) - 10.0).abs() < 1e-9);
    }

    #[test]
    fn quantiles_invert_the_distribution_of_far_apart_components() {
        let mixture = Mixture::new(Arc::from([0.3, 0.7]), vec![-50.0, 20.0], vec![0.01, 5.0]);
        for p in [0.001, 0.05, 0.29, 0.31, 0.5, 0.95, 0.999] {
            assert!((mixture.tails(mixture.quantile(p)).0 - p).abs() < 1e-9, "{p}");
        }
    }

    #[test]
    fn the_log_density_keeps_its_digits_far_out() {
        let mixture = Mixture::new(Arc::from([0.25, 0.75]), vec![0.0, 1.0], vec![1.0, 2.0]);
        // By hand: 0.25·φ(2) + 0.75·φ(0.5)/2 = 0.25·0.0539909665 + 0.375·0.3520653268.
        assert!((mixture.log_density(2.0).exp() - 0.145_522_239_2).abs() < 1e-9);
        // 60 sds out the density underflows; its log is the wide component's ln(0.375) − 59.5²/2 −
        // ….
        let far = 0.375_f64.ln() - 0.5 * 59.5 * 59.5 - 0.5 * std::f64::consts::TAU.ln();
        assert!((mixture.log_density(120.0) - far).abs() < 1e-9);
        let (below, above) = mixture.tails(-20.0);
        assert!(below > 0.0 && below < 1e-20 && above == 1.0);
    }

    #[test]
    fn noise_adds_its_variance_to_every_component() {
        let mixture = Mixture::new(Arc::from([0.5, 0.5]), vec![0.0, 2.0], vec![3.0, 0.0]);
        let sds: Vec<f64> = mixture.with_noise(16.0).components().map(|part| part.2).collect();
        assert_eq!(sds, [5.0, 4.0]);
    }

    /// A thousand components whose means follow their sds, as with shrunk effects.
    #[test]
    fn a_condensed_mixture_keeps_its_moments_and_quantiles() {
        let count = 1000;
        let at = |index: usize| (index as f64 + 0.5) / f64::from(count);
        let jitter = |index: usize| ((index * 7919) % 1000) as f64 / 1000.0 - 0.5;
        let weights: Vec<f64> = (0..1000).map(|i| (1.0 + jitter(i)) / 1000.0).collect();
        let sum: f64 = weights.iter().sum();
        let weights = weights.into_iter().map(|w| w / sum).collect::<Vec<_>>();
        let means = (0..1000).map(|i| 1.5 * at(i) + 0.4 * jitter(i)).collect();
        let sds = (0..1000).map(|i| 0.3 + 0.9 * at(i)).collect();
        let whole = Mixture::new(weights.into(), means, sds);
        let small = whole.condensed(64);
        assert!(small.components().count() <= 64);
        assert!((small.mean() - whole.mean()).abs() < 1e-12);
        assert!((small.sd() - whole.sd()).abs() < 1e-12);
        for p in [0.05, 0.25, 0.5, 0.75, 0.95] {
            let off = (small.quantile(p) - whole.quantile(p)).abs();
            assert!(off < 1e-3 * whole.sd(), "{p}: {off}");
        }
    }

    #[test]
    fn a_mixture_without_spread_is_its_mean() {
        let mixture = Mixture::new(Arc::from([0.5, 0.5]), vec![3.0, 3.0], vec![0.0, 0.0]);
        assert_eq!(mixture.summary().q95, 3.0);
    }

    #[test]
    fn weighted_values_have_the_quantiles_of_their_shares() {
        let summary = weighted_summary(&[3.0, 1.0, 2.0], &[0.25, 0.25, 0.5]);
        assert_eq!((summary.mean, summary.q50), (2.0, 2.0));
        assert_eq!(summary.q05, 1.0);
    }
}
