//! Fits of a book without some of its trials, from the draws of the whole fit.

use super::beliefs::Beliefs;
use super::error::ModelError;
use super::fit::SwellFit;
use crate::model::mixed::Standing;
use crate::observe::Observations;
use std::collections::BTreeSet;

/// Fewest and most draws that represent a fit when some of its trials are left out. With more
/// observations each draw costs more, and fewer are needed.
const DRAWS: (usize, usize) = (256, 1500);
/// Draws times observations, between these limits.
const WORK: usize = 65_536;
/// Up to this many observations the others are always fitted: each trial of a short book moves the
/// spreads far. The first number is for at most [`FEW_PAPERS`], whose differences no trial shows.
const SHORT: (usize, usize) = (34, 44);
const FEW_PAPERS: usize = 2;

/// A book's fit, ready to be reweighted for the book without some of its trials.
#[derive(Clone, Debug)]
pub struct WithoutSome<'a> {
    standing: Standing<'a>,
    beliefs: &'a Beliefs,
}

impl SwellFit {
    /// Prepares for leaving out trials. `beliefs` are those of the fit.
    pub fn without_some<'a>(&'a self, beliefs: &'a Beliefs) -> WithoutSome<'a> {
        let draws = (WORK / self.posterior.rows().max(1)).clamp(DRAWS.0, DRAWS.1);
        WithoutSome { standing: self.posterior.standing(draws), beliefs }
    }
}

impl WithoutSome<'_> {
    /// The fit of the other trials. `None` if it must be made by itself, with [`SwellFit::new`]:
    /// for a short book, if the spreads differ, or if the draws cannot be trusted. Its modes and
    /// its record are those of the whole book.
    ///
    /// # Errors
    /// [`ModelError::Engine`] for an invalid number.
    pub fn weighted(&self, others: &Observations) -> Result<Option<SwellFit>, ModelError> {
        let papers = others.rows.iter().map(|row| others.trials[row.trial].paper);
        let few = papers.collect::<BTreeSet<_>>().len() <= FEW_PAPERS;
        if others.rows.len() <= if few { SHORT.0 } else { SHORT.1 } {
            return Ok(None);
        }
        let (parts, design) = SwellFit::declare(others, self.beliefs);
        let swells: Vec<f64> = others.rows.iter().map(|row| row.swell_mm).collect();
        let found = self.standing.fit(&design, &swells)?;
        Ok(found.map(|posterior| SwellFit::of_posterior(others, parts, posterior)))
    }
}
