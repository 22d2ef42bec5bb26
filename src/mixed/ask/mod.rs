//! The questions that a finished fit answers.

pub(super) mod asking;
pub(super) mod block_effects;
#[cfg(test)]
mod block_effects_tests;
pub(super) mod foresee;
pub(super) mod functional;
pub(super) mod joint;
pub(super) mod mixture;
pub(super) mod normal;
pub(super) mod project;
pub(super) mod sample;
pub(super) mod score;
pub(super) mod spread_likelihood;
pub(super) mod standing;
#[cfg(test)]
mod unseen_tests;
pub(super) mod wider;
