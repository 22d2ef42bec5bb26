//! The engine's generic core gives the published results of mixed models.

use crate::support::{assert_digits, number, rows, value};
use linfa::ParamGuard;
use linfa::dataset::DatasetBase;
use linfa::traits::Fit;
use ndarray::Array1;
use std::collections::BTreeMap;
use swellbook::model::mixed::*;

const R: &str = "tests/reference/lme4_metafor.csv";
const GRID: &str = "tests/reference/eight_schools_grid.csv";

/// Digits required: two more than the four that the books print. The slopes behind the mode are
/// differences, so a spread cannot have all of a double's digits.
const DIGITS: f64 = 6.0;

/// Sd of a belief that says nothing, for data from units to thousands.
const WIDE: f64 = 1e6;

fn flat(y: &[f64]) -> SpreadPrior {
    let mean = y.iter().sum::<f64>() / y.len() as f64;
    let squares: f64 = y.iter().map(|value| (value - mean).powi(2)).sum();
    SpreadPrior::Flat((squares / (y.len() - 1) as f64).sqrt())
}

fn fit(design: Design, y: Vec<f64>) -> Posterior {
    let params = MixedParams::new().check().expect("the defaults are allowed");
    params.fit(&DatasetBase::new(design, Array1::from(y))).expect("a published example fits")
}

/// Text labels as levels 0, 1, 2 … in order of appearance.
#[derive(Default)]
struct Levels(BTreeMap<String, usize>);

impl Levels {
    fn level(&mut self, name: &str) -> usize {
        let next = self.0.len();
        *self.0.entry(name.to_owned()).or_insert(next)
    }
}

struct OneWay {
    posterior: Posterior,
    mean: CoefficientId,
    between: SpreadId,
    within: SpreadId,
    effect: EffectId,
}

/// A model of a mean, an effect of each batch and a residual.
fn one_way(path: &str) -> OneWay {
    let table = rows(path);
    let y: Vec<f64> = table.iter().map(|row| number(&row[1])).collect();
    let mut design = Design::new();
    let between = design.spread("between", flat(&y));
    let within = design.spread("within", flat(&y));
    let mean = design.coefficient(Belief { mean: 0.0, sd: WIDE });
    let batch = design.grouping(6, vec![GroupEffect::Spread(between)]);
    let effect = design.effect(batch, 0);
    let mut levels = Levels::default();
    for row in &table {
        design.push(Row {
            coefficients: vec![(mean, 1.0)],
            effects: vec![(effect, levels.level(&row[0]), 1.0)],
            own: vec![(within, 1.0)],
            ..Row::default()
        });
    }
    OneWay { posterior: fit(design, y), mean, between, within, effect }
}

/// lme4's Dyestuff (Davies and Goldsmith 1972, table 6.3), REML.
#[test]
fn dyestuff_has_its_published_spreads_mean_and_batches() {
    let found = one_way("datasets/lme4/dyestuff.csv");
    let posterior = &found.posterior;
    let theirs = |quantity| value(R, "dyestuff", quantity);
    assert_digits("batch", posterior.mode(found.between), theirs("sd_batch"), DIGITS);
    assert_digits("residual", posterior.mode(found.within), theirs("sd_residual"), DIGITS);
    let mean = Functional::default().plus(found.mean, 1.0);
    let first = Functional::default().plus_effect(found.effect, 0, 1.0);
    let at = posterior.at_mode(&[mean, first]);
    assert_digits("mean", at[0].0, theirs("fixef"), DIGITS);
    assert_digits("its s.e.", at[0].1, theirs("fixef_se"), DIGITS);
    assert_digits("batch A", at[1].0, theirs("ranef_batch_A"), DIGITS);
    assert_digits("its sd", at[1].1, theirs("predsd_batch_A"), DIGITS);
    // As printed by Bates (lme4 book draft, chapter 1; from memory): 42.00, 49.51, 1527.5.
    assert_eq!(format!("{:.2}", posterior.mode(found.between)), "42.00");
    assert_eq!(format!("{:.2}", posterior.mode(found.within)), "49.51");
}

/// −2·log of the REML likelihood, less the log width of the wide belief on the mean.
#[test]
fn dyestuff_has_its_published_restricted_likelihood() {
    let found = one_way("datasets/lme4/dyestuff.csv");
    let belief = (WIDE * (2.0 * std::f64::consts::PI).sqrt()).ln();
    let ours = -2.0 * (found.posterior.mode_log_likelihood() + belief);
    assert_digits("criterion", ours, value(R, "dyestuff", "reml_criterion"), DIGITS);
}

