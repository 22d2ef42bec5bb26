//! The swell model: beliefs, design, fit and prediction. It does not know where the observations
//! came from. docs/model.md has the mathematics.

pub mod compare;
mod plain;
mod pool;
mod swell;
pub mod variance;

pub use mixed;
pub use mixed::Ranges;
pub use plain::binomial::{ExactShare, hit_tails};
pub use plain::lines::{Line, lines, pooled_fore_edge};
pub use plain::ordinary::{Ordinary, OrdinaryError, least_squares};
pub use pool::Pooling;
pub use pool::error::PoolError;
pub use pool::likelihood::{BenchLikelihood, SPREADS_TABLED};
pub use pool::pooled::{BenchStanding, Off, Pool, Pooled, pool};
pub use swell::admit::admit;
pub use swell::beliefs::{Beliefs, COEFFICIENTS, Coefficient, Square, SwellSpread};
pub use swell::draws::{PlainDraws, Unknown, WeightedDraws};
pub use swell::effect::SewingEffect;
pub use swell::error::ModelError;
pub use swell::fit::{Effects, SwellFit};
pub use swell::fore_edge::{ForeEdgeRatios, Gaussian};
pub use swell::odds::Choosing;
pub use swell::others::WithoutSome;
pub use swell::partway::{PartReading, PartwayFit};
pub use swell::plan::{Plan, PlannedPaper, PlannedThread, Run};
pub use swell::predict::{BudgetLine, Prediction, Source};
pub use swell::slopes::{Slope, Slopes, holm};
pub use swell::worth::{Doubt, TrialBlock, Wondered, Worth};
