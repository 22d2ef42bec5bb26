//! Readings of one edge that are too far apart for all of them to be right.

use crate::book::{OF_NORMAL, outlying_limit_mm};
use crate::observe::Observations;
use crate::trade::median;

/// Readings that are too far apart, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apart {
    /// The least.
    pub low_mm: f64,
    /// The greatest.
    pub high_mm: f64,
}

/// The least and the greatest of readings in mm, if one is so far from the others that it must be
/// wrong.
pub(crate) fn apart(readings: &[f64], all: &Observations) -> Option<Apart> {
    let limit = outlying_limit_mm(OF_NORMAL * all.repeatability.sd_mm);
    let low = readings.iter().copied().reduce(f64::min)?;
    let high = readings.iter().copied().reduce(f64::max)?;
    let middle = median(readings.to_vec())?;
    let is_apart = match readings.len() {
        // Of two readings the middle lies between them, and either may be the wrong one.
        2 => high - low > limit,
        _ => (high - middle).max(middle - low) > limit,
    };
    is_apart.then_some(Apart { low_mm: low, high_mm: high })
}
