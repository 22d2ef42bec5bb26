//! Which trials lie furthest from what the others predict, and what the comparison comes to.

use crate::jobs::compare::answer::{Agreement, Compared, WayScore};
use crate::model::compare::{Standing, Way};
use std::collections::BTreeSet;

impl Agreement {
    /// Whether the 90 % range holds what was measured.
    pub fn is_held(&self) -> bool {
        (self.own.q05..=self.own.q95).contains(&self.measured_mm)
    }

    /// How far it lies from its prediction, in standard deviations of it.
    fn distance(&self) -> f64 {
        (self.measured_mm - self.own.mean).abs() / self.own.sd
    }
}

/// The observations furthest out for their ranges, of a trial the worst only.
pub(crate) fn furthest(compared: &Compared, count: usize) -> Vec<&Agreement> {
    let mut rows: Vec<&Agreement> = compared.agreement.iter().collect();
    rows.sort_by(|a, b| b.distance().total_cmp(&a.distance()));
    let mut seen = BTreeSet::new();
    rows.retain(|row| seen.insert(row.trial.as_str()));
    rows.truncate(count);
    rows
}

/// How the book's own predictions and those of nominal figures did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Beside {
    pub own: WayScore,
    pub nominal: WayScore,
    /// By how much nominal figures miss more or less; `None` where there are too few trials to
    /// tell.
    pub standing: Option<Standing>,
}

/// `None` where one of them predicted nothing.
pub(crate) fn beside_nominal(compared: &Compared) -> Option<Beside> {
    let of = |way: Way| compared.ways.iter().find(|found| found.way == way)?.score;
    let (own, nominal) = (of(Way::Own)?, of(Way::Nominal)?);
    Some(Beside { own, nominal, standing: nominal.miss_against_own.standing() })
}
