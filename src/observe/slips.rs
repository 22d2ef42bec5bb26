//! Down-weights readings that do not agree with the others of their set.
//!
//! A slipped digit or a caliper set down on a thread knot is not a repeat of the others. Such a
//! reading is neither dropped nor believed: it gets a weight, which is reported. docs/slips.md has
//! the rule and what it cannot detect.

use super::repeatability::Repeatability;
use crate::trade::median;

/// A reading is out of line if it is more than this many deviations from the middle of its set. One
/// in 4000 clean sets of three or four readings has one, according to a simulation of 200,000
/// normal sets.
const OUT_OF_LINE: f64 = 4.5;
/// The weight falls with this power of the distance over the limit: from 1 at the limit itself, so
/// that no answer jumps, to 1/16 at twice the limit.
const FALL: i32 = 4;
/// Two places of a block never agree better than this, in mm (common practice, no source).
const LEAST_DEVIATION_MM: f64 = 0.03;

/// A set with readings out of line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Judged {
    /// The weight of each reading, in their order; 1 for a reading in line.
    pub weights: Vec<f64>,
    /// The weighted mean.
    pub mean: f64,
}

impl Judged {
    /// The effective number of readings: the sum of the weights.
    pub fn worth(&self) -> f64 {
        self.weights.iter().sum()
    }

    /// The set's contribution to the pooled variance: the squares, each times its squared weight,
    /// and the degrees of freedom `Σw·(r−1)/r`. So one slip cannot inflate the variance of all the
    /// others.
    pub fn within(&self, values: &[f64]) -> (f64, f64) {
        let square = |(x, w): (&f64, &f64)| (w * (x - self.mean)).powi(2);
        let count = values.len() as f64;
        let squares = values.iter().zip(&self.weights).map(square).sum();
        (squares, self.worth() * (count - 1.0) / count)
    }
}

/// The greatest distance from the middle of a set at which a reading counts in full.
fn limit_mm(deviation_mm: f64, resolution_mm: f64) -> f64 {
    OUT_OF_LINE * deviation_mm.max(resolution_mm.max(LEAST_DEVIATION_MM))
}

/// `None` if all readings are in line, and for a single reading, which cannot be judged.
fn judge_set(values: &[f64], limit_mm: impl FnOnce() -> f64) -> Option<Judged> {
    let judged = match values {
        [] | [_] => return None,
        [first, second] => pair(*first, *second, limit_mm()),
        _ => several(values, limit_mm()),
    };
    judged.weights.iter().any(|&weight| weight < 1.0).then_some(judged)
}

/// If two readings disagree, nobody can say which one is wrong: both count less. Their difference
/// has √2 times the deviation of one reading.
fn pair(first: f64, second: f64, limit_mm: f64) -> Judged {
    let weight = weight((first - second).abs(), std::f64::consts::SQRT_2 * limit_mm);
    Judged { weights: vec![weight; 2], mean: 0.5 * (first + second) }
}

/// Uses the distance from the median, which one bad reading of three hardly moves. The distance
/// from the weighted mean would jump: the less a reading counts, the farther it is from that mean.
fn several(values: &[f64], limit_mm: f64) -> Judged {
    let middle = median(values.to_vec()).unwrap_or(f64::NAN);
    let weights: Vec<f64> = values.iter().map(|x| weight((x - middle).abs(), limit_mm)).collect();
    let sum: f64 = values.iter().zip(&weights).map(|(x, w)| w * x).sum();
    Judged { mean: sum / weights.iter().sum::<f64>(), weights }
}

fn weight(distance: f64, limit: f64) -> f64 {
    if distance > limit { (limit / distance).powi(FALL) } else { 1.0 }
}

/// The variance of one reading in every set of two or more, sorted, and their total degrees of
/// freedom.
#[derive(Clone, Debug)]
pub(super) struct Usual {
    variances: Vec<f64>,
    freedom: f64,
}

impl Usual {
    pub fn of(sets: &[Vec<f64>]) -> Self {
        let several = || sets.iter().filter(|values| values.len() > 1);
        let mut variances: Vec<f64> = several().map(|values| variance(values)).collect();
        variances.sort_by(f64::total_cmp);
        Self { variances, freedom: several().map(|values| values.len() as f64 - 1.0).sum() }
    }

    /// Judges one of these sets against all others.
    pub fn judge(&self, values: &[f64], resolution_mm: f64) -> Option<Judged> {
        judge_set(values, || limit_mm(self.beside(values), resolution_mm))
    }

    /// The deviation of one reading according to all other sets: the median of their variances,
    /// joined with the prior. A set does not count for its own limit, so that in a book of one
    /// trial a slip is seen against the other edge. In longer books, slips in fewer than half of
    /// the sets leave the deviation as it is.
    fn beside(&self, values: &[f64]) -> f64 {
        let own = variance(values);
        let place = self.variances.partition_point(|&other| other < own);
        let other = |k: usize| self.variances.get(if k < place { k } else { k + 1 });
        let freedom = self.freedom - (values.len() as f64 - 1.0);
        joined(self.variances.len() - 1, other, freedom)
    }

