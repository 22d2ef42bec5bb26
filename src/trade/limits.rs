//! The ranges of possible values, wherever a value was typed.

use crate::units::{LengthUnit, Millimetres};
use std::fmt;
use thiserror::Error;

/// A closed range of plain numbers with its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    pub low: f64,
    pub high: f64,
    /// The unit, as shown; empty for counts.
    pub unit: &'static str,
}

#[derive(Clone, Debug, PartialEq, Error)]
#[error("{}", self.in_unit(LengthUnit::Millimetre))]
pub struct OutOfRange {
    pub value: f64,
    pub range: Range,
}

impl OutOfRange {
    /// The message, with lengths in `unit`.
    pub fn in_unit(&self, unit: LengthUnit) -> String {
        let found = if self.range.unit == "mm" {
            unit.found(self.value)
        } else {
            format!("{}{}", self.value, unit_after(self.range.unit))
        };
        format!("{found} is outside {}", self.range.in_unit(unit))
    }

    /// As [`Self::in_unit`], for a typed length; `typed_in` is how long one of its unit is, if it
    /// was typed with one. If the same number is possible in another unit, the message asks whether
    /// that unit was meant.
    pub fn typed(&self, unit: LengthUnit, typed_in: Option<Millimetres>) -> String {
        let said = self.in_unit(unit);
        let in_mm = LengthUnit::Millimetre.suits_better(self.value, unit);
        let likely = if in_mm { LengthUnit::Millimetre } else { unit };
        let one_mm = typed_in.map_or(likely.to_mm(1.0), Millimetres::mm);
        let Some((number, meant)) = self.meant(one_mm) else { return said };
        format!("{said}; is it in {}? Then write {number}{meant}", meant.in_words())
    }

    /// The number as it was typed in a unit of `one_mm`, and the unit in which it is closest to the
    /// middle of the range.
    fn meant(&self, one_mm: f64) -> Option<(f64, LengthUnit)> {
        if self.range.unit != "mm" || self.value <= 0.0 || !self.value.is_finite() {
            return None;
        }
        let number = (self.value / one_mm * 1e6).round() / 1e6;
        let usual = (self.range.low * self.range.high).sqrt();
        let away = |unit: &LengthUnit| (unit.to_mm(number) / usual).ln().abs();
        let possible = |unit: &LengthUnit| self.range.check(unit.to_mm(number)).is_ok();
        let meant = LengthUnit::ALL.into_iter().filter(possible);
        let meant = meant.min_by(|one, other| away(one).total_cmp(&away(other)));
        meant.map(|unit| (number, unit))
    }
}

fn unit_after(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!(" {unit}") }
}

impl Range {
    /// `value` if it lies in the range, which a NaN does not.
    ///
    /// # Errors
    /// [`OutOfRange`], also for a NaN.
    #[inline]
    pub fn check(self, value: f64) -> Result<f64, OutOfRange> {
        if (self.low..=self.high).contains(&value) {
            Ok(value)
        } else {
            Err(OutOfRange { value, range: self })
        }
    }

    /// The range, with lengths in `unit`: `0.126..1.494 in`.
    pub fn in_unit(self, unit: LengthUnit) -> String {
        if self.unit == "mm" {
            format!("{}..{}", unit.figures(self.low), unit.shown(self.high))
        } else {
            self.to_string()
        }
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}..{}{}", self.low, self.high, unit_after(self.unit))
    }
}

/// The ranges themselves. They are wide on purpose: suspect but possible values pass here, and
/// `audit` reports them.
pub mod ranges {
    use super::Range;

    const fn mm(low: f64, high: f64) -> Range {
        Range { low, high, unit: "mm" }
    }

    const fn count(low: f64, high: f64) -> Range {
        Range { low, high, unit: "" }
    }

    /// Thickness of one leaf: from the thinnest tissue to board.
    pub const CALIPER: Range = mm(0.01, 2.0);
    /// Diameter of a thread as it lies in the fold: from fine silk to thick cord.
    pub const LAID: Range = mm(0.03, 4.0);
    /// A thickness measured at the spine or the fore-edge of a block.
    pub const THICKNESS: Range = mm(0.05, 400.0);
    /// A book along its spine, head to tail: from a miniature to a chant book.
    pub const HEIGHT: Range = mm(20.0, 1200.0);
    /// Tapes, cords or sewing stations of a book.
    pub const SUPPORTS: Range = count(1.0, 60.0);
    /// Build-up of repairs at the fold, over the block.
    pub const GUARDS: Range = mm(0.0, 50.0);
    /// Leaves in a stack measured for their caliper.
    pub const STACK: Range = count(1.0, 2000.0);
    /// What a gauge reads over such a stack.
    pub const STACK_READING: Range = mm(0.01, 400.0);
    /// Turns of thread wrapped side by side.
    pub const WRAPS: Range = count(1.0, 1000.0);
    /// The width of those turns.
    pub const WRAPS_WIDTH: Range = mm(0.03, 1000.0);
    pub const GRAMMAGE: Range = Range { low: 4.0, high: 1500.0, unit: "g/m\u{b2}" };
    pub const SECTIONS: Range = count(1.0, 500.0);
    /// Folded sheets in a section.
    pub const SHEETS: Range = count(1.0, 40.0);
    /// Sections sewn in one traverse.
    pub const ON: Range = count(1.0, 6.0);
    /// Sections at each end sewn all along.
    pub const ENDS: Range = count(0.0, 250.0);
    /// Leaves or pages in a book.
    pub const PAGES: Range = count(1.0, 80_000.0);
    /// A swell target.
    pub const SWELL_PERCENT: Range = Range { low: -20.0, high: 200.0, unit: "%" };
    /// A swell that was predicted or measured; the spine is at least half the fore-edge.
    pub const SWELL_SEEN: Range = Range { low: -100.0, high: 100_000.0, unit: "%" };
    pub const CHANCE: Range = count(0.0, 1.0);
    /// The mean of a belief, a share of a thread's diameter or a length in mm. The limit is a
    /// hundred times what any fold shows; beyond it, the squares in a fit lose their digits.
    pub const BELIEF_MEAN: Range = count(-100.0, 100.0);
    /// How certain a belief is, and the scale of a spread: from a thousandth of what the finest
    /// gauge shows for a section to a hundred times what any fold shows.
    pub const BELIEF_SPREAD: Range = count(0.000_001, 100.0);
    /// How much benches differ in a belief: from 0 to the limit of a belief.
    pub const BELIEF_BETWEEN: Range = count(0.0, 100.0);
    pub const CORRELATION: Range = count(-1.0, 1.0);
    /// Benches or trials that were pooled; the limit is more than all binders will ever sew.
    pub const POOLED: Range = count(0.0, 1e12);
    pub const RESOLUTION: Range = mm(0.000_1, 1.0);
}
