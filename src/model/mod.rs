//! The swell model: design, beliefs, fit and prediction. It does not know where the data came
//! from.

pub mod mixed;
