//! The engine: Gaussian mixed models with beliefs on every coefficient and integrated spreads.
//!
//! Any design can be fitted: coefficients with beliefs, effects of grouping factors whose spread
//! is unknown (or known), effects of each observation alone, one blocking factor whose effects
//! are eliminated analytically, and a known noise variance for each observation. The swell model is
//! one client of it. It follows linfa's conventions: [`MixedParams`] are checked by
//! [`linfa::ParamGuard`] and [`linfa::traits::Fit`] gives a [`Posterior`], a new type.
//!
//! Given the spreads θ everything is Gaussian: the estimates are a least-squares problem in which
//! each belief is a row (`conditional`). The spreads themselves are integrated by importance
//! sampling (`integrate`). docs/model.md has the derivation.

mod asking;
mod block_effects;
#[cfg(test)]
mod block_effects_tests;
mod blocks;
mod conditional;
mod design;
mod envelope;
mod error;
mod foresee;
mod functional;
mod integrate;
mod lanes;
mod layout;
mod logarithms;
mod mixture;
mod mode;
mod normal;
mod parallel;
mod params;
mod posterior;
mod products;
mod proposal;
mod sample;
mod score;
mod standing;
mod stein;
mod surprises;
mod trust;
mod wider;

pub use block_effects::BlockEffect;
pub use design::{
    Belief, CoefficientId, Design, EffectId, GroupEffect, GroupingId, Row, Spread, SpreadId,
    SpreadPrior,
};
pub use error::MixedError;
pub use foresee::{Foreseen, Outlook};
pub use functional::Functional;
pub(crate) use mixture::invert;
pub use mixture::{Mixture, Ranges, Summary, weighted_summary};
pub use mode::{FitRecord, Start};
pub use normal::{normal_cdf, normal_pdf};
pub(crate) use parallel::in_ranges;
pub use params::{MixedParams, MixedValidParams};
pub use posterior::{Part, Posterior, Share};
pub use sample::Sampled;
pub use score::{ScoreAt, inverse};
pub use standing::Standing;
pub(crate) use surprises::surprises;
pub use trust::Trust;
