//! Compares levels without rows with the same levels given a row that says next to nothing. That
//! row puts them into the system.

use crate::{
    Belief, Design, EffectId, Functional, GroupEffect, MixedParams, Posterior, Row, SpreadId,
    SpreadPrior,
};
use linfa::dataset::DatasetBase;
use linfa::traits::Fit;
use ndarray::Array1;

const TARGETS: [f64; 8] = [1.4, 1.7, 0.9, 0.8, 1.2, 1.1, 1.9, 2.1];
/// Levels of the grouping. Only every second one has rows.
const LEVELS: usize = 8;
/// Noise variance of a row that says nothing.
const VAST: f64 = 1e20;

struct Example {
    fit: Posterior,
    effects: [EffectId; 2],
    group: SpreadId,
    asked: [Functional; 4],
    ahead: Vec<Vec<Row>>,
}

/// Half of the levels have two rows. The others have none, or one that says nothing.
fn example(says_nothing: bool) -> Example {
    let mut design = Design::new();
    let [group, own] =
        ["group", "own"].map(|name| design.spread(name, SpreadPrior::HalfNormal(0.5)));
    let level = design.coefficient(Belief { mean: 1.0, sd: 0.8 });
    let effects = vec![GroupEffect::Spread(group), GroupEffect::Known(0.3)];
    let grouping = design.grouping(LEVELS, effects);
    let effects = [0, 1].map(|effect| design.effect(grouping, effect));
    let row = |at: usize, variance: f64| Row {
        variance,
        coefficients: vec![(level, 1.0)],
        effects: vec![(effects[0], at, 1.0), (effects[1], at, 0.4)],
        own: vec![(own, 1.0)],
        block: None,
    };
    let mut targets = TARGETS.to_vec();
    (0..TARGETS.len()).for_each(|at| design.push(row(at / 2 * 2, 0.02)));
    if says_nothing {
        (1..LEVELS).step_by(2).for_each(|at| design.push(row(at, VAST)));
        targets.extend([0.0; LEVELS / 2]);
    }
    let params = MixedParams::new().draws(64).minimum_effective(1.0);
    let fit = params.fit(&DatasetBase::new(design, Array1::from_vec(targets))).unwrap();
    let of = |at: usize, x: f64| {
        let one = Functional::default().plus(level, 1.0);
        one.plus_effect(effects[0], at, x).plus_effect(effects[1], at, 0.5 * x)
    };
    // Two of one level without rows, one of another, and one of both and of a level with rows.
    let asked = [of(3, 1.5), of(3, -0.7), of(5, 1.0), of(5, 2.0).plus_all(&of(3, 1.0))]
        .map(|one| one.plus_effect(effects[0], 2, 0.5).plus_new(own, 0.2));
    let ahead = vec![vec![row(3, 0.02)], vec![row(3, 0.02), row(5, 0.02)], vec![row(0, 0.02)]];
    Example { fit, effects, group, asked, ahead }
}

/// Checks for equality up to rounding: the two searches end some 1e-9 apart.
fn assert_alike(what: &str, ours: impl Iterator<Item = f64>, theirs: impl Iterator<Item = f64>) {
    let (ours, theirs): (Vec<f64>, Vec<f64>) = (ours.collect(), theirs.collect());
    assert_eq!(ours.len(), theirs.len(), "{what}");
    for (one, other) in ours.iter().zip(&theirs) {
        assert!((one - other).abs() < 1e-6 * (1.0 + other.abs()), "{what}: {one} {other}");
    }
}

#[test]
fn what_is_asked_together_shares_the_levels_that_have_no_rows() {
    let [ours, theirs] = [false, true].map(example);
    let joint = |example: &Example| {
        let joint = example.fit.together(&example.asked).into_iter();
        joint.flat_map(|at| at.covariance.concat().into_iter().chain(at.mean)).collect::<Vec<_>>()
    };
    assert_alike("together", joint(&ours).into_iter(), joint(&theirs).into_iter());
    let shares = |example: &Example| example.fit.shares(&example.asked).into_iter();
    assert_alike("shares", shares(&ours), shares(&theirs));
    let foreseen = |example: &Example| {
        let foreseen = example.fit.foresee(&example.asked[3], &[], &example.ahead);
        assert!(foreseen.after[1] < 0.6 * foreseen.after[2], "rows of its own levels tell more");
        [vec![foreseen.before, foreseen.never], foreseen.after].concat()
    };
    assert_alike("foreseen", foreseen(&ours).into_iter(), foreseen(&theirs).into_iter());
}

#[test]
fn what_is_asked_alone_is_what_is_asked_by_columns() {
    let [ours, theirs] = [false, true].map(example);
    let moments = |example: &Example, by_columns: bool| {
        let of = if by_columns { Posterior::project_by_columns } else { Posterior::project };
        let mixtures = of(&example.fit, &example.asked).into_iter();
        mixtures.flat_map(|one| [one.mean(), one.sd()]).collect::<Vec<_>>()
    };
    let found = moments(&theirs, false);
    for by_columns in [false, true] {
        assert_alike("moments", moments(&ours, by_columns).into_iter(), found.iter().copied());
    }
    let mut twice = ours.asked.to_vec();
    twice.extend(ours.asked.clone());
    let summaries = ours.fit.summaries(&twice);
    assert_eq!(summaries[..4], summaries[4..], "each again");
    let means = summaries.iter().take(4).flat_map(|one| [one.mean, one.sd]);
    assert_alike("summaries", means, found.iter().copied());
}

/// Within a draw, all functionals of one level have the same effect. Other levels have others.
#[test]
fn a_draw_of_everything_has_one_effect_for_each_level_without_rows() {
    let Example { fit, effects: [effect, known], group, .. } = example(false);
    let of = |effect, at, x| Functional::default().plus_effect(effect, at, x);
    let asked = [of(effect, 3, 1.0), of(effect, 3, 2.0), of(effect, 5, 1.0), of(known, 3, 1.0)];
    let draws = fit.sample(&asked, 4096, 1);
    let mean_of = |value: &dyn Fn(&[f64]) -> f64| {
        draws.iter().map(|one| value(&one.values)).sum::<f64>() / draws.len() as f64
    };
    assert!(draws.iter().all(|one| one.values[1] == 2.0 * one.values[0]));
    let spreads = fit.spread_draws(group);
    let square: f64 = fit.weights().iter().zip(&spreads).map(|(w, s)| w * s * s).sum();
    // The standard error of a variance from 4,096 draws is 2 to 4 %, of a correlation 1.6 %.
    assert!((mean_of(&|v| v[0] * v[0]) / square - 1.0).abs() < 0.12);
    assert!((mean_of(&|v| v[3] * v[3]) / 0.09 - 1.0).abs() < 0.1);
    assert!(mean_of(&|v| v[0] * v[2]).abs() < 0.08 * square, "of others");
    assert!(mean_of(&|v| v[0] * v[3]).abs() < 0.08 * square.sqrt() * 0.3, "of others");
}
