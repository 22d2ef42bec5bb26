//! The effects of the blocking factor, which the solve eliminates, brought back from it.

use super::asking::Asking;
use super::conditional::{Conditional, Solve};
use super::lanes::{LANES, add_product, add_times, each};
use super::layout::{Block, BlockColumn};
use super::logarithms::LogSum;
use super::parallel::in_ranges;
use super::posterior::Posterior;
use super::products::Products;
use super::{Mixture, SpreadId};
use std::sync::Arc;

/// Below this share of what it would be without a fit, the variance of a block's residual is
/// nothing but rounding: the fit follows such a block exactly, and it shows no effect.
const LEAST_SHARE: f64 = 1e-10;

/// The effect of one level of the blocking factor.
#[derive(Clone, Debug)]
pub struct BlockEffect {
    /// The level.
    pub level: usize,
    /// Its distribution.
    pub effect: Mixture,
    /// The effect in standard deviations of what the model expects it to come out as: 0 on
    /// average, with variance 1 where the spreads are known.
    pub standardised: f64,
}

/// A block's effect at a draw of the spreads, in every lane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct EffectAt<const N: usize> {
    pub mean: [f64; N],
    pub sd: [f64; N],
    pub standardised: [f64; N],
}

impl Posterior {
    /// One effect of the blocking factor, that with this spread, at every level that has a row in
    /// which it counts, in the order in which the levels come first in the design.
    ///
    /// Given the spreads, with s the effect's spread, q its multipliers in the block's rows, V
    /// the covariance of the rows' own noise and of the block's other effects, and `c = qᵀV⁻¹q`, `r = s²/(1 + s²·c)`, `g = qᵀV⁻¹(y − X·β̂)` and
    /// `h = aᵀ·cov(β)·a`, `a = XᵀV⁻¹q`: the mean is `r·g`, the variance `r + r²·h`, and
    /// standardised it is `g/√(c·(1 + s²·c) − h)`. Over the spreads it is a mixture.
    /// Source: docs/model.md, "Sewings in order of date".
    pub fn block_effects(&self, spread: SpreadId) -> Vec<BlockEffect> {
        let place = |block: Block<'_>| block.spreads.iter().position(|&known| known == spread.0);
        let blocks: Vec<(usize, Block<'_>, usize)> = (self.layout.blocks())
            .filter_map(|block| Some((block.level?, block, place(block)?)))
            .collect();
        let effects = in_ranges(self.groups(), |range| {
            let (mut solve, mut asking) = (Solve::new(&self.layout), Asking::new(&self.layout));
            let mut products = Products::new(self.layout.widest);
            let of_group = |group| -> Vec<EffectAt<LANES>> {
                let system = self.group(group, &mut solve);
                let one = |&(_, block, effect): &(usize, Block<'_>, usize)| {
                    products.form(block, &system.squares, Some(effect), &mut LogSum::new());
                    at(block, effect, &products, system, &mut asking)
                };
                blocks.iter().map(one).collect()
            };
            range.map(of_group).collect()
        });
        (blocks.iter().enumerate())
            .map(|(index, (level, ..))| self.over_draws(*level, index, &effects))
            .collect()
    }

    fn over_draws(
        &self,
        level: usize,
        index: usize,
        effects: &[Vec<EffectAt<LANES>>],
    ) -> BlockEffect {
        let of = |pick: fn(&EffectAt<LANES>) -> &[f64; LANES]| {
            let lanes = effects.iter().flat_map(move |group| pick(&group[index]));
            lanes.copied().take(self.theta.len())
        };
        let (means, sds) = (of(|at| &at.mean).collect(), of(|at| &at.sd).collect());
        let standardised = of(|at| &at.standardised).zip(self.weights.iter());
        BlockEffect {
            level,
            effect: Mixture::new(Arc::clone(&self.weights), means, sds),
            standardised: standardised.map(|(value, weight)| value * weight).sum(),
        }
    }
}

/// An effect of `block` in a solved system, its products formed with the other effects eliminated.
pub(super) fn at<const N: usize>(
    block: Block<'_>,
    effect: usize,
    products: &Products<N>,
    system: &Conditional<N>,
    asking: &mut Asking<'_, N>,
) -> EffectAt<N> {
    let variance = &system.squares[block.spreads[effect]];
    let with = products.with(effect);
    let information = &with[effect];
    asking.c.fill([0.0; N]);
    let (mut from, mut residual) = (asking.c.len(), with[block.width - 1]);
    for &BlockColumn { column, pattern, multiplier } in block.columns {
        let scale = &system.scale[column];
        let scaled = each(|lane| multiplier * with[pattern][lane] * scale[lane]);
        add_times(&mut asking.c[column], &scaled, 1.0);
        add_product(&mut residual, &scaled.map(|x| -x), &system.mean[column]);
        from = from.min(column);
    }
    asking.forward(system, from);
    let fitted = asking.square();
    let shrunk: [f64; N] = each(|lane| variance[lane] / (1.0 + variance[lane] * information[lane]));
    EffectAt {
        mean: each(|lane| shrunk[lane] * residual[lane]),
        sd: each(|lane| (shrunk[lane] + shrunk[lane] * shrunk[lane] * fitted[lane]).sqrt()),
        standardised: each(|lane| {
            let unfitted = information[lane] * (1.0 + variance[lane] * information[lane]);
            let left = unfitted - fitted[lane];
            if left > LEAST_SHARE * unfitted { residual[lane] / left.sqrt() } else { 0.0 }
        }),
    }
}
