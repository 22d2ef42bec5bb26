use super::ends::Ends;
use crate::trade::limits::{OutOfRange, ranges};
use crate::units::fields;
use serde::{Serialize, Serializer};
use thiserror::Error;

/// The sections of a block, or of a part of one, and how the thread goes through them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sewing {
    sections: u16,
    sheets: u16,
    on: u8,
    /// Sections sewn all along regardless of `on`, before and after the others.
    first: u16,
    last: u16,
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum SewingError {
    #[error("sections: {0}")]
    Sections(OutOfRange),
    #[error("sheets: {0}")]
    Sheets(OutOfRange),
    #[error("on: {0}")]
    On(OutOfRange),
    #[error(
        "{ends} at {} too many for {sections} sections",
        if ends.are_alike() { "each end is" } else { "the ends are" }
    )]
    Ends { ends: Ends, sections: u16 },
}

/// `ends` is one number for both ends, the larger one if they differ.
impl Serialize for Sewing {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { sections, sheets, on, first, last } = self;
        fields!(serializer,
            "sections": sections,
            "sheets": sheets,
            "on": on,
            "ends": self.ends(),
            "first_ends": first,
            "last_ends": last,
        )
    }
}

impl Sewing {
    /// `sections` of `sheets` folded sheets each, `on` sections in one traverse of the thread
    /// (1 all along, 2 two-on, 3 three-on), `ends` sections at each end sewn all along.
    pub fn new(sections: u16, sheets: u16, on: u8, ends: u16) -> Result<Self, SewingError> {
        ranges::SECTIONS.check(f64::from(sections)).map_err(SewingError::Sections)?;
        ranges::SHEETS.check(f64::from(sheets)).map_err(SewingError::Sheets)?;
        ranges::ON.check(f64::from(on)).map_err(SewingError::On)?;
        Self { sections, sheets, on, first: 0, last: 0 }.with_ends(ends, ends)
    }

    /// The same with ends that may differ: `first` sections at the start and `last` at the end are
    /// sewn all along.
    ///
    /// # Errors
    /// [`SewingError::Ends`] if the two exceed the sections.
    pub fn with_ends(self, first: u16, last: u16) -> Result<Self, SewingError> {
        if u32::from(first) + u32::from(last) > u32::from(self.sections) {
            return Err(SewingError::Ends { ends: Ends { first, last }, sections: self.sections });
        }
        Ok(Self { first, last, ..self })
    }

    /// Distributes the `first` and the `last` sections of a block over its parts, from both ends
    /// inwards. Where the two meet, every section is sewn all along.
    pub fn share_ends(parts: &mut [Self], mut first: u16, mut last: u16) {
        for part in parts.iter_mut() {
            part.first = first.min(part.sections);
            first -= part.first;
        }
        for part in parts.iter_mut().rev() {
            part.last = last.min(part.sections - part.first);
            last -= last.min(part.sections);
        }
    }

    /// This part and the `next` one as one sewing, if a traverse can cross from one to the other:
    /// they are sewn alike, and no section between the others is sewn all along. Its sheets are
    /// those of this part.
    pub fn joined(self, next: Self) -> Option<Self> {
        let sections = self.sections.checked_add(next.sections)?;
        let (first, last) = match (self.between(), next.between()) {
            (0, _) => (self.sections + next.first, next.last),
            (_, 0) => (self.first, self.last + next.sections),
            _ if (self.last, next.first) == (0, 0) => (self.first, next.last),
            _ => return None,
        };
        (self.on == next.on).then_some(Self { sections, first, last, ..self })
    }

    /// The first `count` sections in the order of sewing, and the rest; `None` for a part without
    /// sections. The thread in both parts adds up to that of the whole.
    pub fn split(self, count: u16) -> (Option<Self>, Option<Self>) {
        let count = count.min(self.sections);
        let rest = self.sections - count;
        let before_last = self.sections - self.last;
        let begun = Self {
            sections: count,
            first: self.first.min(count),
            last: count.saturating_sub(before_last),
            ..self
        };
        let left = Self {
            sections: rest,
            first: self.first.saturating_sub(count),
            last: self.last.min(rest),
            ..self
        };
        ((count > 0).then_some(begun), (rest > 0).then_some(left))
    }

    pub fn sections(self) -> u16 {
        self.sections
    }

    pub fn sheets(self) -> u16 {
        self.sheets
    }

    pub fn on(self) -> u8 {
        self.on
    }

    /// Whether more than one section is sewn in a traverse.
    pub fn is_two_on(self) -> bool {
        self.on > 1
    }

    pub fn between(self) -> u16 {
        self.sections - self.first - self.last
    }

    /// Sections between the ends that are left over when as many as possible share a traverse.
    pub fn over(self) -> u16 {
        self.between() % u16::from(self.on)
    }

    /// Sections at each end sewn all along regardless of `on`; the larger number if the ends
    /// differ.
    pub fn ends(self) -> u16 {
        self.both_ends().most()
    }

    pub fn both_ends(self) -> Ends {
        Ends { first: self.first, last: self.last }
    }

    /// [`Self::both_ends`], as far as they are separate from the rest.
    pub fn separate_ends(self) -> Ends {
        self.both_ends().separate(self.on)
    }

    /// The sewing as a new entry has it: ends only where they are sewn otherwise than the rest.
    #[must_use]
    pub fn as_recorded(self) -> Self {
        let Ends { first, last } = self.separate_ends();
        Self { first, last, ..self }
    }

