use crate::model::mixed::MixedError;
use thiserror::Error;

#[derive(Debug, Error)]
pub enum ModelError {
    #[error("{message}")]
    Belief { message: String },
    /// A summary that the readings of a bench cannot give.
    #[error("{message}")]
    Summary { message: String },
    #[error("{message}")]
    Plan { message: String },
    #[error(transparent)]
    Engine(#[from] MixedError),
}
