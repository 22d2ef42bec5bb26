//! What can go wrong between observations and answers.

use crate::model::mixed::MixedError;
use thiserror::Error;

/// Why the swell model has no answer.
#[derive(Debug, Error)]
pub enum ModelError {
    /// An impossible belief.
    #[error("{message}")]
    Belief {
        /// What was found and what is known.
        message: String,
    },
    /// What the readings of a bench cannot say.
    #[error("{message}")]
    Summary {
        /// What was found and what is possible.
        message: String,
    },
    /// A plan that cannot be predicted.
    #[error("{message}")]
    Plan {
        /// What is wrong and what to do.
        message: String,
    },
    /// The engine refused.
    #[error(transparent)]
    Engine(#[from] MixedError),
}
