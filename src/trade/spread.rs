//! Statistics of a few readings while they are being taken.

/// The mean and the spread of a few readings of one thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    pub count: usize,
    /// Their mean `Σx/n`, in the unit of the readings.
    pub mean: f64,
    /// Largest minus smallest; `None` for a single reading.
    pub range: Option<f64>,
}

impl Spread {
    /// The spread of `values`; `None` without values.
    pub fn of(values: &[f64]) -> Option<Self> {
        let count = values.len();
        let (low, high) = extremes(values.iter().copied())?;
        // Deviations from the smallest value keep their digits when the readings are close
        // together.
        let mean = low + values.iter().map(|value| value - low).sum::<f64>() / count as f64;
        Some(Self { count, mean, range: (count > 1).then_some(high - low) })
    }
}

/// The least and the greatest value; `None` without values.
pub fn extremes(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    let alone = values.into_iter().map(|value| (value, value));
    alone.reduce(|(low, high), (value, _)| (low.min(value), high.max(value)))
}

/// The median; `None` without values.
pub fn median(mut values: Vec<f64>) -> Option<f64> {
    let last = values.len().checked_sub(1)?;
    // There may be millions of values, of which only the middle matters: no full sort.
    let (below, high, _) = values.select_nth_unstable_by(last.div_ceil(2), f64::total_cmp);
    let low = if last.is_multiple_of(2) {
        Some(*high)
    } else {
        below.iter().copied().max_by(f64::total_cmp)
    };
    Some(0.5 * (low? + *high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_reading_has_a_mean_but_no_range() {
        let spread = Spread::of(&[11.0]).unwrap();
        assert_eq!((spread.count, spread.mean, spread.range), (1, 11.0, None));
        assert_eq!(Spread::of(&[]), None);
    }

    #[test]
    fn several_readings_have_both() {
        let spread = Spread::of(&[11.0, 11.5, 10.75, 10.75]).unwrap();
        assert_eq!((spread.count, spread.mean, spread.range), (4, 11.0, Some(0.75)));
    }
}
