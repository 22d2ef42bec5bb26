//! Doubtful readings of one edge: too far apart for all of them to be right, or out of line.

use crate::book::{OF_NORMAL, outlying_limit_mm};
use crate::observe::Observations;
use crate::trade::median;

/// Readings that are too far apart, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Apart {
    pub low_mm: f64,
    pub high_mm: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Doubtful {
    Apart(Apart),
    /// These, in mm, are out of line with the others and count less.
    OutOfLine(Vec<f64>),
}

/// What is doubtful about readings in mm. Where all of them count less, as two that differ do, none
/// is out of line with the others.
pub(crate) fn doubtful(readings: &[f64], all: &Observations) -> Option<Doubtful> {
    let is_of_some = |out: &Vec<f64>| (1..readings.len()).contains(&out.len());
    let out = || Some(all.out_of_line(readings)).filter(is_of_some);
    apart(readings, all).map(Doubtful::Apart).or_else(|| out().map(Doubtful::OutOfLine))
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
