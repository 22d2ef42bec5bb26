//! Compares block effects with a dense solve of the whole covariance.

use super::block_effects::Looking;
use crate::algebra::blocks::Block;
use crate::algebra::conditional::{Conditional, Solve};
use crate::algebra::layout::Layout;
use crate::{Belief, CoefficientId, Design, EffectId, GroupEffect, Row, SpreadId, SpreadPrior};

const TARGETS: [f64; 9] = [1.31, 1.12, 0.2, 2.05, 1.61, 0.95, 1.44, 2.61, 0.33];
/// Spreads of groups, of blocks, of single rows and of the blocks' second effect.
const THETA: [f64; 4] = [0.3, 0.4, 0.25, 0.35];
/// Unknowns of the dense solve: mean, slope, two groups, and two effects of four blocks.
const UNKNOWNS: usize = 12;

/// Multiplier of the block's second effect, which counts in some rows only.
fn tilt(load: f64) -> f64 {
    if load > 1.1 { 0.9 * load } else { 0.0 }
}

struct Example {
    design: Design,
    slope: CoefficientId,
    mean: CoefficientId,
    group: EffectId,
    own: SpreadId,
}

/// Two groups and four blocks of one to three rows. One row has a block that does not count in it,
/// and one row has no block.
fn example() -> Example {
    let mut design = Design::new();
    let prior = SpreadPrior::HalfNormal(0.5);
    let spreads = ["group", "block", "own", "tilt"].map(|name| design.spread(name, prior));
    let mean = design.coefficient(Belief { mean: 1.0, sd: 0.7 });
    let slope = design.coefficient(Belief { mean: 0.1, sd: 0.4 });
    design.correlate(mean, slope, 0.5);
    let grouping = design.grouping(2, vec![GroupEffect::Spread(spreads[0])]);
    let group = design.effect(grouping, 0);
    design.block(spreads[1]);
    design.block(spreads[3]);
    let mut example = Example { design, slope, mean, group, own: spreads[2] };
    let blocks = [(7, 1.0), (7, 1.5), (7, 0.0), (2, 2.0), (2, 1.0), (3, 0.8), (3, 1.2), (5, 1.7)];
    for (index, &(level, load)) in blocks.iter().enumerate() {
        example.push(index, Some((level, load)));
    }
    example.push(blocks.len(), None);
    example
}

impl Example {
    fn push(&mut self, index: usize, block: Option<(usize, f64)>) {
        let load = block.map_or(1.0, |block| block.1);
        self.design.push(Row {
            variance: 0.01 + 0.003 * index as f64,
            coefficients: vec![(self.mean, 1.0), (self.slope, load + 0.3 * index as f64)],
            effects: vec![(self.group, usize::from(index > 4), 1.0 + load)],
            own: vec![(self.own, load)],
            block: block.map(|(level, load)| (level, vec![load, tilt(load)])),
        });
    }

    /// Multipliers in a row: mean, slope, two groups, then both effects of blocks 2, 3, 5 and 7.
    fn multipliers(&self, row: &Row) -> [f64; UNKNOWNS] {
        let mut x = [0.0; UNKNOWNS];
        (x[0], x[1]) = (row.coefficients[0].1, row.coefficients[1].1);
        x[2 + row.effects[0].1] = row.effects[0].2;
        if let Some((level, loads)) = &row.block {
            let block = [2, 3, 5, 7].iter().position(|known| known == level).unwrap();
            (x[4 + block], x[8 + block]) = (loads[0], loads[1]);
        }
        x
    }
}

/// Solves a symmetric positive definite system by Gauss–Jordan elimination.
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    for i in 0..b.len() {
        let pivot = a[i][i];
        a[i].iter_mut().for_each(|value| *value /= pivot);
        b[i] /= pivot;
        for j in (0..b.len()).filter(|&j| j != i) {
            let (times, row) = (a[j][i], a[i].clone());
            a[j].iter_mut().zip(row).for_each(|(value, own)| *value -= times * own);
            b[j] -= times * b[i];
        }
    }
    b
}

