//! The standard normal distribution.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Standard normal distribution function `Φ(z) = erfc(−z/√2)/2`.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// Standard normal density.
pub fn normal_pdf(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}
