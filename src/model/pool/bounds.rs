//! Limits on what the readings of a bench can say, whatever a file claims.

use super::likelihood::{BenchLikelihood, Units};
use super::symmetric::{Eigen, dot};
use crate::model::swell::beliefs::{Beliefs, COEFFICIENTS};
use crate::model::swell::error::ModelError;

/// The most information that one observation can give on all coefficients together, in units of
/// common practice. It would determine a coefficient to a thousandth of what is believed about it.
/// Simulated books of one to forty trials gave up to three.
const MOST_EACH: f64 = 1e6;
/// How far from positive semidefinite a matrix can be through rounding, as a share of its greatest
/// eigenvalue: its numbers have twelve digits.
const ROUNDING: f64 = 1e-9;
/// How far from common practice an estimate may lie, in its standard deviations, and how much an
/// estimate without information may weigh.
const FARTHEST: f64 = 1000.0;
const WITHOUT: f64 = 0.1;

impl BenchLikelihood {
    /// Refuses what no readings can say: information that is not positive semidefinite, more of it
    /// than `observations` can give, or an estimate without information.
    ///
    /// # Errors
    /// [`ModelError::Summary`] with what was found and what is possible.
    pub fn check(&self, observations: u64) -> Result<(), ModelError> {
        let refused = |message: String| Err(ModelError::Summary { message });
        let site = Units::of(&Beliefs::default())?.site_of(self);
        let numbers = site.information.as_flattened().iter().chain(&site.weighted);
        if !numbers.chain(self.spreads.as_flattened()).all(|number| number.is_finite()) {
            return refused("a number is too large or not a number".to_owned());
        }
        let eigen = Eigen::of(&site.information);
        let greatest = eigen.values.iter().copied().fold(0.0, f64::max);
        let least = eigen.values.iter().copied().fold(0.0, f64::min);
        if least < -ROUNDING * greatest.max(1.0) {
            return refused(format!(
                "information: it is not positive semidefinite (an eigenvalue is {least:.3e}, expected \
                 0 or more)"
            ));
        }
        let sum: f64 = (0..COEFFICIENTS).map(|at| site.information[at][at]).sum();
        let most = MOST_EACH * observations as f64;
        if sum > most {
            return refused(format!(
                "information: {sum:.3e} in units of common practice, but {observations} observations \
                 give at most {most:.3e}"
            ));
        }
        for (value, vector) in eigen.values.iter().zip(&eigen.vectors) {
            let found = dot(vector, &site.weighted).abs();
            if found > FARTHEST * value.max(0.0) + WITHOUT {
                return refused(format!(
                    "weighted: it puts a coefficient more than {FARTHEST} standard deviations away \
                     from common practice ({found:.3e} with an information of {value:.3e})"
                ));
            }
        }
        Ok(())
    }
}
