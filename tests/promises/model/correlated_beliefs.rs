//! Correlated beliefs: the predictions before the first trial, and the refusals.

use crate::support::random_books::{name, untried_paper};
use crate::support::worlds::{correlated_beliefs, correlations};
use swellbook::model::mixed::Mixture;
use swellbook::model::{
    Beliefs, COEFFICIENTS, Coefficient, ModelError, Plan, PlannedThread, Run, Square, SwellFit,
    SwellSpread,
};
use swellbook::trade::{Hardness, Sewing, State};

const FACTOR: usize = Coefficient::Factor as usize;
const HARD: usize = Coefficient::Hard as usize;
const SOFT: usize = Coefficient::Soft as usize;
const KNOCKED: usize = Coefficient::Knocked as usize;
const FOLD: usize = Coefficient::Fold as usize;

fn means() -> [f64; COEFFICIENTS] {
    Coefficient::ALL.map(|name| Beliefs::default().coefficient(name).mean)
}

fn scales() -> [f64; SwellSpread::ALL.len()] {
    SwellSpread::ALL.map(|spread| Beliefs::default().scale(spread))
}

/// Common practice with these correlations between pairs of coefficients.
fn covariance(correlated: &[(usize, usize, f64)]) -> Square {
    let mut covariance = Beliefs::default().covariance();
    for &(one, other, correlation) in correlated {
        let both = correlation * (covariance[one][one] * covariance[other][other]).sqrt();
        (covariance[one][other], covariance[other][one]) = (both, both);
    }
    covariance
}

fn believed(covariance: &Square) -> Result<Beliefs, ModelError> {
    Beliefs::correlated(means(), covariance, scales())
}

/// Ten sections of four sheets, all along, knocked down, of a medium paper at the reference depth:
/// 4·0.10625 = 0.85·0.5. Depth and length add nothing, and D is 5 mm.
fn plan() -> Plan {
    let paper = untried_paper("paper", 0.106_25, Hardness::Medium);
    let thread = PlannedThread { name: name("thread"), level: None, diameter_mm: 0.5 };
    let sewing = Sewing::new(10, 4, 1, 0).expect("a sewing");
    Plan::new(vec![Run { paper, thread, sewing, boned: false }], State::Knocked).expect("a plan")
}

/// By hand. The mean is 10·(0.020 − 0.005) + 5·(0.60 − 0.10) = 2.65. With correlations r between
/// `factor` and `knocked` and q between `factor` and `fold`, the variance is 25·(0.15² + 0.08² +
/// 2r·0.15·0.08) + 100·(0.020² + 0.010² + 0.010²) + 2·5·10·q·0.15·0.020. The spreads add
/// 25·(0.08² + 0.05² + 0.05² + 0.06² + 0.03² + 0.05²), because the mean square of a half-normal
/// spread is the square of its scale.
#[test]
fn before_the_first_trial_a_prediction_is_the_normal_of_the_beliefs() {
    for (r, q) in [(0.0, 0.0), (-0.5, 0.0), (0.9, 0.3), (-0.8, -0.4)] {
        let beliefs = believed(&covariance(&[(FACTOR, KNOCKED, r), (FOLD, FACTOR, q)]));
        let fit = SwellFit::nominal(&beliefs.expect("beliefs")).expect("a fit");
        let variance = 25.0 * (0.0289 + 0.024 * r) + 0.06 + 0.3 * q;
        let known = fit.predict_at_mode(&plan());
        let off = [known.mean - 2.65, known.sd - variance.sqrt()];
        assert!(off.iter().all(|off| off.abs() < 1e-12), "{r} {q}: {off:?}");
        let swell: Mixture = fit.predict(&plan()).swell;
        let sd = (variance + 25.0 * 0.0184_f64).sqrt();
        assert!((swell.mean() - 2.65).abs() < 1e-12, "{r} {q}: {}", swell.mean());
        // The spreads are integrated by draws.
        assert!((swell.sd() / sd - 1.0).abs() < 0.005, "{r} {q}: {} {sd}", swell.sd());
    }
}

#[test]
fn before_the_first_trial_every_coefficient_is_as_believed() {
    let beliefs = correlated_beliefs();
    let fit = SwellFit::nominal(&beliefs).expect("a fit");
    for (name, found) in fit.coefficients() {
        let belief = beliefs.coefficient(name);
        assert!((found.mean() - belief.mean).abs() < 1e-12, "{name:?}");
        assert!((found.sd() / belief.sd - 1.0).abs() < 1e-12, "{name:?}: {}", found.sd());
    }
}

