//! Points that represent independent standard normal surprises.

use super::proposal::sobol_points;
use statrs::distribution::{ContinuousCDF, Normal};

/// `count` points, a power of two, in `dimensions` dimensions: standard normal quantiles at Sobol
/// points in the middle of their cells. Each coordinate has mean zero exactly.
pub fn surprises(count: usize, dimensions: usize) -> Vec<Vec<f64>> {
    let (normal, half_cell) = (Normal::standard(), 0.5 / count as f64);
    let point = |point: Vec<f64>| -> Vec<f64> {
        point.iter().map(|u| normal.inverse_cdf(u + half_cell)).collect()
    };
    // Without dimensions nothing can surprise, but the points must still exist.
    let points = sobol_points(count, dimensions.max(1)).map(point);
    points.map(|point| point[..dimensions].to_vec()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn they_are_about_standard_and_independent() {
        let points = surprises(64, 3);
        let mean = |of: &dyn Fn(&[f64]) -> f64| {
            points.iter().map(|point| of(point)).sum::<f64>() / points.len() as f64
        };
        for i in 0..3 {
            assert!(mean(&|z| z[i]).abs() < 1e-9, "{}", mean(&|z| z[i]));
            assert!((mean(&|z| z[i] * z[i]) - 1.0).abs() < 0.05, "{i}");
            for j in 0..i {
                let product = mean(&|z| z[i] * z[j]);
                assert!(product.abs() < 0.1, "{i} {j} {product}");
            }
        }
    }
}
