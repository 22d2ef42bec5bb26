//! Weighted averages over points.

/// The weighted mean and standard deviation of each coordinate of points.
pub(crate) fn moments<P: AsRef<[f64]>>(points: &[P], weights: &[f64]) -> Vec<(f64, f64)> {
    let average = |of: &dyn Fn(&[f64]) -> f64| -> f64 {
        points.iter().zip(weights).map(|(x, w)| w * of(x.as_ref())).sum()
    };
    let each = (0..points.first().map_or(0, |x| x.as_ref().len())).map(|k| {
        let mean = average(&|x| x[k]);
        (mean, average(&|x| (x[k] - mean) * (x[k] - mean)).sqrt().max(f64::MIN_POSITIVE))
    });
    each.collect()
}

/// The weighted correlation of two coordinates of points.
pub(super) fn correlation(
    points: &[Vec<f64>],
    weights: &[f64],
    moments: &[(f64, f64)],
    pair: [usize; 2],
) -> f64 {
    let standard = |x: &[f64], k: usize| (x[k] - moments[k].0) / moments[k].1;
    let product = |x: &Vec<f64>| pair.map(|k| standard(x, k)).iter().product::<f64>();
    points.iter().zip(weights).map(|(x, weight)| weight * product(x)).sum()
}
