//! How much each sewing differed from the others.

use super::beliefs::SwellSpread;
use super::fit::SwellFit;
use crate::model::mixed::{BlockEffect, Ranges};

/// Number of components that ranges are read from. There are as many ranges as trials, and nobody
/// reads them to a thousandth of their width.
const COMPONENTS: usize = 64;

/// The effect δ of one sewing on its thread factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SewingEffect {
    /// Index of the trial in the observations.
    pub trial: usize,
    /// δ, as a share of the thread's diameter.
    pub effect: Ranges,
    /// δ in units of the standard deviation that its estimate has between trials if nothing
    /// changes. Its mean is 0, and its variance is 1 where the spreads are known.
    pub standardised: f64,
}

impl SwellFit {
    /// The effect of every sewing that was measured with its thread in it, in order of trial.
    /// Source: docs/model.md, "Sewings in order of date".
    pub fn sewing_effects(&self) -> Vec<SewingEffect> {
        let sewing = self.parts.spread(SwellSpread::Sewing);
        let of = |one: BlockEffect| SewingEffect {
            trial: one.level,
            effect: one.effect.condensed(COMPONENTS).ranges(),
            standardised: one.standardised,
        };
        let mut all = sewing.map_or(Vec::new(), |spread| self.posterior.block_effects(spread, of));
        all.sort_by_key(|one: &SewingEffect| one.trial);
        all
    }
}
