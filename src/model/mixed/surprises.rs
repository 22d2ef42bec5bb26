//! Points that stand for independent standard normal surprises.

use super::proposal::sobol_points;
use std::f64::consts::TAU;

/// `count` points, a power of two, in so many dimensions: Sobol points in the middle of their cells,
/// two coordinates at a time made normal (Box and Muller, 1958).
pub(crate) fn surprises(count: usize, dimensions: usize) -> Vec<Vec<f64>> {
    let half_cell = 0.5 / count as f64;
    let normals = |pair: &[f64]| {
        let (radius, turn) = ((-2.0 * (pair[0] + half_cell).ln()).sqrt(), pair[1] + half_cell);
        [radius * (TAU * turn).cos(), radius * (TAU * turn).sin()]
    };
    let points = sobol_points(count, 2 * dimensions.div_ceil(2).max(1));
    let point = |point: Vec<f64>| point.chunks(2).flat_map(normals).take(dimensions).collect();
    points.map(point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn they_are_about_standard_and_independent() {
        let points = surprises(256, 3);
        let mean = |of: &dyn Fn(&[f64]) -> f64| {
            points.iter().map(|point| of(point)).sum::<f64>() / points.len() as f64
        };
        for i in 0..3 {
            assert!(mean(&|z| z[i]).abs() < 0.02, "{}", mean(&|z| z[i]));
            for j in 0..3 {
                let wanted = if i == j { 1.0 } else { 0.0 };
                assert!((mean(&|z| z[i] * z[j]) - wanted).abs() < 0.05, "{i} {j}");
            }
        }
    }
}
