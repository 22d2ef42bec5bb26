//! A trial block and its benefit.

use crate::model::{Doubt, TrialBlock};
use serde::Serialize;

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrialChoice {
    #[serde(flatten)]
    pub block: TrialBlock,
    pub minutes: f64,
    /// The uncertainty once the block is sewn and measured.
    pub after: Doubt,
    /// The share of the variance of the swell in mm that the block removes.
    pub removed_share: f64,
    /// The same divided by the hours, which decides the order. More than 1 for a short block that
    /// removes much.
    pub share_per_hour: f64,
    /// The average best chance over all ways to sew the book, once the block is sewn and measured.
    pub best_odds: Option<f64>,
}
