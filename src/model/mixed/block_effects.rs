//! The effects of the blocking factor, which the solve eliminates, brought back from it.

use super::conditional::Conditional;
use super::envelope::dot;
use super::layout::Block;
use super::logarithms::LogSum;
use super::parallel::in_ranges;
use super::posterior::{Asking, Posterior, Solver};
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

/// A block's effect at one draw of the spreads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct EffectAt {
    pub mean: f64,
    pub sd: f64,
    pub standardised: f64,
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
        let effects = in_ranges(self.theta.len(), |range| {
            let mut solver = Solver::new(self);
            let mut products = Products::new(self.layout.widest);
            let each = |draw| {
                let (system, theta, asking, _) = solver.at(draw);
                let one = |&(_, block, effect): &(usize, Block<'_>, usize)| {
                    let _ = products.form(block, theta, Some(effect), &mut LogSum::new());
                    at(block, effect, &products, (system, theta), asking)
                };
                blocks.iter().map(one).collect()
            };
            range.map(each).collect::<Vec<Vec<EffectAt>>>()
        });
        (blocks.iter().enumerate())
            .map(|(index, (level, ..))| self.over_draws(*level, index, &effects))
            .collect()
    }

    fn over_draws(&self, level: usize, index: usize, effects: &[Vec<EffectAt>]) -> BlockEffect {
        let of = |pick: fn(&EffectAt) -> f64| effects.iter().map(move |draw| pick(&draw[index]));
        let (means, sds) = (of(|at| at.mean).collect(), of(|at| at.sd).collect());
        let standardised = of(|at| at.standardised).zip(self.weights.iter());
        BlockEffect {
            level,
            effect: Mixture::new(Arc::clone(&self.weights), means, sds),
            standardised: standardised.map(|(value, weight)| value * weight).sum(),
        }
    }
}

/// An effect of `block` in a solved system, its products formed with the other effects eliminated.
pub(super) fn at(
    block: Block<'_>,
    effect: usize,
    products: &Products,
    (system, theta): (&Conditional, &[f64]),
    asking: &mut Asking<'_>,
) -> EffectAt {
    let spread = theta[block.spreads[effect]];
    let information = products.at(effect, effect);
    asking.c.fill(0.0);
    let (mut from, mut residual) = (asking.c.len(), products.at(effect, block.width - 1));
    for entry in block.columns {
        let through = products.at(effect, entry.pattern);
        let scaled = entry.multiplier * through * system.scale[entry.column];
        asking.c[entry.column] += scaled;
        residual -= scaled * system.mean[entry.column];
        from = from.min(entry.column);
    }
    asking.layout.envelope.forward(&system.factor, &mut asking.c, from);
    let fitted = dot(&asking.c[from..], &asking.c[from..]);
    let variance = spread * spread;
    let shrunk = variance / (1.0 + variance * information);
    let unfitted = information * (1.0 + variance * information);
    let left = unfitted - fitted;
    let known = left > LEAST_SHARE * unfitted;
    EffectAt {
        mean: shrunk * residual,
        sd: (shrunk + shrunk * shrunk * fitted).sqrt(),
        standardised: if known { residual / left.sqrt() } else { 0.0 },
    }
}
