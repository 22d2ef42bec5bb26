//! Cautions about a sewing, the customary number of sections sewn all along at its ends, and the
//! number of sections if blank leaves fill the last.

use super::scheme::Sewing;
use crate::trade::paper::Hardness;
use crate::trade::word::words;
use crate::units::Millimetres;

/// A thread thinner than this may cut the paper (common practice, no source).
pub const THIN_THREAD_MM: f64 = 0.35;
/// A thread thicker than this is a thin cord (common practice, no source).
pub const THICK_THREAD_MM: f64 = 0.70;
/// The fewest sections at each end to sew all along in m-on sewing (common practice, no source).
pub const WANTED_ENDS: u16 = 3;
/// The fewest sewing supports for three-on (common practice, no source).
pub const SUPPORTS_FOR_THREE_ON: u16 = 4;

/// The thickest section that folds well, its leaves × caliper in mm (common practice, no source):
/// a hard paper springs open and creeps more than a soft one.
pub fn thickest_section_mm(hardness: Hardness) -> f64 {
    match hardness {
        Hardness::Hard => 1.6,
        Hardness::Medium => 2.0,
        Hardness::Soft => 2.4,
    }
}

/// A caution about a sewing. All are common practice without a source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Caution {
    ThinThread,
    ThickThread,
    /// Several sections share a traverse: less secure, and kettle stitches are skipped.
    SkippedKettles,
    /// Several sections share a traverse and fewer than three at each end are all along.
    ShortEnds,
    /// Three or more sections share a traverse, and four supports are not certain.
    FewSupports,
    ThickSections,
}

/// What matters about the paper and the thread of a sewing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stuff {
    pub caliper: Millimetres,
    pub hardness: Hardness,
    /// Laid diameter of the thread.
    pub thread: Millimetres,
}

// These words are for programs and never change.
words!(
    Caution:
    ThinThread = "thin-thread", ThickThread = "thick-thread", SkippedKettles = "skipped-kettles",
    ShortEnds = "short-ends", FewSupports = "few-supports", ThickSections = "thick-sections"
);

impl Caution {
    /// The cautions about a sewing, in the order of [`Caution::ALL`]. `supports` are the tapes,
    /// cords or sewing stations of the book; `None` if unknown.
    pub fn of(sewing: Sewing, stuff: Stuff, supports: Option<u16>) -> Vec<Self> {
        let shared = sewing.on() > 1;
        let section_mm = 2.0 * f64::from(sewing.sheets()) * stuff.caliper.mm();
        let few = supports.is_none_or(|supports| supports < SUPPORTS_FOR_THREE_ON);
        let applies = |caution: &Self| match caution {
            Self::ThinThread => stuff.thread.mm() < THIN_THREAD_MM,
            Self::ThickThread => stuff.thread.mm() > THICK_THREAD_MM,
            Self::SkippedKettles => shared,
            Self::ShortEnds => shared && sewing.first().min(sewing.last()) < WANTED_ENDS,
            Self::FewSupports => sewing.on() > 2 && few,
            Self::ThickSections => section_mm > thickest_section_mm(stuff.hardness),
        };
        Self::ALL.into_iter().filter(applies).collect()
    }
}

/// The number of sections of `sheets` sheets that hold `leaves` leaves, the last one filled up with
/// blanks. If that is more than a sewing allows, the sewing refuses it.
pub fn filled_sections(leaves: u32, sheets: u16) -> u16 {
    let whole = 2 * u32::from(sheets.max(1));
    u16::try_from(leaves.div_ceil(whole)).unwrap_or(u16::MAX)
}

