//! Sums without loss of digits: compensated, and of deviations from one of the readings.

/// A sum that keeps what each addition rounds away. Source: Neumaier (1974), *Zeitschrift für
/// Angewandte Mathematik und Mechanik* 54, 39–51.
pub(super) fn sum(values: impl IntoIterator<Item = f64>) -> f64 {
    let (mut high, mut low) = (0.0_f64, 0.0);
    for value in values {
        let next = high + value;
        low +=
            if high.abs() >= value.abs() { (high - next) + value } else { (value - next) + high };
        high = next;
    }
    high + low
}

/// `values` less the first of them. The difference of two doubles within a factor of two of each
/// other is exact, so digits that all readings share cost nothing.
pub(super) fn shifted(values: &[f64]) -> Vec<f64> {
    let first = values.first().copied().unwrap_or(0.0);
    values.iter().map(|value| value - first).collect()
}

/// Weighted sum of squared deviations from the weighted mean of `pairs` of weight and value, and
/// that mean. The second pass removes what rounding of the mean leaves: `Σwd² − (Σwd)²/Σw`.
pub(super) fn squares(pairs: &[(f64, f64)]) -> (f64, f64) {
    let weights = sum(pairs.iter().map(|(weight, _)| *weight));
    let mean = sum(pairs.iter().map(|(weight, value)| weight * value)) / weights;
    let left = sum(pairs.iter().map(|(weight, value)| weight * (value - mean)));
    let squares = sum(pairs.iter().map(|(weight, value)| weight * (value - mean).powi(2)));
    ((squares - left * left / weights).max(0.0), mean + left / weights)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sum_keeps_what_additions_round_away() {
        assert_eq!(sum([1.0, 1e100, 1.0, -1e100]), 2.0);
        assert_eq!(sum([]), 0.0);
    }

    #[test]
    fn squares_do_not_see_digits_that_all_share() {
        let values = shifted(&[1e12 + 1.0, 1e12 + 2.0, 1e12 + 4.0]);
        let pairs: Vec<_> = values.iter().map(|value| (1.0, *value)).collect();
        assert!((squares(&pairs).0 - 14.0 / 3.0).abs() < 1e-14);
    }
}