/// lme4's Dyestuff2 (Box and Tiao 1973, table 5.1.4): batches do not differ at all.
#[test]
fn a_spread_of_exactly_zero_is_an_ordinary_answer() {
    let found = one_way("datasets/lme4/dyestuff2.csv");
    assert_eq!(found.posterior.mode(found.between), 0.0);
    let theirs = |quantity| value(R, "dyestuff2", quantity);
    assert_digits("residual", found.posterior.mode(found.within), theirs("sd_residual"), DIGITS);
    let at = found.posterior.at_mode(&[Functional::default().plus(found.mean, 1.0)]);
    assert_digits("mean", at[0].0, theirs("fixef"), DIGITS);
    assert_digits("its s.e.", at[0].1, theirs("fixef_se"), DIGITS);
}

/// lme4's Pastes (Davies and Goldsmith 1972, table 6.5): casks within batches. The casks are once
/// columns of the system and once the eliminated block. Both give the same.
#[test]
fn pastes_has_its_published_spreads_whether_casks_are_eliminated_or_not() {
    for eliminated in [false, true] {
        let table = rows("datasets/lme4/pastes.csv");
        let y: Vec<f64> = table.iter().map(|row| number(&row[2])).collect();
        let mut design = Design::new();
        let casks = design.spread("cask", flat(&y));
        let batches = design.spread("batch", flat(&y));
        let residual = design.spread("residual", flat(&y));
        let mean = design.coefficient(Belief { mean: 0.0, sd: WIDE });
        let batch = design.grouping(10, vec![GroupEffect::Spread(batches)]);
        let cask = design.grouping(30, vec![GroupEffect::Spread(casks)]);
        let (batch, cask) = (design.effect(batch, 0), design.effect(cask, 0));
        design.block(casks);
        let (mut batch_levels, mut cask_levels) = (Levels::default(), Levels::default());
        for row in &table {
            let level = cask_levels.level(&format!("{}:{}", row[0], row[1]));
            let mut effects = vec![(batch, batch_levels.level(&row[0]), 1.0)];
            if !eliminated {
                effects.push((cask, level, 1.0));
            }
            design.push(Row {
                coefficients: vec![(mean, 1.0)],
                effects,
                own: vec![(residual, 1.0)],
                block: eliminated.then_some((level, vec![1.0])),
                ..Row::default()
            });
        }
        let posterior = fit(design, y);
        let theirs = |quantity| value(R, "pastes", quantity);
        assert_digits("cask", posterior.mode(casks), theirs("sd_cask:batch"), DIGITS);
        assert_digits("batch", posterior.mode(batches), theirs("sd_batch"), DIGITS);
        assert_digits("residual", posterior.mode(residual), theirs("sd_residual"), DIGITS);
        let at = posterior.at_mode(&[Functional::default().plus(mean, 1.0)]);
        assert_digits("mean", at[0].0, theirs("fixef"), DIGITS);
        assert_digits("its s.e.", at[0].1, theirs("fixef_se"), DIGITS);
    }
}

struct Pooled {
    posterior: Posterior,
    mean: CoefficientId,
    tau: SpreadId,
    effect: EffectId,
}

/// A meta-analysis: each study has an effect and a known variance.
fn pooled(studies: &[(f64, f64)], prior: SpreadPrior) -> Pooled {
    let mut design = Design::new();
    let tau = design.spread("tau", prior);
    let mean = design.coefficient(Belief { mean: 0.0, sd: 1e4 });
    let study = design.grouping(studies.len(), vec![GroupEffect::Spread(tau)]);
    let effect = design.effect(study, 0);
    for (level, &(_, variance)) in studies.iter().enumerate() {
        design.push(Row {
            variance,
            coefficients: vec![(mean, 1.0)],
            effects: vec![(effect, level, 1.0)],
            ..Row::default()
        });
    }
    let y = studies.iter().map(|study| study.0).collect();
    Pooled { posterior: fit(design, y), mean, tau, effect }
}

