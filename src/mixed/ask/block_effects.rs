//! Recovers the effects of the blocking factor, which the solve eliminates.

use super::asking::Asking;
use crate::algebra::blocks::Block;
use crate::algebra::conditional::{Conditional, Solve};
use crate::algebra::envelope::dot;
use crate::algebra::kind::BlockColumn;
use crate::algebra::lanes::{LANES, add_product, add_times, each};
use crate::algebra::layout::Layout;
use crate::algebra::logarithms::LogSum;
use crate::algebra::products::Products;
use crate::fit::posterior::Posterior;
use crate::parallel::in_ranges;
use crate::{Mixture, SpreadId};
use std::sync::Arc;

/// Below this share of its value without a fit, the variance of a block's residual is only
/// rounding. The fit follows such a block exactly, and the block shows no effect.
const LEAST_SHARE: f64 = 1e-10;
/// Below this share, the variance is worked out with more digits.
const ROUGH_SHARE: f64 = 1e-4;

/// Blocks handled at once: each takes some kilobytes for its draws.
const AT_ONCE: usize = 4_096;

/// The effect of one level of the blocking factor.
#[derive(Clone, Debug)]
pub struct BlockEffect {
    pub level: usize,
    pub effect: Mixture,
    /// The effect in units of the standard deviation that the model expects of its estimate. Its
    /// mean is 0, and its variance is 1 where the spreads are known.
    pub standardised: f64,
}

/// A block's effect at a draw of the spreads, before targets are put in, in every lane.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct EffectAt<const N: usize> {
    /// `V⁻¹·q`: what each row's target contributes to g.
    weights: Vec<[f64; N]>,
    /// `qᵀV⁻¹·X·β̂`.
    fitted: [f64; N],
    shrunk: [f64; N],
    pub sd: [f64; N],
    /// Standardises the effect; 0 where the fit follows the block exactly.
    unit: [f64; N],
}

impl<const N: usize> EffectAt<N> {
    /// Mean and standardised effect for these centred targets.
    pub fn with(&self, targets: &[f64]) -> [[f64; N]; 2] {
        let mut residual = self.fitted.map(|fitted| -fitted);
        let each_row = self.weights.iter().zip(targets);
        each_row.for_each(|(weight, &y)| add_times(&mut residual, weight, y));
        [self.shrunk, self.unit].map(|times| each(|lane| times[lane] * residual[lane]))
    }
}

impl Posterior {
    /// Applies `of` to one effect of the blocking factor, the one with this spread, at every level
    /// that has a row in which it counts. Levels with equal blocks come together.
    ///
    /// Given the spreads, let s be the effect's spread and q its multipliers in the block's rows.
    /// Let V be the covariance of the rows' own noise and of the block's other effects. With
    /// `c = qᵀV⁻¹q`, `r = s²/(1 + s²·c)`, `g = qᵀV⁻¹(y − X·β̂)` and `h = aᵀ·cov(β)·a`,
    /// `a = XᵀV⁻¹q`: the mean is `r·g`, the variance `r + r²·h`, and the standardised effect
    /// `g/√(c·(1 + s²·c) − h)`. Over the spreads the effect is a mixture. Source: docs/model.md,
    /// "Sewings in order of date".
    pub fn block_effects<T: Send>(
        &self,
        spread: SpreadId,
        of: impl Fn(BlockEffect) -> T + Sync,
    ) -> Vec<T> {
        let place = |block: Block<'_>| block.spreads.iter().position(|&known| known == spread.0);
        let blocks: Vec<(Block<'_>, usize)> =
            (self.layout.blocks()).filter_map(|block| Some((block, place(block)?))).collect();
        let of_some = |blocks: &[(Block<'_>, usize)]| -> Vec<T> {
            let effects = self.at_draws(blocks);
            in_ranges(blocks.len(), |range| {
                range.flat_map(|at| self.over_draws(blocks[at].0, at, &effects)).map(&of).collect()
            })
        };
        blocks.chunks(AT_ONCE).flat_map(of_some).collect()
    }

    /// The effect of each block, at each group of eight draws.
    fn at_draws(&self, blocks: &[(Block<'_>, usize)]) -> Vec<Vec<EffectAt<LANES>>> {
        in_ranges(self.groups(), |range| {
            let (mut solve, mut looking) = (Solve::new(&self.layout), Looking::new(&self.layout));
            range.map(|group| looking.at(self.group(group, &mut solve), blocks)).collect()
        })
    }

    /// The effect at each level of a block, which has index `at` in `effects`.
    fn over_draws<'a>(
        &'a self,
        block: Block<'a>,
        at: usize,
        effects: &'a [Vec<EffectAt<LANES>>],
    ) -> impl Iterator<Item = BlockEffect> + 'a {
        let draws = self.theta.len();
        let sds = effects.iter().flat_map(move |group| group[at].sd).take(draws);
        let sds: Vec<f64> = sds.collect();
        block.levels().filter_map(move |(level, targets)| {
            let (mut means, mut standardised) = (Vec::with_capacity(draws + LANES), 0.0);
            for (group, weights) in effects.iter().zip(self.weights.chunks(LANES)) {
                let [mean, unit] = group[at].with(targets);
                means.extend(mean);
                standardised += dot(&unit, weights);
            }
            means.truncate(draws);
            let effect = Mixture::new(Arc::clone(&self.weights), means, sds.clone());
            Some(BlockEffect { level: level?, effect, standardised })
        })
    }
}

/// Looks at the blocks of one solved system after another.
pub(crate) struct Looking<'a, const N: usize> {
    layout: &'a Layout,
    products: Products<N>,
    asking: Asking<'a, N>,
    /// The inverse of the system, as far as the envelope has it.
    inverse: Vec<[f64; N]>,
    /// What each column of the block adds to `a`, in units of its scale.
    added: Vec<[f64; N]>,
}

impl<'a, const N: usize> Looking<'a, N> {
    pub fn new(layout: &'a Layout) -> Self {
        let products = Products::new(layout.widest());
        let asking = Asking::new(layout);
        Self { layout, products, asking, inverse: Vec::new(), added: Vec::new() }
    }

