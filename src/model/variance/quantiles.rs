//! Quantiles behind the limits. Expansions replace the library's where these are wrong or slow.
//!
//! In all functions, `p` lies strictly between 0 and 1 and degrees of freedom are above zero.

use super::super::mixed::{invert, normal_cdf, normal_pdf};
use statrs::distribution::{ChiSquared, Continuous, ContinuousCDF, StudentsT};

/// Beyond this many degrees of freedom the expansions have more correct digits than the library.
/// Its Student-t quantile is off in the fifth digit at a million and never returns at thirty
/// million.
const MANY: f64 = 1e4;
/// The continued fraction of the beta function settles in about as many terms as the square root of
/// the degrees of freedom. Only a million million of them would need this many.
const MOST_TERMS: u32 = 1_000_000;
/// A factor this near to one changes nothing in a double.
const SETTLED: f64 = 3e-16;

fn normal_quantile(p: f64) -> f64 {
    invert(|z| (normal_cdf(z), normal_pdf(z)), p, 0.0, 1.0)
}

/// Student's t quantile; beyond [`MANY`] degrees of freedom `z + (z³ + z)/(4ν) + (5z⁵ + 16z³ +
/// 3z)/(96ν²)`. Source: Abramowitz and Stegun, 26.7.5.
pub(super) fn student_t_quantile(p: f64, df: f64) -> f64 {
    match StudentsT::new(0.0, 1.0, df) {
        Ok(student) if df <= MANY => student.inverse_cdf(p),
        Ok(_) | Err(_) => {
            let z = normal_quantile(p);
            let first = (z.powi(3) + z) / (4.0 * df);
            z + first + (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * df * df)
        }
    }
}

/// The chi-squared quantile, by inverting the library's distribution over the logarithm: the
/// library's own inverse stops at nine digits. Beyond [`MANY`] degrees of freedom it is Cornish and
/// Fisher's expansion. Source: Goldberg and Levine (1946), as in Johnson, Kotz and Balakrishnan,
/// *Continuous Univariate Distributions* 1, 2nd ed., section 18.5.
pub(in super::super) fn chi_squared_quantile(p: f64, df: f64) -> f64 {
    match ChiSquared::new(df) {
        Ok(chi) if df <= MANY => {
            let over_log = |log: f64| (chi.cdf(log.exp()), chi.pdf(log.exp()) * log.exp());
            invert(over_log, p, df.ln(), (2.0 / df).sqrt()).exp()
        }
        Ok(_) | Err(_) => {
            let z = normal_quantile(p);
            let (z2, root) = (z * z, (2.0 * df).sqrt());
            df + z * root + 2.0 / 3.0 * (z2 - 1.0) + z * (z2 - 7.0) / (9.0 * root)
                - (6.0 * z2 * z2 + 14.0 * z2 - 32.0) / (405.0 * df)
                + z * (9.0 * z2 * z2 + 256.0 * z2 - 433.0) / (4860.0 * root * df / 2.0)
        }
    }
}

/// The quantile of F with `above` and `below` degrees of freedom, by inverting its distribution
/// over log F, which is unbounded.
pub(in super::super) fn f_quantile(p: f64, above: f64, below: f64) -> f64 {
    let width = (2.0 / above + 2.0 / below).sqrt();
    invert(|log| f_over_log(log, above, below), p, 0.0, width).exp()
}

/// The probability at or below `exp(log)`, and the density over `log`.
fn f_over_log(log: f64, above: f64, below: f64) -> (f64, f64) {
    let (a, b) = (0.5 * above, 0.5 * below);
    // x and its complement are computed separately: in a tail only one of them has digits left.
    let odds = log + (above / below).ln();
    let (x, rest) = (1.0 / (1.0 + (-odds).exp()), 1.0 / (1.0 + odds.exp()));
    let log_beta = libm::lgamma(a) + libm::lgamma(b) - libm::lgamma(a + b);
    let density = (a * x.ln() + b * rest.ln() - log_beta).exp();
    let share = if x < (a + 1.0) / (a + b + 2.0) {
        density * beta_fraction(a, b, x) / a
    } else {
        1.0 - density * beta_fraction(b, a, rest) / b
    };
    (share, density)
}

/// The continued fraction of the incomplete beta function, by Lentz's method. Source: DLMF
/// 8.17.22.
fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let (mut c, mut d) = (1.0, 1.0 / (1.0 - (a + b) * x / (a + 1.0)));
    let mut product = d;
    for m in 1..=MOST_TERMS {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut step = 1.0;
        for term in [even, odd] {
            d = 1.0 / (1.0 + term * d);
            c = 1.0 + term / c;
            step *= c * d;
        }
        product *= step;
        if (step - 1.0).abs() <= SETTLED {
            break;
        }
    }
    product
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of a reference table, without the header. tests/reference/SOURCE.md names its source.
    fn rows(text: &str) -> Vec<Vec<&str>> {
        text.lines().skip(1).map(|line| line.split(',').collect()).collect()
    }

    fn number(field: &str) -> f64 {
        field.parse().unwrap()
    }

    #[track_caller]
    fn agrees(ours: f64, theirs: f64, digits: i32) {
        let error = (ours - theirs).abs() / theirs.abs().max(1e-12);
        assert!(error <= 10_f64.powi(-digits) || ours == theirs, "{ours} against {theirs}");
    }

    /// Ten digits, even at thirty million degrees of freedom.
    #[test]
    fn student_quantiles_hold_at_any_freedom() {
        let text = include_str!("../../../tests/reference/student_t_scipy.csv");
        let mut many = 0;
        for row in rows(text) {
            let (df, p, theirs) = (number(row[0]), number(row[1]), number(row[2]));
            let ours = student_t_quantile(p, df);
            assert!((ours - theirs).abs() <= 1e-10 * (1.0 + theirs.abs()), "{row:?}: {ours}");
            many += usize::from(df > MANY);
        }
        assert!(many >= 10);
    }

    /// Ten digits where the library or our own fraction works, nine where log-gammas of half a
    /// million are subtracted.
    #[test]
    fn chi_squared_and_f_quantiles_are_those_of_another_library() {
        let text = include_str!("../../../tests/reference/quantiles_scipy.csv");
        let (mut chi, mut f) = (0, 0);
        for row in rows(text) {
            let (p, theirs) = (number(row[3]), number(row[4]));
            if row[0] == "chi2" {
                agrees(chi_squared_quantile(p, number(row[1])), theirs, 10);
                chi += 1;
            } else {
                let ours = f_quantile(p, number(row[1]), number(row[2]));
                agrees(
                    ours,
                    theirs,
                    if number(row[1]).max(number(row[2])) > MANY { 9 } else { 10 },
                );
                f += 1;
            }
        }
        assert!(chi >= 60 && f >= 40, "{chi} {f}");
    }
}