/// The BCG vaccine trials (Colditz et al. 1994), REML, as in Viechtbauer (2010), J. Stat.
/// Softw. 36(3): tau² 0.3132, estimate −0.7145, s.e. 0.1798.
#[test]
fn the_vaccine_trials_have_their_published_heterogeneity() {
    let table = rows("datasets/metafor/bcg.csv");
    let studies: Vec<_> = table.iter().map(|row| (number(&row[7]), number(&row[8]))).collect();
    let found = pooled(&studies, SpreadPrior::Flat(1.0));
    let tau2 = found.posterior.mode(found.tau).powi(2);
    let at = found.posterior.at_mode(&[Functional::default().plus(found.mean, 1.0)]);
    assert_digits("tau²", tau2, value(R, "bcg_reml", "tau2"), DIGITS);
    assert_digits("estimate", at[0].0, value(R, "bcg_reml", "estimate"), DIGITS);
    assert_digits("s.e.", at[0].1, value(R, "bcg_reml", "se"), DIGITS);
    let printed = [tau2, at[0].0, at[0].1].map(|value| format!("{value:.4}"));
    assert_eq!(printed, ["0.3132", "-0.7145", "0.1798"]);
}

fn schools() -> Vec<(f64, f64)> {
    let square = |field: &str| number(field) * number(field);
    rows("datasets/eight_schools/eight_schools.csv")
        .iter()
        .map(|row| (number(&row[1]), square(&row[2])))
        .collect()
}

/// The eight schools (Rubin 1981): REML finds no spread at all.
#[test]
fn the_eight_schools_pool_completely_at_the_mode() {
    let found = pooled(&schools(), SpreadPrior::Flat(10.0));
    assert_eq!(found.posterior.mode(found.tau), 0.0);
    let at = found.posterior.at_mode(&[Functional::default().plus(found.mean, 1.0)]);
    assert_digits("estimate", at[0].0, value(R, "eight_schools_reml", "estimate"), DIGITS);
    assert_digits("s.e.", at[0].1, value(R, "eight_schools_reml", "se"), DIGITS);
}

/// The eight schools with the spread integrated (Gelman et al., Bayesian Data Analysis, section
/// 5.5), compared with quadrature over tau: means within 0.02 sd, quantiles within 0.05 sd.
#[test]
fn the_eight_schools_have_their_posterior_when_the_spread_is_integrated() {
    let cases =
        [("flat", SpreadPrior::Flat(10.0)), ("half_normal_10", SpreadPrior::HalfNormal(10.0))];
    for (name, prior) in cases {
        let found = pooled(&schools(), prior);
        let theirs = |quantity: &str| value(GRID, name, quantity);
        let compare = |what: &str, ours: Summary| {
            let sd = theirs(&format!("{what}_sd"));
            let near = |ours: f64, quantity: &str, tolerance: f64| {
                let theirs = theirs(&format!("{what}_{quantity}"));
                let off = (ours - theirs).abs() / sd;
                assert!(off < tolerance, "{name} {what} {quantity}: {ours} {theirs} {off:.4} sd");
            };
            near(ours.mean, "mean", 0.02);
            near(ours.q05, "q05", 0.05);
            near(ours.q50, "q50", 0.05);
            near(ours.q95, "q95", 0.05);
        };
        compare("tau", found.posterior.spread_summary(found.tau));
        let mean = Functional::default().plus(found.mean, 1.0);
        compare("mu", found.posterior.project(std::slice::from_ref(&mean))[0].summary());
        for (level, school) in ["A", "B", "C", "D", "E", "F", "G", "H"].iter().enumerate() {
            let effect = mean.clone().plus_effect(found.effect, level, 1.0);
            let ours = found.posterior.project(&[effect])[0].summary();
            compare(&format!("theta_{school}"), ours);
        }
    }
}

/// Without data a spread is half-normal: mean `s·√(2/π)`, quantiles `s·Φ⁻¹((1 + p)/2)`.
#[test]
fn without_data_every_spread_is_half_normal() {
    let mut design = Design::new();
    let spreads: Vec<_> =
        (0..5).map(|_| design.spread("any", SpreadPrior::HalfNormal(0.05))).collect();
    let posterior = fit(design, Vec::new());
    let sd = 0.05 * (1.0 - 2.0 / std::f64::consts::PI).sqrt();
    for spread in spreads {
        let ours = posterior.spread_summary(spread);
        let near = |ours: f64, theirs: f64, tolerance: f64| {
            let off = (ours - 0.05 * theirs).abs() / sd;
            assert!(off < tolerance, "{spread:?}: {ours} against {}, {off:.4} sd", 0.05 * theirs);
        };
        near(ours.mean, (2.0 / std::f64::consts::PI).sqrt(), 0.02);
        // Φ⁻¹ at 0.525, 0.75 and 0.975: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1.
        near(ours.q05, 0.062_707, 0.05);
        near(ours.q50, 0.674_490, 0.05);
        near(ours.q95, 1.959_964, 0.05);
    }
}