/// How many sections at each end to sew all along if the others are sewn `on` at a time. Three, or
/// fewer to leave one whole traverse between them; zero if everything is sewn all along. Sections
/// that do not make a whole traverse join the last end. `None` if even one at each end leaves no
/// traverse, so that m-on makes no sense (common practice, no source).
pub fn customary_ends(sections: u16, on: u8) -> Option<(u16, u16)> {
    if on <= 1 {
        return Some((0, 0));
    }
    let left = sections.checked_sub(u16::from(on))?;
    let ends = WANTED_ENDS.min(left / 2);
    let over = (sections - 2 * ends) % u16::from(on);
    (ends > 0).then_some((ends, ends + over))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(value: f64) -> Millimetres {
        Millimetres::new(value).unwrap()
    }

    fn stuff(caliper: f64, hardness: Hardness, thread: f64) -> Stuff {
        Stuff { caliper: mm(caliper), hardness, thread: mm(thread) }
    }

    fn sewing(sections: u16, sheets: u16, on: u8, ends: u16) -> Sewing {
        Sewing::new(sections, sheets, on, ends).unwrap()
    }

    #[test]
    fn a_customary_sewing_has_nothing_against_it() {
        let bond = stuff(0.10, Hardness::Hard, 0.47);
        assert_eq!(Caution::of(sewing(24, 4, 1, 0), bond, None), []);
        assert_eq!(Caution::of(sewing(24, 8, 1, 0), bond, None), []);
    }

    #[test]
    fn each_caution_begins_at_its_limit() {
        let medium = |thread| stuff(0.125, Hardness::Medium, thread);
        assert_eq!(Caution::of(sewing(9, 4, 1, 0), medium(0.349), None), [Caution::ThinThread]);
        assert_eq!(Caution::of(sewing(9, 4, 1, 0), medium(0.35), None), []);
        assert_eq!(Caution::of(sewing(9, 4, 1, 0), medium(0.701), None), [Caution::ThickThread]);
        assert_eq!(Caution::of(sewing(9, 8, 1, 0), medium(0.5), None), []);
        assert_eq!(Caution::of(sewing(9, 9, 1, 0), medium(0.5), None), [Caution::ThickSections]);
    }

    #[test]
    fn sewing_several_on_has_its_own_cautions() {
        let bond = stuff(0.10, Hardness::Soft, 0.47);
        assert_eq!(Caution::of(sewing(24, 4, 2, 3), bond, None), [Caution::SkippedKettles]);
        let short = [Caution::SkippedKettles, Caution::ShortEnds];
        assert_eq!(Caution::of(sewing(24, 4, 2, 2), bond, None), short);
        let few = [Caution::SkippedKettles, Caution::FewSupports];
        assert_eq!(Caution::of(sewing(24, 4, 3, 3), bond, None), few);
        assert_eq!(Caution::of(sewing(24, 4, 3, 3), bond, Some(3)), few);
        assert_eq!(Caution::of(sewing(24, 4, 3, 3), bond, Some(4)), [Caution::SkippedKettles]);
    }

    #[test]
    fn blank_leaves_fill_the_last_section() {
        assert_eq!((filled_sections(192, 4), filled_sections(193, 4)), (24, 25));
        assert_eq!((filled_sections(1, 8), filled_sections(u32::MAX, 1)), (1, u16::MAX));
    }

    #[test]
    fn three_sections_at_each_end_or_as_many_as_leave_a_traverse_between() {
        let two_on: Vec<_> = (1..=9).map(|sections| customary_ends(sections, 2)).collect();
        let short = [None, None, None, Some((1, 1)), Some((1, 2)), Some((2, 2)), Some((2, 3))];
        assert_eq!(two_on[..7], short);
        assert_eq!(two_on[7..], [Some((3, 3)), Some((3, 4))]);
        assert_eq!(customary_ends(4, 3), None);
        assert_eq!((customary_ends(5, 3), customary_ends(6, 3)), (Some((1, 1)), Some((1, 2))));
        assert_eq!((customary_ends(9, 3), customary_ends(11, 3)), (Some((3, 3)), Some((3, 5))));
        for (sections, on) in (2..=60).flat_map(|sections| [2, 3].map(|on| (sections, on))) {
            let Some((first, last)) = customary_ends(sections, on) else { continue };
            let sewing = sewing(sections, 4, on, 0).with_ends(first, last).unwrap();
            assert!(sewing.over() == 0 && sewing.between() > 0, "{sections} {on}");
        }
        assert_eq!(customary_ends(1, 1), Some((0, 0)));
    }
}
