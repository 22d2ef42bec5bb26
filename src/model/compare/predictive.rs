//! The predictive distribution of one observation, from any way of predicting.

use super::line::StudentT;
use super::score::Judged;
use crate::model::mixed::Mixture;

#[derive(Clone, Debug)]
pub enum Predictive {
    /// From the fit, or from the beliefs alone.
    Mixture(Mixture),
    /// From a straight line or a share.
    Student(StudentT),
}

impl Predictive {
    /// Its centre in mm.
    pub fn centre(&self) -> f64 {
        match self {
            Self::Mixture(mixture) => mixture.mean(),
            Self::Student(student) => student.location,
        }
    }

    /// The probabilities below and above `x`.
    pub fn tails(&self, x: f64) -> (f64, f64) {
        match self {
            Self::Mixture(mixture) => mixture.tails(x),
            Self::Student(student) => student.tails(x),
        }
    }

    /// Log density at `x`, in mm.
    pub fn log_density(&self, x: f64) -> f64 {
        match self {
            Self::Mixture(mixture) => mixture.log_density(x),
            Self::Student(student) => student.log_density(x),
        }
    }

    /// Compares the prediction with a measured swell, on a fore-edge of `fore_edge_mm`.
    pub fn judge(&self, swell_mm: f64, fore_edge_mm: f64) -> Judged {
        /// The probability outside each end of a 90 % range.
        const OUTSIDE: f64 = 0.05;
        let (below, above) = self.tails(swell_mm);
        let miss_mm = swell_mm - self.centre();
        Judged {
            miss_mm,
            miss_percent: 100.0 * miss_mm / fore_edge_mm,
            held: below >= OUTSIDE && above >= OUTSIDE,
            log_density: self.log_density(swell_mm),
        }
    }
}