    /// Judges a set that is not in the book, such as one measured part-way, against all of its sets.
    pub fn judge_new(&self, values: &[f64], resolution_mm: f64) -> Option<Judged> {
        let all = |k: usize| self.variances.get(k);
        let deviation = || joined(self.variances.len(), all, self.freedom);
        judge_set(values, || limit_mm(deviation(), resolution_mm))
    }
}

/// The deviation of one reading: the median of `count` variances in order, joined with the prior.
fn joined<'a>(count: usize, variance: impl Fn(usize) -> Option<&'a f64>, freedom: f64) -> f64 {
    let middle =
        count.checked_sub(1).and_then(|last| Some((variance(last / 2)?, variance(count / 2)?)));
    let usual = middle.map_or(0.0, |(low, high)| 0.5 * (low + high));
    Repeatability::pooled(freedom * usual, freedom).sd_mm
}

/// Variance of one reading from the squares of its set. It divides by the median of chi-square, not
/// by the mean, so that half of all sets exceed the true variance.
fn variance(values: &[f64]) -> f64 {
    squares(values) / chi_square_median(values.len() - 1)
}

/// The sum of squares about the mean.
pub(super) fn squares(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    values.iter().map(|x| (x - mean).powi(2)).sum()
}

/// Wilson and Hilferty (1931): `k·(1 − 2/(9k))³`; within 4 % at one degree of freedom.
fn chi_square_median(freedom: usize) -> f64 {
    let k = freedom as f64;
    k * (1.0 - 2.0 / (9.0 * k)).powi(3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn judged(sets: &[Vec<f64>]) -> Vec<Option<Judged>> {
        let usual = Usual::of(sets);
        sets.iter().map(|values| usual.judge(values, 0.01)).collect()
    }

    /// Twelve sets of three, readings good to about 0.05 mm.
    fn tidy() -> Vec<Vec<f64>> {
        (0..12).map(f64::from).map(|i| vec![9.0 + i, 9.06 + i, 8.95 + i]).collect()
    }

    #[test]
    fn sets_in_line_are_left_alone() {
        assert!(judged(&tidy()).iter().all(Option::is_none));
        assert_eq!(judged(&[vec![9.0]]), [None]);
    }

    #[test]
    fn a_slip_counts_little_and_the_others_in_full() {
        let mut sets = tidy();
        sets[3][1] += 1.0;
        let judged = judged(&sets);
        assert_eq!(judged.iter().flatten().count(), 1);
        let slip = judged[3].as_ref().unwrap();
        assert_eq!((slip.weights[0], slip.weights[2]), (1.0, 1.0));
        assert!(slip.weights[1] > 0.0 && slip.weights[1] < 0.02, "{slip:?}");
        assert!((slip.mean - 11.975).abs() < 0.02, "{slip:?}");
        let (squares, freedom) = slip.within(&sets[3]);
        assert!(squares < 0.005 && freedom > 1.3, "{squares} {freedom}");
    }

    /// A book of one trial in one state: the spine is judged against the fore-edge.
    #[test]
    fn a_slip_in_the_first_trial_is_seen() {
        let judged = judged(&[vec![9.0, 10.06, 9.05], vec![7.0, 7.04, 6.97]]);
        let spine = judged[0].as_ref().unwrap();
        assert!(spine.weights[1] < 0.03 && spine.weights[0] == 1.0, "{spine:?}");
        assert_eq!(judged[1], None);
    }

    /// 8.0 and 9.2 differ by 1.2 mm, more than three times their limit of √2·4.5·0.06 mm.
    #[test]
    fn of_two_that_disagree_both_count_less() {
        let mut sets = tidy();
        sets.push(vec![8.0, 9.2]);
        let judged = judged(&sets).pop().flatten().unwrap();
        assert_eq!(judged.weights[0], judged.weights[1]);
        assert_eq!(judged.mean, 8.6);
        assert!(judged.worth() < 0.1);
    }

    /// The answer does not jump where a reading passes the limit.
    #[test]
    fn the_mean_moves_smoothly_as_a_reading_leaves_its_set() {
        let mean = |x: f64| {
            let judged = several(&[5.0, 5.02, x], 0.4);
            judged.mean
        };
        let mut last = mean(5.3);
        for step in 1..400 {
            let next = mean(5.3 + 0.001 * f64::from(step));
            assert!((next - last).abs() < 0.002, "{step}: {last} {next}");
            last = next;
        }
    }

    #[test]
    fn many_slips_do_not_hide_one_another() {
        let mut sets = tidy();
        for set in sets.iter_mut().take(5) {
            set[0] -= 1.0;
        }
        assert_eq!(judged(&sets).iter().flatten().count(), 5);
    }

    #[test]
    fn the_median_of_chi_square_is_near() {
        // NIST/SEMATECH e-Handbook, 1.3.6.7.4 has no medians; qchisq(0.5, c(1, 2, 5)) of R 4.2.2.
        for (freedom, median) in [(1, 0.4549364), (2, 1.3862944), (5, 4.3514602)] {
            assert!((chi_square_median(freedom) / median - 1.0).abs() < 0.04, "{freedom}");
        }
    }
}
