//! What many benches say together.

use crate::model::swell::beliefs::{Beliefs, COEFFICIENTS, Square, SwellSpread};
use crate::model::swell::error::ModelError;

/// What is believed of the next bench after those that were pooled.
#[derive(Clone, Debug, PartialEq)]
pub struct Pooled {
    /// Mean of each coefficient.
    pub means: [f64; COEFFICIENTS],
    /// Covariance of a new bench's coefficients about those means: how much benches differ, and how
    /// uncertain the means are.
    pub covariance: Square,
    /// The part of it that is from bench to bench.
    pub between: Square,
    /// Half-normal scale of each spread.
    pub scales: [f64; SwellSpread::ALL.len()],
}

impl Pooled {
    /// As starting beliefs of a new book.
    ///
    /// # Errors
    /// [`ModelError::Belief`] where the covariance is that of nothing.
    pub fn beliefs(&self) -> Result<Beliefs, ModelError> {
        Beliefs::correlated(self.means, &self.covariance, self.scales)
    }
}
