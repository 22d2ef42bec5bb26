//! Predictions compared with measurements, and their summary.

use crate::units::fields;
use serde::{Serialize, Serializer};
use statrs::distribution::{ContinuousCDF, StudentsT};
use std::collections::{BTreeMap, BTreeSet};

/// One prediction compared with its measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// Measured minus predicted, in mm.
    pub miss_mm: f64,
    /// The same in percentage points of swell: per cent of the block's measured fore-edge.
    pub miss_percent: f64,
    /// Whether the 90 % range contains the measurement.
    pub held: bool,
    /// Log predictive density at the measurement, per mm.
    pub log_density: f64,
}

/// An observed proportion with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Proportion {
    pub count: usize,
    pub of: usize,
    pub share: f64,
    pub low: f64,
    pub high: f64,
}

impl Proportion {
    /// Standard normal quantile of 0.975.
    const Z: f64 = 1.959_963_984_540_054;

    /// `count` of `of` with the score interval of Wilson (1927):
    /// `(p + z²/2n ± z·√(p(1 − p)/n + z²/4n²)) / (1 + z²/n)`. `None` if `of` is 0 or below `count`.
    ///
    /// Source: E. B. Wilson (1927), J. Am. Stat. Assoc. 22, 209–212.
    pub fn wilson(count: usize, of: usize) -> Option<Self> {
        if of == 0 || count > of {
            return None;
        }
        let n = of as f64;
        let share = count as f64 / n;
        let square = Self::Z * Self::Z / n;
        let middle = share + square / 2.0;
        let half = (square * (share * (1.0 - share) + square / 4.0)).sqrt();
        let limit = |x: f64| x / (1.0 + square);
        // If it never or always happened, one limit is exactly 0 or 1, whatever rounding says.
        let low = if count == 0 { 0.0 } else { limit(middle - half) };
        let high = if count == of { 1.0 } else { limit(middle + half) };
        Some(Self { count, of, share, low, high })
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    pub predictions: usize,
    pub trials: usize,
    /// Mean absolute miss in mm.
    pub mean_miss_mm: f64,
    /// Mean absolute miss in percentage points of swell.
    pub mean_miss_percent: f64,
    /// How often the 90 % range contained the measurement.
    pub held: Proportion,
    /// Mean log predictive density per observation (of W in mm).
    pub log_density: f64,
}

/// Summarises predictions, each given with its trial. `None` without predictions.
pub fn score(judged: &[(usize, Judged)]) -> Option<Score> {
    let count = judged.len();
    let held = Proportion::wilson(judged.iter().filter(|(_, one)| one.held).count(), count)?;
    let mean =
        |of: fn(&Judged) -> f64| judged.iter().map(|(_, one)| of(one)).sum::<f64>() / count as f64;
    let trials: BTreeSet<usize> = judged.iter().map(|(trial, _)| *trial).collect();
    Some(Score {
        predictions: count,
        trials: trials.len(),
        mean_miss_mm: mean(|one| one.miss_mm.abs()),
        mean_miss_percent: mean(|one| one.miss_percent.abs()),
        held,
        log_density: mean(|one| one.log_density),
    })
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// Mean per observation.
    pub mean: f64,
    /// `None` for a single cluster.
    pub standard_error: Option<f64>,
    /// 95 % range, by Student's t with one degree of freedom fewer than clusters.
    #[serde(flatten, serialize_with = "low_and_high")]
    pub range: Option<DifferenceRange>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DifferenceRange {
    pub low: f64,
    pub high: f64,
}

fn low_and_high<S: Serializer>(range: &Option<DifferenceRange>, to: S) -> Result<S::Ok, S::Error> {
    fields!(to, "low": range.map(|range| range.low), "high": range.map(|range| range.high))
}

/// How one way compares with another, by their difference in log density.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The 95 % range lies above zero.
    Better,
    /// The range contains zero: the two cannot be distinguished.
    AsGood,
    /// The range lies below zero.
    Worse,
}

impl Difference {
    pub fn standing(&self) -> Option<Standing> {
        let DifferenceRange { low, high } = self.range?;
        Some(match (low > 0.0, high < 0.0) {
            (true, _) => Standing::Better,
            (_, true) => Standing::Worse,
            _ => Standing::AsGood,
        })
    }
}

/// The mean of pairwise differences and its standard error over clusters. Each difference comes
/// with its cluster, a trial or a paper. Observations of one cluster are correlated, so the
/// clusters are the sample.
///
/// With dᵢ the sum and mᵢ the count of cluster i of T, and N = Σmᵢ: `δ = Σdᵢ/N`,
/// `se² = T/(T − 1)·Σ(dᵢ − δ·mᵢ)²/N²`. `None` without pairs.
///
/// Source: W. G. Cochran (1977), Sampling Techniques, 3rd ed., section 9A (cluster means by the
/// ratio estimator).
pub fn difference(pairs: &[(usize, f64)]) -> Option<Difference> {
    let mut clusters: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
    for &(cluster, value) in pairs {
        let (sum, count) = clusters.entry(cluster).or_default();
        *sum += value;
        *count += 1.0;
    }
    let (total, of) = (pairs.len() as f64, clusters.len() as f64);
    let mean = clusters.values().map(|cluster| cluster.0).sum::<f64>() / total;
    let squares: f64 = clusters.values().map(|(sum, count)| (sum - mean * count).powi(2)).sum();
    let error = (of / (of - 1.0) * squares).sqrt() / total;
    let standard_error = (clusters.len() > 1).then_some(error);
    let range = standard_error.and_then(|error| range_about(mean, error, of - 1.0));
    (!pairs.is_empty()).then_some(Difference { mean, standard_error, range })
}

fn range_about(mean: f64, error: f64, freedom: f64) -> Option<DifferenceRange> {
    let half = StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.975) * error;
    Some(DifferenceRange { low: mean - half, high: mean + half })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Newcombe (1998), Stat. Med. 17, 857–872, table I, method 3: 81 of 263 gives 0.2553 to
    /// 0.3662, 15 of 148 gives 0.0624 to 0.1605, 0 of 20 gives 0 to 0.1611.
    #[test]
    fn the_score_interval_is_the_published_one() {
        for (count, of, low, high) in
            [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611)]
        {
            let found = Proportion::wilson(count, of).unwrap();
            assert!((found.low - low).abs() < 5e-5, "{found:?}");
            assert!((found.high - high).abs() < 5e-5, "{found:?}");
        }
        assert_eq!(Proportion::wilson(0, 0), None);
    }

    #[test]
    fn the_error_of_a_difference_is_over_trials() {
        // Trials of equal size with means 1, 2, 6: by hand, the standard error of their mean is
        // √(14/2/3) = √(7/3).
        let pairs = [(0, 1.0), (0, 1.0), (1, 2.0), (1, 2.0), (2, 5.0), (2, 7.0)];
        let found = difference(&pairs).unwrap();
        assert!((found.mean - 3.0).abs() < 1e-12);
        assert!((found.standard_error.unwrap() - (7.0_f64 / 3.0).sqrt()).abs() < 1e-12);
        // Student's t of two degrees of freedom at 0.975 is 4.302653 (from any table).
        let range = found.range.unwrap();
        let half = 4.302_653 * (7.0_f64 / 3.0).sqrt();
        assert!((range.low - (3.0 - half)).abs() < 1e-5 && (range.high - 3.0 - half).abs() < 1e-5);
        assert_eq!(found.standing(), Some(Standing::AsGood));
        assert_eq!(difference(&pairs[..2]).unwrap().standard_error, None);
        assert_eq!(difference(&pairs[..2]).unwrap().standing(), None);
        assert_eq!(difference(&[]), None);
    }
}
