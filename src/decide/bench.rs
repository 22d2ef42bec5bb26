//! A book made ready for questions: its observations, its fit and the beliefs alone.

use crate::book::{Book, Config};
use crate::model::{Beliefs, ModelError, SwellFit};
use crate::observe::{Observations, ObserveError, observe};
use thiserror::Error;

/// Why a book cannot be asked.
#[derive(Debug, Error)]
pub enum BenchError {
    /// Its readings could not be made into observations.
    #[error(transparent)]
    Observe(#[from] ObserveError),
    /// The model has no answer.
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// A book's observations, its fit and the beliefs alone.
#[derive(Clone, Debug)]
pub struct Bench {
    /// The observations.
    pub observations: Observations,
    /// The fit of the observations.
    pub fit: SwellFit,
    /// The fit of the beliefs alone, which is what "nominal" means.
    pub nominal: SwellFit,
}

impl Bench {
    /// Observes and fits a book.
    ///
    /// # Errors
    /// [`BenchError`].
    pub fn of(book: &Book) -> Result<Self, BenchError> {
        let beliefs = beliefs(book.config())?;
        let observations = observe(book)?;
        let fit = SwellFit::new(&observations, &beliefs)?;
        Ok(Self { observations, fit, nominal: SwellFit::nominal(&beliefs)? })
    }
}

/// The starting beliefs with what `book.toml` overrides.
fn beliefs(config: &Config) -> Result<Beliefs, ModelError> {
    let mut beliefs = Beliefs::default();
    for (name, belief) in &config.beliefs {
        beliefs.override_coefficient(name, belief.mean, belief.sd)?;
    }
    for (name, scale) in &config.spreads {
        beliefs.override_spread(name, *scale)?;
    }
    Ok(beliefs)
}