/// Mean of one effect of a block, its variance, and the variance of its mean over repeated sets of
/// observations. All come from `cov(δ, y)·cov(y)⁻¹`.
fn dense(example: &Example, unknown: usize) -> (f64, f64, f64) {
    let [group, first, _, second] = THETA;
    let effects = [[first; 4], [second; 4]].concat();
    let before = [vec![0.7, 0.4, group, group], effects].concat();
    let before: Vec<f64> = before.into_iter().map(|sd: f64| sd * sd).collect();
    let rows: Vec<&Row> = example.design.rows.iter().collect();
    let x: Vec<[f64; UNKNOWNS]> = rows.iter().map(|row| example.multipliers(row)).collect();
    let covariance = |i: usize, j: usize| -> f64 {
        let shared: f64 = (0..UNKNOWNS).map(|k| x[i][k] * before[k] * x[j][k]).sum();
        let shared = shared + 0.5 * 0.7 * 0.4 * (x[i][0] * x[j][1] + x[i][1] * x[j][0]);
        let own = rows[i].own[0].1 * THETA[2];
        shared + if i == j { rows[i].variance + own * own } else { 0.0 }
    };
    let all: Vec<Vec<f64>> =
        (0..rows.len()).map(|i| (0..rows.len()).map(|j| covariance(i, j)).collect()).collect();
    let cross: Vec<f64> = x.iter().map(|x| x[unknown] * before[unknown]).collect();
    let weights = solve(all, cross.clone());
    let residuals = TARGETS.iter().zip(&x).map(|(y, x)| y - x[0] - 0.1 * x[1]);
    let mean = weights.iter().zip(residuals).map(|(w, r)| w * r).sum();
    let explained: f64 = weights.iter().zip(&cross).map(|(w, c)| w * c).sum();
    (mean, before[unknown] - explained, explained)
}

/// Mean, standard deviation and standardised effect of each level of a block.
fn effects_of(
    block: Block<'_>,
    effect: usize,
    layout: &Layout,
    system: &Conditional<1>,
) -> Vec<(usize, [f64; 3])> {
    let found = Looking::new(layout).at(system, &[(block, effect)]).remove(0);
    let of = |(level, targets): (Option<usize>, &[f64])| {
        let [[mean], [standardised]] = found.with(targets);
        Some((level?, [mean, found.sd[0], standardised]))
    };
    block.levels().filter_map(of).collect()
}

#[test]
fn a_block_has_the_effect_of_the_dense_solve() {
    let example = example();
    let layout = Layout::new(&example.design, &TARGETS);
    let mut solve = Solve::new(&layout);
    solve.at(&THETA);
    let mut seen = 0;
    for block in layout.blocks() {
        for (effect, spread) in block.spreads.iter().enumerate() {
            for (level, ours) in effects_of(block, effect, &layout, &solve.system) {
                let index = [2, 3, 5, 7].iter().position(|&known| known == level).unwrap();
                let (mean, variance, explained) = dense(&example, 4 + index + 4 * (spread / 3));
                let theirs = [mean, variance.sqrt(), mean / explained.sqrt()];
                for (ours, theirs) in ours.into_iter().zip(theirs) {
                    let off = (ours - theirs).abs();
                    assert!(off < 1e-12 * (1.0 + theirs.abs()), "{level}: {ours} {theirs}");
                }
                seen += 1;
            }
        }
    }
    assert_eq!(seen, 8);
}

/// With a spread of zero the effect is zero, but its standardised value is still found.
#[test]
fn without_a_spread_the_effect_is_nothing_and_its_sign_is_kept() {
    let example = example();
    let layout = Layout::new(&example.design, &TARGETS);
    let effects = |spread: f64| {
        let theta = [THETA[0], spread, THETA[2], THETA[3]];
        let mut solve = Solve::new(&layout);
        solve.at(&theta);
        let blocks = layout.blocks().filter(|block| !block.spreads.is_empty());
        blocks.flat_map(|block| effects_of(block, 0, &layout, &solve.system)).collect::<Vec<_>>()
    };
    let (none, little) = (effects(0.0), effects(1e-6));
    assert_eq!(none.len(), 4);
    for ((_, [mean, sd, none]), (_, [.., little])) in none.into_iter().zip(little) {
        assert_eq!((mean, sd), (0.0, 0.0));
        assert!((none - little).abs() < 1e-6 && none.abs() > 1e-3, "{none} {little}");
    }
}
