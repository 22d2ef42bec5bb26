//! The errors of the swell model.

use crate::model::mixed::MixedError;
use thiserror::Error;

#[derive(Debug, Error)]
pub enum ModelError {
    /// An impossible belief.
    #[error("{message}")]
    Belief {
        /// What was found and what is known.
        message: String,
    },
    /// A summary that the readings of a bench cannot give.
    #[error("{message}")]
    Summary {
        /// What was found and what is possible.
        message: String,
    },
    /// An impossible plan.
    #[error("{message}")]
    Plan {
        /// What is wrong and what to do.
        message: String,
    },
    /// An error of the engine.
    #[error(transparent)]
    Engine(#[from] MixedError),
}
