//! The swell of a book: beliefs, the fit, and predictions.

pub(super) mod admit;
mod belief_checks;
pub(super) mod beliefs;
pub(super) mod design;
pub(super) mod draws;
pub(super) mod effect;
pub(super) mod error;
pub(super) mod factors;
pub(super) mod fit;
pub(super) mod fore_edge;
pub(super) mod hands;
pub(super) mod odds;
pub(super) mod others;
pub(super) mod partway;
pub(super) mod plan;
pub(super) mod predict;
#[cfg(test)]
pub(super) mod predict_tests;
pub(super) mod slopes;
pub(super) mod worth;
