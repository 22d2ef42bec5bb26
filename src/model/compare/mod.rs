//! How well the fit predicts what it has not seen, beside simpler ways of predicting.
//!
//! A trial is left out, each way predicts its swell in every state from the others, and the
//! predictions are held against what was measured. docs/model.md has the definitions.

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
