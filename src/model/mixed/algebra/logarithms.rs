//! Sums of many logarithms.

use super::lanes::each;

/// Factors are multiplied up to this before a logarithm is taken, and down to its inverse.
const LARGE: f64 = 1e150;

/// The logarithm of a product of positive numbers, in every lane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LogSum<const N: usize> {
    sum: [f64; N],
    product: [f64; N],
}

impl<const N: usize> LogSum<N> {
    /// Of nothing yet.
    pub fn new() -> Self {
        Self { sum: [0.0; N], product: [1.0; N] }
    }

    /// One more factor.
    pub fn add(&mut self, factor: &[f64; N]) {
        let product: [f64; N] = each(|lane| self.product[lane] * factor[lane]);
        let inside = |product: &f64| *product > LARGE.recip() && *product < LARGE;
        if product.iter().all(inside) {
            self.product = product;
        } else {
            self.sum = each(|lane| self.sum[lane] + self.product[lane].ln() + factor[lane].ln());
            self.product = [1.0; N];
        }
    }

    /// The same factor so many times.
    pub fn add_times(&mut self, factor: &[f64; N], times: f64) {
        if times == 1.0 {
            self.add(factor);
        } else {
            self.sum = each(|lane| self.sum[lane] + times * factor[lane].ln());
        }
    }

    /// The logarithm of all of them.
    pub fn value(self) -> [f64; N] {
        each(|lane| self.sum[lane] + self.product[lane].ln())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sum_is_that_of_single_logarithms() {
        let factors = || (1..2000).map(|i| f64::from(i).powi(if i % 3 == 0 { 40 } else { -30 }));
        let mut log = LogSum::new();
        factors().for_each(|factor| log.add(&[factor]));
        let single: f64 = factors().map(f64::ln).sum();
        let [sum] = log.value();
        assert!((sum - single).abs() < 1e-9 * single.abs(), "{sum} {single}");
        log.add_times(&[3.0], 20.0);
        let more = log.value()[0] - sum;
        assert!((more - 20.0 * 3.0_f64.ln()).abs() < 1e-9, "{more}");
        log.add(&[f64::INFINITY]);
        assert_eq!(log.value(), [f64::INFINITY]);
    }
}