#[test]
fn a_covariance_comes_back_as_it_was_given() {
    let beliefs = correlated_beliefs();
    let again = Beliefs::correlated(means(), &beliefs.covariance(), scales()).expect("beliefs");
    for (i, one) in Coefficient::ALL.into_iter().enumerate() {
        for (j, other) in Coefficient::ALL.into_iter().enumerate() {
            let wanted = correlations(true)[i][j];
            assert!((beliefs.correlation(one, other) - wanted).abs() < 1e-14, "{one:?} {other:?}");
            assert!((again.correlation(one, other) - wanted).abs() < 1e-14, "{one:?} {other:?}");
        }
    }
}

/// Doubling an sd doubles the coefficient's covariances, because the correlations stay.
#[test]
fn an_override_keeps_the_correlations() {
    let mut beliefs = correlated_beliefs();
    beliefs.override_coefficient("factor", Some(0.7), Some(0.30)).expect("a belief");
    let (before, after) = (correlated_beliefs().covariance(), beliefs.covariance());
    assert!((after[FACTOR][KNOCKED] - 2.0 * before[FACTOR][KNOCKED]).abs() < 1e-15);
    assert!((after[FACTOR][FACTOR] - 0.09).abs() < 1e-15);
    assert_eq!(after[HARD][SOFT].to_bits(), before[HARD][SOFT].to_bits());
}

#[test]
fn independent_beliefs_are_those_without_correlations() {
    let beliefs = believed(&covariance(&[])).expect("beliefs");
    for name in Coefficient::ALL {
        let (ours, wanted) = (beliefs.coefficient(name), Beliefs::default().coefficient(name));
        assert!((ours.sd - wanted.sd).abs() < 1e-16, "{name:?}");
    }
    let mut same = Beliefs::default();
    for name in Coefficient::ALL {
        let sd = beliefs.coefficient(name).sd;
        same.override_coefficient(name.name(), None, Some(sd)).expect("a belief");
    }
    assert_eq!(beliefs, same, "without a table of zeros");
}

#[track_caller]
fn refused(found: Result<Beliefs, ModelError>, words: &str) {
    let error = found.expect_err("refused").to_string();
    assert!(error.contains(words), "{error}");
    // The caller that read the file adds its name.
    assert!(!error.contains("toml"), "{error}");
}

#[test]
fn what_is_not_a_covariance_is_refused_by_name() {
    refused(believed(&covariance(&[(FACTOR, KNOCKED, 1.0)])), "correlations of ");
    refused(believed(&covariance(&[(FACTOR, KNOCKED, -1.2)])), "correlations of knocked with");
    // Both correlate with the factor, but negatively with each other.
    let torn = [(FACTOR, HARD, 0.9), (FACTOR, SOFT, 0.9), (HARD, SOFT, -0.9)];
    refused(believed(&covariance(&torn)), "correlations of soft with");
    let hardly = (1.0 - 1e-9_f64).sqrt();
    refused(believed(&covariance(&[(FACTOR, KNOCKED, hardly)])), "1e-8 of its variance");
    let mut lopsided = covariance(&[]);
    lopsided[FACTOR][KNOCKED] = 0.001;
    refused(believed(&lopsided), "the covariance of knocked and factor is 0 and that of");
    for value in [f64::NAN, f64::INFINITY] {
        let mut strange = covariance(&[]);
        (strange[FACTOR][KNOCKED], strange[KNOCKED][FACTOR]) = (value, value);
        refused(believed(&strange), "must be the same finite number");
    }
    for value in [f64::NAN, f64::INFINITY, 0.0, -0.01] {
        let mut strange = covariance(&[]);
        strange[SOFT][SOFT] = value;
        refused(believed(&strange), "the belief soft needs a finite mean and an sd above zero");
    }
    let (mut strange, covariance) = (means(), covariance(&[]));
    strange[FOLD] = f64::NAN;
    refused(Beliefs::correlated(strange, &covariance, scales()), "the belief fold needs");
    let mut strange = scales();
    strange[0] = -0.1;
    refused(Beliefs::correlated(means(), &covariance, strange), "the belief paper needs a scale");
}

#[test]
fn an_impossible_override_names_the_settings() {
    let mut beliefs = correlated_beliefs();
    let error = beliefs.override_coefficient("factor", None, Some(-1.0)).expect_err("refused");
    assert!(error.to_string().starts_with("book.toml: the belief factor needs"), "{error}");
    let error = beliefs.override_spread("sewings", 0.1).expect_err("refused");
    assert!(error.to_string().starts_with("book.toml: [spreads] sewings is not"), "{error}");
}