    /// One effect of each of these blocks, by its index in the block.
    pub fn at(
        &mut self,
        system: &Conditional<N>,
        blocks: &[(Block<'_>, usize)],
    ) -> Vec<EffectAt<N>> {
        self.layout.envelope.inverse(&system.factor, &mut self.inverse);
        blocks.iter().map(|&(block, effect)| self.effect(system, block, effect)).collect()
    }

    fn effect(&mut self, system: &Conditional<N>, block: Block<'_>, effect: usize) -> EffectAt<N> {
        self.products.form(block, &system.squares, Some(effect), &mut LogSum::new());
        let with = self.products.with(effect);
        let (variance, information) = (&system.squares[block.spreads[effect]], with[effect]);
        let mut fitted = [0.0; N];
        self.added.clear();
        for &BlockColumn { column, pattern, multiplier } in block.columns {
            let scale = &system.scale[column];
            let added = each(|lane| multiplier * with[pattern][lane] * scale[lane]);
            add_product(&mut fitted, &added, &system.mean[column]);
            self.added.push(added);
        }
        let unfitted: [f64; N] =
            each(|lane| information[lane] * (1.0 + variance[lane] * information[lane]));
        let left = |known: &[f64; N]| -> [f64; N] { each(|lane| unfitted[lane] - known[lane]) };
        let mut known = self.known(block);
        if left(&known).iter().zip(&unfitted).any(|(left, of)| *left < ROUGH_SHARE * of) {
            known = self.known_exactly(system, block);
        }
        let left = left(&known);
        let shrunk: [f64; N] =
            each(|lane| variance[lane] / (1.0 + variance[lane] * information[lane]));
        EffectAt {
            weights: self.products.weights(block, &system.squares, effect),
            fitted,
            shrunk,
            sd: each(|lane| (shrunk[lane] + shrunk[lane] * shrunk[lane] * known[lane]).sqrt()),
            unit: each(|lane| match left[lane] > LEAST_SHARE * unfitted[lane] {
                true => left[lane].sqrt().recip(),
                false => 0.0,
            }),
        }
    }

    /// `aᵀ·cov(β)·a`. All columns of a block are coupled, so the inverse has their elements.
    fn known(&self, block: Block<'_>) -> [f64; N] {
        let (envelope, mut known) = (&self.layout.envelope, [0.0; N]);
        for (at, (one, own)) in block.columns.iter().zip(&self.added).enumerate() {
            let row = envelope.row(&self.inverse, one.column);
            let first = envelope.first(one.column);
            let variance = &row[row.len() - 1];
            let mut with_others = each(|lane| 0.5 * own[lane] * variance[lane]);
            for (other, added) in block.columns[..at].iter().zip(&self.added) {
                add_product(&mut with_others, added, &row[other.column - first]);
            }
            add_product(&mut known, own, &with_others);
        }
        known.map(|half| 2.0 * half)
    }

    /// The same by a solve, which loses fewer digits and takes longer.
    fn known_exactly(&mut self, system: &Conditional<N>, block: Block<'_>) -> [f64; N] {
        self.asking.c.fill([0.0; N]);
        let mut from = self.asking.c.len();
        for (one, added) in block.columns.iter().zip(&self.added) {
            add_times(&mut self.asking.c[one.column], added, 1.0);
            from = from.min(one.column);
        }
        self.asking.forward(system, from);
        self.asking.square()
    }
}