    /// [`Self::both_ends`] as they are typed: one number, or `3+4` if the ends differ.
    pub fn ends_text(self) -> String {
        self.both_ends().to_string()
    }

    pub fn first(self) -> u16 {
        self.first
    }

    pub fn last(self) -> u16 {
        self.last
    }

    /// Leaves in the block: two for every folded sheet.
    pub fn leaves(self) -> u32 {
        2 * u32::from(self.sections) * u32::from(self.sheets)
    }

    /// Sections' worth of thread in the spine: all of them when sewn all along, else
    /// `E + (n − E)/on`, E = first + last. Source: docs/model.md, "Effective sections of thread".
    pub fn effective_sections(self) -> f64 {
        let ends = f64::from(self.first) + f64::from(self.last);
        let between = f64::from(self.sections) - ends;
        ends + between / f64::from(self.on)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_on_puts_half_the_thread_in_and_three_on_a_third() {
        let effective = |on, ends| Sewing::new(24, 4, on, ends).unwrap().effective_sections();
        assert_eq!(effective(1, 0), 24.0);
        assert_eq!(effective(1, 4), 24.0);
        assert_eq!(effective(2, 0), 12.0);
        assert_eq!(effective(3, 0), 8.0);
        assert_eq!(effective(2, 4), 16.0);
    }

    /// docs/model.md, "Updating part-way": `min(q, ends) + max(0, q − ends)/m` for
    /// `q ≤ n − ends`, and q where m = 1.
    #[test]
    fn a_part_of_a_block_holds_its_share_of_the_thread() {
        let begun = |sewing: Sewing, q| sewing.split(q).0.map_or(0.0, Sewing::effective_sections);
        let (two_on, along) =
            (Sewing::new(24, 4, 2, 4).unwrap(), Sewing::new(24, 4, 1, 4).unwrap());
        for q in 0..=20 {
            let (q_f, ends) = (f64::from(q), 4.0);
            assert_eq!(begun(two_on, q), q_f.min(ends) + (q_f - ends).max(0.0) / 2.0, "{q}");
            assert_eq!(begun(along, q), q_f);
        }
        assert_eq!((begun(two_on, 22), begun(two_on, 24)), (14.0, 16.0));
        for q in 0..=24 {
            let (begun, left) = two_on.split(q);
            let parts = [begun, left].into_iter().flatten();
            assert_eq!(parts.clone().map(Sewing::sections).sum::<u16>(), 24);
            assert_eq!(parts.map(Sewing::effective_sections).sum::<f64>(), 16.0);
        }
    }

    #[test]
    fn the_ends_of_a_block_are_those_of_its_parts() {
        let part = |sections| Sewing::new(sections, 4, 2, 0).unwrap();
        let ends = |sizes: &[u16], ends| {
            let mut parts: Vec<Sewing> = sizes.iter().map(|&size| part(size)).collect();
            Sewing::share_ends(&mut parts, ends, ends);
            parts.iter().map(|part| (part.first, part.last)).collect::<Vec<_>>()
        };
        assert_eq!(ends(&[18, 2], 3), [(3, 1), (0, 2)]);
        assert_eq!(ends(&[20], 3), [(3, 3)]);
        assert_eq!(ends(&[2, 10, 1], 4), [(2, 0), (2, 3), (0, 1)]);
        assert_eq!(ends(&[3, 2], 4), [(3, 0), (1, 1)]);
    }

    #[test]
    fn parts_are_joined_if_a_traverse_can_cross_between_them() {
        let part = |sections, first, last| {
            Sewing::new(sections, 4, 2, 0).unwrap().with_ends(first, last).unwrap()
        };
        let joined = |one: Sewing, other: Sewing| {
            one.joined(other).map(|whole| (whole.sections, whole.first, whole.last))
        };
        assert_eq!(joined(part(15, 3, 3), part(1, 0, 1)), Some((16, 3, 4)));
        assert_eq!(joined(part(2, 2, 0), part(9, 1, 3)), Some((11, 3, 3)));
        assert_eq!(joined(part(8, 3, 0), part(9, 0, 3)), Some((17, 3, 3)));
        assert_eq!(joined(part(8, 3, 3), part(9, 3, 3)), None);
        assert_eq!(joined(part(8, 0, 0), Sewing::new(9, 4, 3, 0).unwrap()), None);
    }

    #[test]
    fn the_ends_need_not_be_alike() {
        let part = Sewing::new(10, 4, 2, 0).unwrap();
        assert_eq!(part.with_ends(0, 4).unwrap().effective_sections(), 7.0);
        let said = |first, last| part.with_ends(first, last).unwrap_err().to_string();
        assert_eq!(said(7, 4), "7+4 at the ends are too many for 10 sections");
        assert_eq!(said(6, 6), "6 at each end is too many for 10 sections");
    }

    #[test]
    fn a_sewing_that_cannot_be_is_refused() {
        assert!(matches!(Sewing::new(0, 4, 1, 0), Err(SewingError::Sections(_))));
        assert!(matches!(Sewing::new(24, 0, 1, 0), Err(SewingError::Sheets(_))));
        assert!(matches!(Sewing::new(24, 4, 0, 0), Err(SewingError::On(_))));
        assert!(matches!(Sewing::new(5, 4, 2, 3), Err(SewingError::Ends { .. })));
    }
}
