//! Numbers from outside: yarn numbers from a registry of units, basis weights of paper from a
//! script and a standard, the normal distribution from another library. tests/reference/SOURCE.md
//! gives the source of each.

use crate::support::{assert_digits, number, rows};
use swellbook::model::mixed::normal_cdf;
use swellbook::trade::{PaperKind, ThreadCount, parse_weight};

/// A count is a few products and one division: all but the last digit of a double agree.
const YARN_DIGITS: f64 = 14.0;
/// Far in the lower tail, an error in the last digit of z is z² such errors in Φ, with z² up to 64.
const NORMAL_DIGITS: f64 = 12.5;

#[test]
fn yarn_counts_agree_with_the_unit_registry() {
    let mut read = 0;
    for row in rows("tests/reference/yarn_pint.csv") {
        let (text, tex) = (format!("{} {}/{}", row[0], row[1], row[2]), number(&row[3]));
        let count: Result<ThreadCount, _> = text.parse();
        if tex < 1.0 {
            assert!(count.is_err(), "{text} is finer than any thread");
            continue;
        }
        let count = count.unwrap_or_else(|error| panic!("{error}"));
        assert_digits(&text, count.linear_density().tex(), tex, YARN_DIGITS);
        read += 1;
    }
    assert!(read >= 30, "only {read} counts");
}

/// A basis weight is also a few products and one division.
#[test]
fn basis_weights_agree_with_exact_fractions() {
    let mut read = 0;
    for row in rows("tests/reference/basis_weights.csv") {
        let (text, gsm) = (format!("{} lb {}", row[1], row[0]), number(&row[2]));
        let kind: PaperKind = row[0].parse().unwrap_or_else(|error| panic!("{error}"));
        assert_digits(&text, kind.gsm(number(&row[1])), gsm, YARN_DIGITS);
        let weight = match parse_weight(&text) {
            Err(error) => {
                assert!(gsm < 4.0, "{error}");
                continue;
            }
            Ok((weight, _)) => weight.gsm(),
        };
        assert!((weight - gsm).abs() < 0.0501, "{text}: {weight} for {gsm}");
        read += 1;
    }
    assert!(read >= 35, "only {read} weights");
}

/// A pound to the ream of each basic size in g/m², to three places: the factors that the method for
/// grammage of the pulp and paper industry prints (TAPPI T 410, from memory).
#[test]
fn a_pound_to_the_ream_is_what_the_standard_says() {
    for (kind, factor) in [
        (PaperKind::Bond, 3.760),
        (PaperKind::Text, 1.480),
        (PaperKind::Cover, 2.704),
        (PaperKind::Index, 1.808),
        (PaperKind::Bristol, 2.193),
        (PaperKind::Tag, 1.627),
    ] {
        assert!((kind.gsm(1.0) - factor).abs() <= 0.0006, "{kind}: {}", kind.gsm(1.0));
    }
}

#[test]
fn the_normal_distribution_agrees_with_another_library() {
    let mut cdfs = 0;
    for row in rows("tests/reference/normal_scipy.csv") {
        let (x, value) = (number(&row[1]), number(&row[2]));
        match row[0].as_str() {
            "cdf" => {
                cdfs += 1;
                assert_digits(&format!("cdf {x}"), normal_cdf(x), value, NORMAL_DIGITS);
            }
            // A quantile is checked in reverse: its cdf must be the share. The slope of the cdf
            // turns the rounding of the quantile into z times the rounding of the share.
            "quantile" => {
                assert_digits(&format!("cdf {value}"), normal_cdf(value), x, NORMAL_DIGITS)
            }
            other => panic!("normal_scipy.csv has '{other}'"),
        }
    }
    assert!(cdfs >= 20);
}
