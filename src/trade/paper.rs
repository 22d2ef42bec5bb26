use super::limits::{OutOfRange, Range, ranges};
use super::name::Name;
use super::word::words;
use crate::units::{Grammage, Millimetres};
use serde::{Deserialize, Serialize};

/// How hard a paper is: whether the thread sinks into the fold.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Hardness {
    /// Hard-sized, calendered or densely filled: the thread stays on the surface.
    Hard,
    #[default]
    Medium,
    /// Open, bulky or lightly sized: the thread sinks in.
    Soft,
}

words!(Hardness: Hard = "hard", Medium = "medium", Soft = "soft");

#[derive(Clone, Debug, PartialEq)]
pub struct Paper {
    pub name: Name,
    pub grammage: Option<Grammage>,
    caliper: Millimetres,
    pub hardness: Hardness,
    pub note: String,
}

impl Paper {
    /// A paper with its caliper (thickness of one leaf) in mm.
    ///
    /// # Errors
    /// [`OutOfRange`] if no paper is so thin or so thick.
    pub fn new(name: Name, caliper: Millimetres, hardness: Hardness) -> Result<Self, OutOfRange> {
        ranges::CALIPER.check(caliper.mm())?;
        Ok(Self { name, grammage: None, caliper, hardness, note: String::new() })
    }

    pub fn caliper(&self) -> Millimetres {
        self.caliper
    }
}

/// The caliper of one leaf from a stack: `reading / leaves`, in mm, to a tenth of a micrometre.
///
/// # Errors
/// [`OutOfRange`] if the stack is empty or the result is not the caliper of a paper.
pub fn caliper_from_stack(reading: Millimetres, leaves: u16) -> Result<Millimetres, OutOfRange> {
    share_of(reading, leaves, ranges::CALIPER)
}

/// `total / count`, which must lie in a range. Digits beyond a tenth of a micrometre come from the
/// division, not from a gauge.
pub(super) fn share_of(
    total: Millimetres,
    count: u16,
    range: Range,
) -> Result<Millimetres, OutOfRange> {
    let share = range.check((total.mm() / f64::from(count) * 1e4).round() / 1e4)?;
    Millimetres::new(share).ok_or(OutOfRange { value: share, range })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stack_gives_the_caliper_of_one_leaf() {
        let caliper = |mm, leaves| caliper_from_stack(Millimetres::new(mm).unwrap(), leaves);
        assert_eq!(caliper(1.03, 10).unwrap().mm(), 0.103);
        assert_eq!(caliper(1.03, 7).unwrap().mm(), 0.1471);
        assert!(caliper(1.03, 0).is_err() && caliper(105.0, 10).is_err());
    }
}
