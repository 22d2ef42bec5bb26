//! What a binder decides with a fit: odds of a target, where the doubt comes from, what was
//! learnt. Finished values; nothing here prints.

mod advice;
mod band;
mod bench;
mod doubts;
mod forecast;
mod learnt;

pub use advice::{Advice, Remedy};
pub use band::Band;
pub use bench::{Bench, BenchError};
pub use doubts::doubts;
pub use forecast::{Forecast, NominalForecast, PercentRange, forecast};
pub use learnt::{KnownFactor, Learnt, LearntLine, LearntPaper, LearntSpread, LearntThread, learn};
