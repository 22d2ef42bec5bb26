//! Readings that do not belong with the others of their set, and how little they then count.
//!
//! A slipped digit or a caliper set down on a thread knot is no repeat of the others. It is
//! neither dropped nor believed: it counts by a weight, and whoever asks is told of it.

/// A reading is out of line when it is more than this many deviations from the middle of its set.
/// Of clean sets of three or four readings one in a thousand has one (normal readings).
const OUT_OF_LINE: f64 = 4.0;
/// The weight falls with this power of the distance beyond the limit: one at the limit itself, so
/// that no answer jumps, and a sixteenth at twice the limit.
const FALL: i32 = 4;
/// No two places of a block agree closer than this in mm (common practice, no source).
const LEAST_DEVIATION_MM: f64 = 0.03;
/// Prior degrees of freedom and deviation in mm of one reading, as in the pooled repeatability.
const PRIOR: (f64, f64) = (4.0, 0.10);
/// The weights settle in a few rounds; a set that did not by then keeps its last.
const MOST_ROUNDS: usize = 50;
/// Settled: far below what any gauge shows, in mm.
const SETTLED_MM: f64 = 1e-10;

/// A set with readings out of line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Judged {
    /// The weight of each reading, in their order; one where it is in line.
    pub weights: Vec<f64>,
    /// The weighted mean.
    pub mean: f64,
}

impl Judged {
    /// How many readings the set is worth: the sum of the weights.
    pub fn worth(&self) -> f64 {
        self.weights.iter().sum()
    }

    /// What the set adds to the pooled variance: squares, each by its weight's square, and degrees
    /// of freedom, `Σw·(r−1)/r`. One slip so cannot widen what is known of all the others.
    pub fn within(&self, values: &[f64]) -> (f64, f64) {
        let square = |(x, w): (&f64, &f64)| (w * (x - self.mean)).powi(2);
        let count = values.len() as f64;
        let squares = values.iter().zip(&self.weights).map(square).sum();
        (squares, self.worth() * (count - 1.0) / count)
    }
}

/// Judges every set against the deviation that most sets have; `None` where all is in line, and
/// for a single reading, of which nothing can be said.
pub(super) fn judge(sets: &[Vec<f64>], resolution_mm: f64) -> Vec<Option<Judged>> {
    let deviation = usual_deviation(sets).max(resolution_mm).max(LEAST_DEVIATION_MM);
    sets.iter().map(|values| judge_set(values, OUT_OF_LINE * deviation)).collect()
}

fn judge_set(values: &[f64], limit_mm: f64) -> Option<Judged> {
    let judged = match values {
        [] | [_] => return None,
        [first, second] => pair(*first, *second, limit_mm),
        _ => several(values, limit_mm),
    };
    judged.weights.iter().any(|&weight| weight < 1.0).then_some(judged)
}

/// Of two that disagree nobody can say which is wrong: both count less. Their difference has √2
/// times the deviation of one.
fn pair(first: f64, second: f64, limit_mm: f64) -> Judged {
    let weight = weight((first - second).abs(), std::f64::consts::SQRT_2 * limit_mm);
    Judged { weights: vec![weight; 2], mean: 0.5 * (first + second) }
}

/// Starts from the median, which one bad reading of three hardly moves, and weighs anew about the
/// weighted mean until that stands still.
fn several(values: &[f64], limit_mm: f64) -> Judged {
    let mut middle = median(values.to_vec()).unwrap_or(f64::NAN);
    let mut weights = Vec::new();
    for _ in 0..MOST_ROUNDS {
        weights = values.iter().map(|x| weight((x - middle).abs(), limit_mm)).collect();
        let sum: f64 = values.iter().zip(&weights).map(|(x, w)| w * x).sum();
        let next = sum / weights.iter().sum::<f64>();
        let still = (next - middle).abs() < SETTLED_MM;
        middle = next;
        if still {
            break;
        }
    }
    Judged { weights, mean: middle }
}

