use crate::trade::word::words;
use serde::Serialize;

/// What is done with leaves that do not fill a section.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum LeftOver {
    /// Blank leaves fill the last section.
    #[default]
    Blank,
    /// They make a section of their own, with fewer sheets.
    Smaller,
}

words!(LeftOver: Blank = "blank", Smaller = "smaller");

/// Leaves divided into sections of `sheets` sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Division {
    leaves: u32,
    sheets: u16,
}

impl Division {
    /// Divides `leaves` (one or more) into sections of `sheets` (one or more) folded sheets.
    pub fn new(leaves: u32, sheets: u16) -> Self {
        Self { leaves: leaves.max(1), sheets: sheets.max(1) }
    }

    pub fn leaves(self) -> u32 {
        self.leaves
    }

    pub fn sheets(self) -> u16 {
        self.sheets
    }

    /// Leaves of a full section: two for every folded sheet.
    fn whole(self) -> u32 {
        2 * u32::from(self.sheets)
    }

    pub fn full_sections(self) -> u32 {
        self.leaves / self.whole()
    }

    /// Leaves that do not fill a section.
    pub fn over(self) -> u32 {
        self.leaves % self.whole()
    }

    /// The number of sections if blank leaves fill the last one, and the number of those blank
    /// leaves.
    pub fn with_blanks(self) -> (u32, u32) {
        match self.over() {
            0 => (self.full_sections(), 0),
            over => (self.full_sections() + 1, self.whole() - over),
        }
    }

    /// The sheets of a smaller section made of the leaves left over, and the blank leaves (none or
    /// one) that complete its sheets. `None` if nothing is left over, or if that section would be a
    /// full one.
    pub fn smaller_section(self) -> Option<(u16, u32)> {
        let over = self.over();
        let sheets = u16::try_from(over.div_ceil(2)).ok()?;
        (over > 0 && sheets < self.sheets).then_some((sheets, over % 2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_leaf_finds_a_place_and_no_section_is_all_blank() {
        for sheets in 1..=8_u16 {
            for leaves in 1..=400 {
                let division = Division::new(leaves, sheets);
                let whole = 2 * u32::from(sheets);
                let (sections, blanks) = division.with_blanks();
                assert_eq!(sections * whole, leaves + blanks);
                assert!(blanks < whole);
                let full = division.full_sections() * whole;
                match division.smaller_section() {
                    None => assert!(full == leaves || blanks == 1, "{leaves} {sheets}"),
                    Some((smaller, blank)) => {
                        assert!((1..sheets).contains(&smaller) && blank <= 1);
                        assert_eq!(full + 2 * u32::from(smaller), leaves + blank);
                    }
                }
            }
        }
    }

    /// By hand: 190 leaves in eights are 23 sections and 6 leaves over, which are 3 sheets.
    #[test]
    fn leaves_left_over_are_blanks_or_a_smaller_section() {
        let division = Division::new(190, 4);
        assert_eq!((division.full_sections(), division.over()), (23, 6));
        assert_eq!(division.with_blanks(), (24, 2));
        assert_eq!(division.smaller_section(), Some((3, 0)));
        // One leaf short is a full section with a blank leaf, in both ways.
        assert_eq!(Division::new(191, 4).smaller_section(), None);
        assert_eq!(Division::new(189, 4).smaller_section(), Some((3, 1)));
        assert_eq!(Division::new(192, 4).smaller_section(), None);
    }

    #[test]
    fn a_word_says_which() {
        assert_eq!("Smaller".parse(), Ok(LeftOver::Smaller));
        assert!("cut".parse::<LeftOver>().is_err());
    }
}
