//! Fits of a book without some of its trials, from the draws of the whole.

use super::beliefs::Beliefs;
use super::error::ModelError;
use super::fit::SwellFit;
use crate::model::mixed::Standing;
use crate::observe::Observations;

/// Draws that stand for all of a fit when some of its trials are left out, at least and at most. The
/// more observations, the dearer each is and the fewer are needed.
const DRAWS: (usize, usize) = (256, 1024);
/// Draws times observations between the two.
const WORK: usize = 65_536;
/// Observations up to which a fit takes so little time that one is always made: of the few trials of
/// a short book each moves the spreads far.
const SHORT: usize = 64;

/// A book's fit, ready to be weighted for the book without some of its trials.
#[derive(Clone, Debug)]
pub struct WithoutSome<'a> {
    standing: Standing<'a>,
    beliefs: &'a Beliefs,
}

impl SwellFit {
    /// Makes ready for leaving out trials; `beliefs` are those of the fit.
    pub fn without_some<'a>(&'a self, beliefs: &'a Beliefs) -> WithoutSome<'a> {
        let draws = (WORK / self.posterior.rows().max(1)).clamp(DRAWS.0, DRAWS.1);
        WithoutSome { standing: self.posterior.standing(draws), beliefs }
    }
}

impl WithoutSome<'_> {
    /// The fit of the other trials; `None` where it must be made by itself, with
    /// [`SwellFit::new`]: of a short book, where the spreads are others, and where the draws cannot
    /// be trusted. What it says of modes and of how it came about is that of the whole book.
    ///
    /// # Errors
    /// [`ModelError::Engine`] for an impossible number.
    pub fn weighted(&self, others: &Observations) -> Result<Option<SwellFit>, ModelError> {
        if others.rows.len() <= SHORT {
            return Ok(None);
        }
        let (parts, design) = SwellFit::declare(others, self.beliefs);
        let swells: Vec<f64> = others.rows.iter().map(|row| row.swell_mm).collect();
        let found = self.standing.fit(&design, &swells)?;
        Ok(found.map(|posterior| SwellFit::of_posterior(others, parts, posterior)))
    }
}
