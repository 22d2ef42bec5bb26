//! Compares the fit with simpler ways of predicting trials that they have not seen.
//!
//! Each trial is left out in turn. Each way predicts its swell in every state from the other
//! trials, and the predictions are compared with the measurements. docs/model.md has the
//! definitions.

mod block;
mod checks;
mod doubt;
mod fault;
mod line;
mod predictive;
mod score;
mod share;
mod ways;

pub use block::{Block, Expected, Seen, Shift};
pub use checks::{CheckKind, PredictiveCheck, predictive_checks, standardised};
pub use doubt::{Surprise, SurpriseKind, hardest, trial_tail};
pub use fault::{Bench, Fault, OneReading, most_at_fault};
pub use line::{PredictiveLine, StudentT};
pub use predictive::Predictive;
pub use score::{
    Difference, DifferenceRange, Judged, Proportion, Score, Standing, difference, score,
};
pub use ways::{OfWays, Way, WayAnswers, predict_ways};
