//! Sums of many logarithms.

/// Factors are multiplied up to this before a logarithm is taken, and down to its inverse.
const LARGE: f64 = 1e150;

/// The logarithm of a product of positive numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct LogSum {
    sum: f64,
    product: f64,
}

impl LogSum {
    /// Of nothing yet.
    pub fn new() -> Self {
        Self { sum: 0.0, product: 1.0 }
    }

    /// One more factor.
    pub fn add(&mut self, factor: f64) {
        let product = self.product * factor;
        if (LARGE.recip()..LARGE).contains(&product) {
            self.product = product;
        } else {
            self.sum += self.product.ln() + factor.ln();
            self.product = 1.0;
        }
    }

    /// The logarithm of all of them.
    pub fn value(self) -> f64 {
        self.sum + self.product.ln()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sum_is_that_of_single_logarithms() {
        let factors = || (1..2000).map(|i| f64::from(i).powi(if i % 3 == 0 { 40 } else { -30 }));
        let mut log = LogSum::new();
        factors().for_each(|factor| log.add(factor));
        let single: f64 = factors().map(f64::ln).sum();
        assert!((log.value() - single).abs() < 1e-9 * single.abs(), "{} {single}", log.value());
        log.add(f64::INFINITY);
        assert_eq!(log.value(), f64::INFINITY);
    }
}
