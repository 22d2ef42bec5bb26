//! A trial block with what it takes away.

use crate::model::{Doubt, TrialBlock};
use serde::Serialize;

/// A trial block with what it takes away.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrialChoice {
    #[serde(flatten)]
    pub block: TrialBlock,
    /// What it costs.
    pub minutes: f64,
    /// The doubt once it is sewn and measured.
    pub after: Doubt,
    /// The share of the variance of the swell in mm that it takes away.
    pub removed_share: f64,
    /// The share of the variance taken away by an hour of such work.
    pub share_per_hour: f64,
    /// The best odds over the ways to sew the book once it is sewn and measured, on average.
    pub best_odds: Option<f64>,
}
