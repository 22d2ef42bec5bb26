//! The arithmetic of a control chart: individuals with moving ranges, and an exponentially
//! weighted moving average.

/// The mean range of two values, in standard deviations of one value: `2/√π`, tabled as 1.128.
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
const RANGE_OF_TWO: f64 = std::f64::consts::FRAC_2_SQRT_PI;
/// Weight of the newest value in the moving average (the handbook suggests 0.2 to 0.3).
pub const LAMBDA: f64 = 0.2;
/// Distance from the centre to a limit, in standard deviations.
pub const LIMIT: f64 = 3.0;

pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// The standard deviation of single values from their mean moving range,
/// `mean |zᵢ − zᵢ₋₁| / 1.128`. A change of level enters it only once. `None` for fewer than two.
/// Source: NIST/SEMATECH e-Handbook, 6.3.2.2.
pub(crate) fn short_term_sd(values: &[f64]) -> Option<f64> {
    let ranges: Vec<f64> = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    (!ranges.is_empty()).then(|| mean(&ranges) / RANGE_OF_TWO)
}

/// `eₜ = λ·zₜ + (1 − λ)·eₜ₋₁` from `e₀ = centre`. Source: NIST/SEMATECH e-Handbook, 6.3.2.4.
pub(crate) fn moving_average(values: &[f64], centre: f64, lambda: f64) -> Vec<f64> {
    let next = |last: &mut f64, value: &f64| {
        *last += lambda * (value - *last);
        Some(*last)
    };
    values.iter().scan(centre, next).collect()
}

/// The greatest distance of the moving average from its centre after `step` values. In standard
/// deviations of one value: `3·√( λ/(2 − λ)·(1 − (1 − λ)^2t) + (1 − (1 − λ)^t)²/m )`. The centre is
/// the mean of m values; `None` means that it is known exactly.
///
/// The first term is from the NIST/SEMATECH e-Handbook, 6.3.2.4, before it has settled (J. M.
/// Lucas and M. S. Saccucci (1990), Technometrics 32, 1–12); the second is the centre's own error.
pub(crate) fn limit_after(step: usize, lambda: f64, centre_of: Option<usize>) -> f64 {
    let left = (1.0 - lambda).powi(i32::try_from(step).unwrap_or(i32::MAX));
    let settled = lambda / (2.0 - lambda) * (1.0 - left * left);
    let centre = centre_of.map_or(0.0, |count| (1.0 - left).powi(2) / count as f64);
    LIMIT * (settled + centre).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook 6.3.2.2, flow rates: mean 50.81, mean moving range 1.8778, limits
    /// 55.8041 and 45.8159. It rounds 2/√π to 1.128, so the figures hold to a thousandth. They are
    /// from memory, and follow from the ten data.
    #[test]
    fn individuals_have_the_handbooks_limits() {
        let flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
        let (centre, sd) = (mean(&flow), short_term_sd(&flow).unwrap());
        assert!((centre - 50.81).abs() < 1e-9);
        assert!((sd * RANGE_OF_TWO - 1.8778).abs() < 5e-5);
        let rounded = sd * RANGE_OF_TWO / 1.128;
        assert!((centre + LIMIT * rounded - 55.8041).abs() < 5e-5);
        assert!((centre - LIMIT * rounded - 45.8159).abs() < 5e-5);
        assert_eq!(short_term_sd(&flow[..1]), None);
    }

    /// NIST/SEMATECH e-Handbook 6.3.2.4: centre 50, s = 2.0539, λ = 0.3, limits 52.5884 and
    /// 47.4115 (figures from memory; the averages follow from the data).
    #[test]
    fn moving_averages_are_the_handbooks() {
        let data = [
            52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3,
            47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
        ];
        let theirs = [
            50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36,
            49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
        ];
        for (ours, theirs) in moving_average(&data, 50.0, 0.3).iter().zip(theirs) {
            assert!((ours - theirs).abs() < 0.0051, "{ours} {theirs}");
        }
        let settled = 2.0539 * limit_after(100, 0.3, None);
        assert!((50.0 + settled - 52.5884).abs() < 2e-4, "{settled}");
        assert!((50.0 - settled - 47.4115).abs() < 2e-4, "{settled}");
    }

    /// Works out the variance of the moving average about a centre of m values independently: the
    /// sum of the squared weights of all values.
    #[test]
    fn limits_are_those_of_the_weights_behind_them() {
        for (steps, m) in [(1, 10), (4, 10), (30, 12)] {
            let weights = (0..steps).map(|age| LAMBDA * (1.0 - LAMBDA).powi(age));
            let of_values: f64 = weights.clone().map(|weight| weight * weight).sum();
            let of_centre = weights.sum::<f64>().powi(2) / f64::from(m);
            let by_hand = LIMIT * (of_values + of_centre).sqrt();
            let ours = limit_after(steps as usize, LAMBDA, Some(m as usize));
            assert!((ours - by_hand).abs() < 1e-12);
        }
    }
}
