//! Counts of hits: limits for the chance behind them, and their tail probabilities.

use crate::model::variance::f_quantile;
use serde::Serialize;

/// An observed share, with exact limits for the chance behind it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ExactShare {
    pub count: usize,
    pub of: usize,
    pub share: f64,
    pub low: f64,
    pub high: f64,
}

impl ExactShare {
    /// Confidence level of the limits: 90 %.
    pub const CONFIDENCE: f64 = 0.9;

    /// `count` of `of` with the limits of Clopper and Pearson. At the lower limit, so many or more
    /// happen with probability 5 %. At the upper limit, so many or fewer do with probability 5 %.
    ///
    /// For k of n, with `F(p; a, b)` the quantile of the F distribution,
    /// `low = k·F(0.05; 2k, 2(n − k + 1)) / (n − k + 1 + k·F)`. The upper limit is 1 minus the
    /// lower limit of what did not happen. `None` if `of` is 0 or below `count`.
    ///
    /// Source: C. J. Clopper and E. S. Pearson (1934), Biometrika 26, 404–413.
    pub fn new(count: usize, of: usize) -> Option<Self> {
        if of == 0 || count > of {
            return None;
        }
        let share = count as f64 / of as f64;
        let (low, high) = (lower_limit(count, of), 1.0 - lower_limit(of - count, of));
        Some(Self { count, of, share, low, high })
    }
}

/// The chance at which `count` or more of `of` happen with half of the probability outside the
/// limits.
fn lower_limit(count: usize, of: usize) -> f64 {
    if count == 0 {
        return 0.0;
    }
    let (hits, rest) = (count as f64, (of - count + 1) as f64);
    let f = f_quantile(0.5 * (1.0 - ExactShare::CONFIDENCE), 2.0 * hits, 2.0 * rest);
    hits * f / (rest + hits * f)
}

/// The probabilities of at most `hits` and of at least `hits`, for independent events with these
/// chances. They have the Poisson binomial distribution, built up one event at a time.
pub fn hit_tails(chances: &[f64], hits: usize) -> (f64, f64) {
    let mut counts = vec![0.0; chances.len() + 1];
    counts[0] = 1.0;
    for (seen, chance) in chances.iter().enumerate() {
        for count in (0..=seen + 1).rev() {
            let before = if count == 0 { 0.0 } else { counts[count - 1] };
            counts[count] = counts[count] * (1.0 - chance) + before * chance;
        }
    }
    let split = hits.min(chances.len());
    (counts[..=split].iter().sum(), counts[split..].iter().sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// R 4: `binom.test(k, n, conf.level = 0.9)$conf.int`, printed to 15 digits.
    #[test]
    fn limits_are_those_of_binom_test() {
        let cases = [
            ((0, 5), (0.0, 0.450719728346941)),
            ((3, 10), (0.0872644339141503, 0.6066242161054134)),
            ((7, 9), (0.450358350493390, 0.958976832493003)),
            ((12, 12), (0.779077808054444, 1.0)),
            ((18, 20), (0.717381475114139, 0.981934796914581)),
        ];
        for ((count, of), (low, high)) in cases {
            let ours = ExactShare::new(count, of).unwrap();
            assert!((ours.low - low).abs() < 1e-10, "{count} of {of}: {}", ours.low);
            assert!((ours.high - high).abs() < 1e-10, "{count} of {of}: {}", ours.high);
        }
        assert_eq!((ExactShare::new(0, 0), ExactShare::new(3, 2)), (None, None));
    }

    /// With equal chances these are the tails of the binomial, R 4: `pbinom(6, 10, 0.9)` and
    /// `1 - pbinom(5, 10, 0.9)`. Three unequal chances are worked out by hand.
    #[test]
    fn tails_of_hits_are_those_of_the_binomial() {
        let (at_most, at_least) = hit_tails(&[0.9; 10], 6);
        assert!((at_most - 0.0127951984).abs() < 1e-10, "{at_most}");
        assert!((at_least - 0.9983650626).abs() < 1e-10, "{at_least}");
        // 0.5·0.2·0.9 and so on: none 0.04, one 0.41, two 0.46, three 0.09.
        let (at_most, at_least) = hit_tails(&[0.5, 0.2, 0.9], 2);
        assert!((at_most - 0.91).abs() < 1e-12 && (at_least - 0.55).abs() < 1e-12);
        assert_eq!(hit_tails(&[], 0), (1.0, 1.0));
    }
}
