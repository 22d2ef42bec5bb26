//! A trial block and its benefit.

use crate::model::{Doubt, TrialBlock};
use serde::Serialize;

/// A trial block, its cost and how much it narrows the uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrialChoice {
    #[serde(flatten)]
    pub block: TrialBlock,
    pub minutes: f64,
    /// The uncertainty once the block is sewn and measured.
    pub after: Doubt,
    /// The share of the variance of the swell in mm that the block removes.
    pub removed_share: f64,
    /// The share of the variance removed by an hour of such work.
    pub share_per_hour: f64,
    /// The average best chance over all ways to sew the book, once the block is sewn and measured.
    pub best_odds: Option<f64>,
}
