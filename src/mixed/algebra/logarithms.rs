//! Sums of many logarithms.

use super::lanes::each;

/// Factors are multiplied up to this bound, or down to its inverse, before a logarithm is taken.
const LARGE: f64 = 1e150;

/// The logarithm of a product of positive numbers, in every lane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LogSum<const N: usize> {
    sum: [f64; N],
    product: [f64; N],
}

impl<const N: usize> LogSum<N> {
    pub fn new() -> Self {
        Self { sum: [0.0; N], product: [1.0; N] }
    }

    pub fn add(&mut self, factor: &[f64; N]) {
        let product: [f64; N] = each(|lane| self.product[lane] * factor[lane]);
        if product.iter().all(|product| inside(*product)) {
            self.product = product;
        } else {
            self.sum = each(|lane| self.sum[lane] + self.product[lane].ln() + factor[lane].ln());
            self.product = [1.0; N];
        }
    }

    /// Adds a factor `times` times. Raising it to a whole power costs far less than a logarithm.
    pub fn add_times(&mut self, factor: &[f64; N], times: u32) {
        if times == 1 {
            return self.add(factor);
        }
        let powers = raised(*factor, times);
        if powers.iter().all(|power| inside(*power)) {
            self.add(&powers);
        } else {
            self.sum = each(|lane| self.sum[lane] + f64::from(times) * factor[lane].ln());
        }
    }

    /// The logarithm of the product of all factors.
    pub fn value(self) -> [f64; N] {
        each(|lane| self.sum[lane] + self.product[lane].ln())
    }
}

fn inside(product: f64) -> bool {
    product > LARGE.recip() && product < LARGE
}

/// The power of every lane, by repeated squaring.
fn raised<const N: usize>(mut factor: [f64; N], mut times: u32) -> [f64; N] {
    let mut product = [1.0; N];
    while times > 0 {
        if times % 2 == 1 {
            product = each(|lane| product[lane] * factor[lane]);
        }
        factor = each(|lane| factor[lane] * factor[lane]);
        times /= 2;
    }
    product
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
        for times in [1, 2, 20, 477, 4_000_000_000] {
            let before = log.value()[0];
            log.add_times(&[3.0], times);
            let (more, wanted) = (log.value()[0] - before, f64::from(times) * 3.0_f64.ln());
            assert!((more - wanted).abs() < 1e-12 * before.abs().max(wanted), "{times}: {more}");
        }
        log.add(&[f64::INFINITY]);
        assert_eq!(log.value(), [f64::INFINITY]);
    }
}
