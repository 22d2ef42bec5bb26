//! The swell model: beliefs, design, fit and prediction. It does not know where the observations
//! came from. docs/model.md has the mathematics.

mod admit;
mod beliefs;
mod binomial;
pub mod compare;
mod design;
mod draws;
mod error;
mod factors;
mod fit;
mod fore_edge;
mod lines;
pub mod mixed;
mod odds;
mod ordinary;
mod others;
mod partway;
mod plan;
mod predict;
#[cfg(test)]
mod predict_tests;
mod sewing;
mod slopes;
pub mod variance;
mod worth;

pub use admit::admit;
pub use beliefs::{Beliefs, Coefficient, SwellSpread};
pub use binomial::{ExactShare, hit_tails};
pub use draws::{PlainDraws, Unknown, WeightedDraws};
pub use error::ModelError;
pub use fit::{Effects, SwellFit};
pub use fore_edge::{ForeEdgeRatios, Gaussian};
pub use lines::{Line, lines, pooled_fore_edge};
pub use mixed::Ranges;
pub use odds::Choosing;
pub use ordinary::{Ordinary, OrdinaryError, least_squares};
pub use others::WithoutSome;
pub use partway::{PartReading, PartwayFit};
pub use plan::{Plan, PlannedPaper, PlannedThread, Run};
pub use predict::{BudgetLine, Prediction, Source};
pub use sewing::SewingEffect;
pub use slopes::{Slope, Slopes, holm};
pub use worth::{Doubt, TrialBlock, Wondered, Worth};
