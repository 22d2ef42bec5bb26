//! Which trials are furthest from what the others predict, and how the book's own predictions
//! compare with nominal figures.

use crate::jobs::compare::answer::{Compared, WayScore};
use crate::jobs::compare::answer_refit::Agreement;
use crate::model::compare::Way;
use std::collections::BTreeSet;

impl Agreement {
    /// Whether the measured swell is inside the 90 % range.
    pub fn is_held(&self) -> bool {
        (self.own.q05..=self.own.q95).contains(&self.measured_mm)
    }

    /// Distance of the measured swell from its predicted mean, in standard deviations of the
    /// prediction.
    fn distance(&self) -> f64 {
        (self.measured_mm - self.own.mean).abs() / self.own.sd
    }
}

/// The observations with the largest distance, only the worst of each trial.
pub(crate) fn furthest(compared: &Compared, count: usize) -> Vec<&Agreement> {
    let mut rows: Vec<&Agreement> = compared.agreement.iter().collect();
    rows.sort_by(|a, b| b.distance().total_cmp(&a.distance()));
    let mut seen = BTreeSet::new();
    rows.retain(|row| seen.insert(row.trial.as_str()));
    rows.truncate(count);
    rows
}

/// How the book's own predictions and the nominal figures scored; `None` if either of them
/// predicted nothing.
pub(crate) fn beside_nominal(compared: &Compared) -> Option<[WayScore; 2]> {
    let of = |way: Way| compared.ways.iter().find(|found| found.way == way)?.score;
    Some([of(Way::Own)?, of(Way::Nominal)?])
}
