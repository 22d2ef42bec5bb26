//! What each sewing differed by from the others.

use super::SwellFit;
use super::mixed::{BlockEffect, Mixture, in_ranges};
use serde::Serialize;

/// Components that the ranges are read from: there are as many ranges as trials, and nobody reads
/// a thousandth of their width off them.
const COMPONENTS: usize = 64;

/// A distribution with its ranges: nine times in ten between `q05` and `q95`, half the time
/// between `q25` and `q75`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ranges {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// 5 % quantile.
    pub q05: f64,
    /// 25 % quantile.
    pub q25: f64,
    /// Median.
    pub q50: f64,
    /// 75 % quantile.
    pub q75: f64,
    /// 95 % quantile.
    pub q95: f64,
}

impl From<&Mixture> for Ranges {
    fn from(mixture: &Mixture) -> Self {
        let mixture = mixture.condensed(COMPONENTS);
        let (summary, quantile) = (mixture.summary(), |p| mixture.quantile(p));
        Self {
            mean: summary.mean,
            sd: summary.sd,
            q05: summary.q05,
            q25: quantile(0.25),
            q50: summary.q50,
            q75: quantile(0.75),
            q95: summary.q95,
        }
    }
}

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
        let effects = self.posterior.block_effects();
        let of = |one: &BlockEffect| SewingEffect {
            trial: one.level,
            effect: Ranges::from(&one.effect),
            standardised: one.standardised,
        };
        let mut all = in_ranges(effects.len(), |range| effects[range].iter().map(of).collect());
        all.sort_by_key(|one: &SewingEffect| one.trial);
        all
    }
}
