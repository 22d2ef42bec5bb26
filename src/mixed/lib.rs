//! The engine: Gaussian mixed models with beliefs on every coefficient and integrated spreads.
//!
//! A design can have coefficients with beliefs, effects of grouping factors whose spread is unknown
//! (or known), and effects of each observation alone. It can have one blocking factor, whose
//! effects are eliminated analytically. Each observation has a known noise variance. The swell
//! model is one client of the engine.
//!
//! It follows linfa's conventions: [`MixedParams`] are checked by [`linfa::ParamGuard`], and
//! [`linfa::traits::Fit`] returns a [`Posterior`], a new type.
//!
//! Given the spreads θ everything is Gaussian: the estimates are a least-squares problem in which
//! each belief is a row (`conditional`). The spreads themselves are integrated by importance
//! sampling (`integrate`). docs/model.md has the derivation.

#![forbid(unsafe_code)]

mod algebra;
mod ask;
mod fit;
pub mod parallel;

pub use algebra::correlations::{LEAST_LEFT, precision_of};
pub use algebra::design::{
    Belief, CoefficientId, Design, EffectId, GroupEffect, GroupingId, Row, Spread, SpreadId,
    SpreadPrior,
};
pub use algebra::error::MixedError;
pub use algebra::inverse::inverse;
pub use algebra::quasi_newton::{Sloped, descend};
pub use ask::block_effects::BlockEffect;
pub use ask::foresee::{Foreseen, Outlook};
pub use ask::functional::Functional;
pub use ask::joint::Joint;
pub use ask::mixture::invert;
pub use ask::mixture::{Mixture, Ranges, Summary, weighted_summary};
pub use ask::normal::{normal_between, normal_cdf, normal_pdf};
pub use ask::sample::Sampled;
pub use ask::score::ScoreAt;
pub use ask::standing::Standing;
pub use fit::mode::{FitRecord, Search};
pub use fit::params::{MixedParams, MixedValidParams};
pub use fit::posterior::Posterior;
pub use fit::surprises::surprises;
pub use fit::trust::Trust;
