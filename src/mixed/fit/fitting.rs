//! Fits a design and returns its posterior.

use super::integrate::integrate;
use super::mode::find;
use super::params::MixedValidParams;
use super::posterior::Posterior;
use crate::algebra::design::finite;
use crate::algebra::layout::Layout;
use crate::{Design, MixedError};
use linfa::dataset::{AsTargets, DatasetBase, Records};
use linfa::traits::Fit;
use ndarray::Array1;

impl Fit<Design, Array1<f64>, MixedError> for MixedValidParams {
    type Object = Posterior;

    /// Fits a design with one target for each of its rows.
    ///
    /// # Errors
    /// [`MixedError`] for invalid numbers, or if too few draws count.
    fn fit(&self, dataset: &DatasetBase<Design, Array1<f64>>) -> Result<Posterior, MixedError> {
        let (design, targets) = (dataset.records(), dataset.as_targets());
        if design.nsamples() != targets.len() {
            return Err(MixedError::Count { rows: design.nsamples(), targets: targets.len() });
        }
        design.check()?;
        targets.iter().try_for_each(|&y| finite("a target", y))?;
        let layout = Layout::new(design, &targets.to_vec());
        let found = find(&layout)?;
        let draws = integrate(&layout, &found, self)?;
        Ok(Posterior::new(layout, design.spreads().to_vec(), found, draws))
    }
}
