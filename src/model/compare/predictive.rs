//! What a way says of one observation before it is seen.

use super::line::StudentT;
use super::score::Judged;
use crate::model::mixed::Mixture;

/// A way's distribution of an observation.
#[derive(Clone, Debug)]
pub enum Predictive {
    /// Of the fit or of the beliefs alone.
    Mixture(Mixture),
    /// Of a straight line or a share.
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

    /// The shares below and above `x`.
    pub fn tails(&self, x: f64) -> (f64, f64) {
        match self {
            Self::Mixture(mixture) => mixture.tails(x),
            Self::Student(student) => student.tails(x),
        }
    }

    /// Log density at `x`, x in mm.
    pub fn log_density(&self, x: f64) -> f64 {
        match self {
            Self::Mixture(mixture) => mixture.log_density(x),
            Self::Student(student) => student.log_density(x),
        }
    }

    /// The prediction against what was seen of the swell, on a fore-edge of `fore_edge_mm`.
    pub fn judge(&self, swell_mm: f64, fore_edge_mm: f64) -> Judged {
        /// Outside each end of a 90 % range.
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
