//! What each sewing differed by from the others.

use super::beliefs::SwellSpread;
use super::fit::SwellFit;
use crate::model::mixed::{BlockEffect, Ranges};

/// Components that the ranges are read from: there are as many ranges as trials, and nobody reads
/// a thousandth of their width off them.
const COMPONENTS: usize = 64;

/// The effect δ of one sewing on its thread factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SewingEffect {
    /// The trial, a place in the observations' list of trials.
    pub trial: usize,
    /// δ, as a share of the thread's diameter.
    pub effect: Ranges,
    /// δ in standard deviations of what it comes out as from one trial to the next when nothing
    /// changes: 0 on average, with variance 1 where the spreads are known.
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