fn weight(distance: f64, limit: f64) -> f64 {
    if distance > limit { (limit / distance).powi(FALL) } else { 1.0 }
}

/// The deviation of one reading in most sets: the median over sets of their sum of squares, each
/// over the median of chi-square with its degrees of freedom, joined with the prior. Fewer than
/// half of the sets can hold slips and leave it as it is.
fn usual_deviation(sets: &[Vec<f64>]) -> f64 {
    let several = || sets.iter().filter(|values| values.len() > 1);
    let freedom: f64 = several().map(|values| values.len() as f64 - 1.0).sum();
    let variances = several().map(|values| squares(values) / chi_square_median(values.len() - 1));
    let usual = median(variances.collect()).unwrap_or(0.0);
    let (prior_freedom, prior_sd) = PRIOR;
    ((prior_freedom * prior_sd * prior_sd + freedom * usual) / (prior_freedom + freedom)).sqrt()
}

fn squares(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    values.iter().map(|x| (x - mean).powi(2)).sum()
}

/// Wilson and Hilferty (1931): `k·(1 − 2/(9k))³`; within 4 % at one degree of freedom.
fn chi_square_median(freedom: usize) -> f64 {
    let k = freedom as f64;
    k * (1.0 - 2.0 / (9.0 * k)).powi(3)
}

/// The median; `None` of nothing.
fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let (low, high) = (values.len().checked_sub(1)? / 2, values.len() / 2);
    Some(0.5 * (values.get(low)? + values.get(high)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Twelve clean sets of three, readings good to about 0.05 mm.
    fn clean() -> Vec<Vec<f64>> {
        (0..12).map(|i| vec![9.0 + 0.1 * f64::from(i), 9.05, 8.95 + 0.1 * f64::from(i)]).collect()
    }

    fn tidy() -> Vec<Vec<f64>> {
        (0..12).map(f64::from).map(|i| vec![9.0 + i, 9.06 + i, 8.95 + i]).collect()
    }

    #[test]
    fn sets_in_line_are_left_alone() {
        assert!(judge(&tidy(), 0.01).iter().all(Option::is_none));
        assert_eq!(judge(&[vec![9.0]], 0.01), [None]);
    }

    #[test]
    fn a_slip_counts_little_and_the_others_in_full() {
        let mut sets = tidy();
        sets[3][1] += 1.0;
        let judged = judge(&sets, 0.01);
        assert_eq!(judged.iter().flatten().count(), 1);
        let slip = judged[3].as_ref().unwrap();
        assert_eq!((slip.weights[0], slip.weights[2]), (1.0, 1.0));
        assert!(slip.weights[1] > 0.0 && slip.weights[1] < 0.02, "{slip:?}");
        assert!((slip.mean - 11.975).abs() < 0.02, "{slip:?}");
        let (squares, freedom) = slip.within(&sets[3]);
        assert!(squares < 0.005 && freedom > 1.3, "{squares} {freedom}");
    }

    /// By hand: 8.0 and 9.2 differ by 1.2, the limit of a pair is √2·0.4 (the prior alone is
    /// nearly all there is): the weight is (√2·0.4·f/1.2)⁴.
    #[test]
    fn of_two_that_disagree_both_count_less() {
        let mut sets = tidy();
        sets.push(vec![8.0, 9.2]);
        let judged = judge(&sets, 0.01).pop().flatten().unwrap();
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
        assert_eq!(judge(&sets, 0.01).iter().flatten().count(), 5);
        assert!(usual_deviation(&clean()) < 0.5);
    }

    #[test]
    fn the_median_of_chi_square_is_near() {
        // NIST/SEMATECH e-Handbook, 1.3.6.7.4 has no medians; qchisq(0.5, c(1, 2, 5)) of R 4.2.2.
        for (freedom, median) in [(1, 0.4549364), (2, 1.3862944), (5, 4.3514602)] {
            assert!((chi_square_median(freedom) / median - 1.0).abs() < 0.04, "{freedom}");
        }
    }
}
