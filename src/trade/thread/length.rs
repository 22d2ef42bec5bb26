//! How much thread a sewing takes.

use crate::trade::limits::{OutOfRange, ranges};
use crate::trade::sewing::scheme::Sewing;
use crate::units::Millimetres;

/// Thread up to the next traverse and round the kettle stitch (common practice, no source).
const CLIMB_MM: f64 = 10.0;
/// The two ends left hanging where the sewing begins and where it is tied off (common practice, no
/// source).
const TAILS_MM: f64 = 300.0;
/// Thread for knots, the way round the supports and the last short piece of each needleful, as a
/// share of the rest (common practice, no source).
const WASTE: f64 = 0.10;

/// The height of a book along its spine, head to tail.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Height(Millimetres);

impl Height {
    /// # Errors
    /// [`OutOfRange`] if no book is so tall.
    pub fn new(height: Millimetres) -> Result<Self, OutOfRange> {
        ranges::HEIGHT.check(height.mm())?;
        Ok(Self(height))
    }

    pub fn mm(self) -> Millimetres {
        self.0
    }
}

impl Sewing {
    /// How often the thread runs along the spine: once for each section sewn all along, and once
    /// for each group of `on` sections, including a smaller last group.
    pub fn traverses(self) -> u16 {
        let ends = self.first() + self.last();
        ends + (self.sections() - ends).div_ceil(u16::from(self.on()))
    }

    /// The thread to prepare in mm: `1.1·(traverses·(height + 10) + 300)`, where every figure is
    /// common practice without a source. The passage from kettle to kettle is a little shorter than
    /// the book's height; the difference is a reserve.
    pub fn thread_length(self, height: Height) -> Millimetres {
        let along = f64::from(self.traverses()) * (height.mm().mm() + CLIMB_MM);
        let length = (1.0 + WASTE) * (along + TAILS_MM);
        // A bounded number of traverses of a bounded height is finite.
        Millimetres::new(length).unwrap_or_else(|| unreachable!("a finite length"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sewing(sections: u16, on: u8, ends: u16) -> Sewing {
        Sewing::new(sections, 4, on, ends).unwrap()
    }

    fn height(mm: f64) -> Height {
        Height::new(Millimetres::new(mm).unwrap()).unwrap()
    }

    /// By hand: 20 × 260 = 5,200; with the tails 5,500; a tenth more 6,050.
    #[test]
    fn a_book_of_twenty_sections_takes_six_metres() {
        assert!((sewing(20, 1, 0).thread_length(height(250.0)).mm() - 6050.0).abs() < 1e-9);
    }

    /// By hand: 3 + 3 all along and 14 in 7 pairs are 13 traverses: 1.1·(13·260 + 300) = 4,048.
    #[test]
    fn two_on_saves_thread() {
        assert_eq!(sewing(20, 2, 3).traverses(), 13);
        assert!((sewing(20, 2, 3).thread_length(height(250.0)).mm() - 4048.0).abs() < 1e-9);
    }

    #[test]
    fn a_group_that_is_not_full_takes_a_traverse_of_its_own() {
        assert_eq!(sewing(21, 2, 3).traverses(), 14);
        assert_eq!(sewing(21, 3, 3).traverses(), 11);
        assert_eq!(sewing(21, 3, 3).split(10).0.unwrap().traverses(), 6);
    }

    #[test]
    fn no_book_is_a_centimetre_high() {
        assert!(Height::new(Millimetres::new(10.0).unwrap()).is_err());
    }
}
