//! What keeps benches from being pooled.

use thiserror::Error;

/// Why summaries cannot be pooled.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PoolError {
    /// A summary that no readings can have given.
    #[error("{why}")]
    Impossible {
        /// Which one, counted from zero.
        bench: usize,
        /// What is wrong with it.
        why: &'static str,
    },
    /// The benches leave a coefficient open, and no belief about it was asked for.
    #[error("these benches together do not say what every coefficient is")]
    Open,
    /// The search for how much benches differ did not end.
    #[error("how much the benches differ was not found: {stopped}")]
    NoEnd {
        /// Why it stopped.
        stopped: &'static str,
    },
}
