use thiserror::Error;

#[derive(Clone, Debug, PartialEq, Error)]
pub enum PoolError {
    /// A summary that no readings can have given.
    #[error("{why}")]
    Impossible {
        /// Its index, counted from zero.
        bench: usize,
        why: &'static str,
    },
    /// The benches leave a coefficient undetermined, and no belief about it was asked for.
    #[error("these benches together leave some coefficients undetermined")]
    Open,
    #[error("the search for how much the benches differ failed: {stopped}")]
    NoEnd { stopped: &'static str },
}
