//! A variance as a linear combination of mean squares, with limits.

use super::quantiles::{chi_squared_quantile, f_quantile};
use serde::Serialize;

/// One mean square of a combination.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Term {
    pub weight: f64,
    pub mean_square: f64,
    pub df: f64,
}

impl Term {
    /// The absolute value of weight times mean square.
    fn size(self) -> f64 {
        (self.weight * self.mean_square).abs()
    }
}

/// How the limits of a variance were found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum LimitMethod {
    /// One mean square: chi-squared, exact.
    #[serde(rename = "chi-squared")]
    ChiSquared,
    /// A sum of mean squares: modified large sample, Graybill and Wang (1980).
    #[serde(rename = "modified large sample (Graybill and Wang 1980)")]
    GraybillWang,
    /// With differences: modified large sample, Ting and others (1990).
    #[serde(rename = "modified large sample (Ting and others 1990)")]
    Ting,
}

/// `γ = Σ c_i S_i²`, mean squares S² with n_i degrees of freedom.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Combination {
    plus: Vec<Term>,
    minus: Vec<Term>,
}

/// The chi-squared quantile over its degrees of freedom: F with infinitely many below.
fn ratio(p: f64, df: f64) -> f64 {
    chi_squared_quantile(p, df) / df
}

/// `G = 1 − 1/F` at the upper quantile: how far a mean square may lie below its estimate.
fn down(p: f64, df: f64) -> f64 {
    1.0 - 1.0 / ratio(1.0 - p, df)
}

/// `H = 1/F − 1` at the lower quantile: how far it may lie above.
fn up(p: f64, df: f64) -> f64 {
    1.0 / ratio(p, df) - 1.0
}

impl Combination {
    /// Terms with zero weight are left out.
    pub(super) fn new(terms: &[Term]) -> Self {
        let terms = terms.iter().copied().filter(|term| term.weight != 0.0);
        let (plus, minus) = terms.partition(|term| term.weight > 0.0);
        Self { plus, minus }
    }

    /// γ, which may be negative.
    pub(super) fn estimate(&self) -> f64 {
        let total = |terms: &[Term]| super::sums::sum(terms.iter().map(|term| term.size()));
        total(&self.plus) - total(&self.minus)
    }

    pub(super) fn method(&self) -> LimitMethod {
        match (self.plus.len(), self.minus.len()) {
            (1, 0) => LimitMethod::ChiSquared,
            (_, 0) => LimitMethod::GraybillWang,
            _ => LimitMethod::Ting,
        }
    }

    /// Degrees of freedom, if there is a single mean square.
    pub(super) fn df(&self) -> Option<f64> {
        match (&self.plus[..], &self.minus[..]) {
            ([term], []) => Some(term.df),
            _ => None,
        }
    }

    /// Limits that contain γ with probability `level`, with the misses shared evenly between both
    /// sides. For one mean square they are `nS²/χ²`, exact. Source: Burdick and Graybill,
    /// *Confidence Intervals on Variance Components* (1992), section 3.3; docs/evidence-gauge.md
    /// has the formula.
    pub(super) fn limits(&self, level: f64) -> (f64, f64) {
        let miss = 0.5 * (1.0 - level);
        let centre = self.estimate();
        let below = spread(&self.plus, &self.minus, miss, Side::Low);
        let above = spread(&self.plus, &self.minus, miss, Side::High);
        (centre - below, centre + above)
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Low,
    High,
}

/// How far a mean square may lie from its estimate, by the probability of a miss and its degrees of
/// freedom.
type Reach = fn(f64, f64) -> f64;

/// √V of one limit.
fn spread(plus: &[Term], minus: &[Term], miss: f64, side: Side) -> f64 {
    let (of_plus, of_minus): (Reach, Reach) = match side {
        Side::Low => (down, up),
        Side::High => (up, down),
    };
    let own = |terms: &[Term], reach: Reach| {
        terms.iter().map(|term| (reach(miss, term.df) * term.size()).powi(2)).sum::<f64>()
    };
    let mut variance = own(plus, of_plus) + own(minus, of_minus);
    for one in plus {
        for other in minus {
            variance += opposed(*one, *other, miss, side) * one.size() * other.size();
        }
    }
    if !minus.is_empty() {
        let lowered = match side {
            Side::Low => plus,
            Side::High => minus,
        };
        variance += alike(lowered, miss);
    }
    variance.max(0.0).sqrt()
}

/// The coefficient of an added and a subtracted term. It makes the limits of a difference of two
/// mean squares exact where the difference is zero.
fn opposed(one: Term, other: Term, miss: f64, side: Side) -> f64 {
    let (n, m) = (one.df, other.df);
    let (f, own, others) = match side {
        Side::Low => (f_quantile(1.0 - miss, n, m), down(miss, n), up(miss, m)),
        Side::High => (f_quantile(miss, n, m), up(miss, n), down(miss, m)),
    };
    ((f - 1.0).powi(2) - (own * f).powi(2) - others * others) / f
}

/// What pairs of terms with the same sign add to V.
fn alike(terms: &[Term], miss: f64) -> f64 {
    let mut total = 0.0;
    for (index, one) in terms.iter().enumerate() {
        for other in &terms[index + 1..] {
            let (n, m) = (one.df, other.df);
            let both = down(miss, n + m).powi(2) * (n + m).powi(2) / (n * m);
            let apart = down(miss, n).powi(2) * n / m + down(miss, m).powi(2) * m / n;
            total += (both - apart) * one.size() * other.size();
        }
    }
    total / (terms.len().max(2) - 1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn term(weight: f64, mean_square: f64, df: f64) -> Term {
        Term { weight, mean_square, df }
    }

    /// NIST/SEMATECH e-Handbook, 1.3.6.7.4: chi-squared with ten degrees of freedom is 18.307 at
    /// 0.95 and 3.940 at 0.05.
    #[test]
    fn one_mean_square_has_exact_limits() {
        let (low, high) = Combination::new(&[term(1.0, 2.0, 10.0)]).limits(0.90);
        assert!((low - 20.0 / 18.307).abs() < 1e-4 && (high - 20.0 / 3.940).abs() < 1e-3);
    }

    #[test]
    fn a_difference_at_its_critical_f_has_a_limit_at_nought() {
        let f = f_quantile(0.95, 4.0, 20.0);
        let difference = Combination::new(&[term(1.0, f, 4.0), term(-1.0, 1.0, 20.0)]);
        let (low, high) = difference.limits(0.90);
        assert!(low.abs() < 1e-9 && high > f - 1.0, "{low} {high}");
        assert_eq!(difference.method(), LimitMethod::Ting);
    }
}
