//! Where a sewing can stop: at the end of a traverse.

use crate::model::{Plan, Run};
use crate::trade::{Stretch, Supports};
use serde::Serialize;

/// A traverse that a part ends inside: its thread is not in all of the sections that it takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Inside {
    /// The last section of the traverse before; 0 if there is none.
    pub before: u32,
    /// The last section that the traverse takes.
    pub after: u32,
}

/// The traverse of `plan` that goes on after `sewn` sections; `None` between two traverses.
pub(super) fn inside(plan: &Plan, sewn: u32) -> Option<Inside> {
    let mut ends = vec![0];
    let mut sections = 0;
    for sewing in Run::sewings(plan.runs()) {
        let stretches = sewing.stretches(Supports::USUAL);
        ends.extend(stretches.iter().flat_map(Stretch::ends).map(|end| sections + end));
        sections += u32::from(sewing.sections());
    }
    let at = ends.partition_point(|end| *end < sewn);
    let (before, after) = (*ends.get(at.checked_sub(1)?)?, *ends.get(at)?);
    (after > sewn).then_some(Inside { before, after })
}
