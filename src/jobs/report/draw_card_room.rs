//! The largest letters in which a card stays on one sheet.

use super::draw_card_picture::LETTERS;
use crate::draw::type_face;

/// What is as wide and as high as both A4 and letter paper within the margins of a card, in pixels
/// of which 96 make an inch. The width is that of letters without the slack for another font, for
/// in the height there is some.
const WIDTH: f64 = 808.0;
const HEIGHT: f64 = 980.0;
/// A line of words with its share of the space around it.
const LINE: f64 = 20.2;
/// The head, the headings and the room for notes.
const FIXED: f64 = 195.0;
/// A row of boxes, one of the spine's table, and the head of a table.
const TICKS: f64 = 28.0;
const CHECK: f64 = 31.5;
const TABLE: f64 = 26.0;

/// What a card has on it.
#[derive(Clone, Debug)]
pub(crate) struct Load<'a> {
    /// Paragraphs over the whole width.
    pub words: Vec<&'a str>,
    /// What is said beside the table of the spine.
    pub care: &'a [String],
    /// The heights of the pictures together.
    pub pictures: f64,
    /// Rows of the table of runs, its head among them.
    pub rows: usize,
    /// Boxes, and how many of them have room side by side.
    pub ticks: (usize, usize),
    /// Rows of the spine's table.
    pub checks: usize,
}

/// The letters of a card: twelve points and less.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Letters {
    Large,
    Middle,
    Small,
}

impl Letters {
    /// The class of the page that has them.
    pub fn class(self) -> &'static str {
        match self {
            Self::Large => "large",
            Self::Middle => "middle",
            Self::Small => "small",
        }
    }

    /// Their size over twelve points.
    fn share(self) -> f64 {
        match self {
            Self::Large => 1.0,
            Self::Middle => 10.5 / 12.0,
            Self::Small => 0.75,
        }
    }
}

impl Load<'_> {
    /// The largest letters in which there is room for it; the small ones if it is more than that.
    pub fn letters(&self) -> Letters {
        let fits = |letters: &Letters| self.height(letters.share()) <= HEIGHT;
        let sizes = [Letters::Large, Letters::Middle];
        sizes.into_iter().find(fits).unwrap_or(Letters::Small)
    }

    fn height(&self, share: f64) -> f64 {
        let high = |text: &str, room: f64| {
            LINE * share * type_face::lines(text, LETTERS, room / share).len() as f64
        };
        let words: f64 = self.words.iter().map(|text| high(text, WIDTH)).sum();
        let care: f64 = self.care.iter().map(|text| high(text, 0.5 * WIDTH)).sum();
        let (ticks, across) = self.ticks;
        let boxes = TICKS * ticks.div_ceil(across) as f64;
        let spine = TABLE + CHECK * self.checks as f64;
        let table = TABLE * self.rows as f64;
        // Boxes for a pencil shrink less than letters.
        let pencil = 0.5 * (1.0 + share);
        share * (FIXED + self.pictures + table) + words + pencil * boxes + care.max(pencil * spine)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fuller_a_card_the_smaller_its_letters() {
        let line = "a line of words that is about as long as those of a card are, and no longer";
        let care = vec![line.to_owned()];
        let load = |paragraphs: usize, ticks| Load {
            words: vec![line; paragraphs],
            care: &care,
            pictures: 220.0,
            rows: 0,
            ticks: (ticks, 8),
            checks: 4,
        };
        assert_eq!(load(10, 24).letters(), Letters::Large);
        assert_eq!(load(10, 64).letters(), Letters::Middle);
        assert_eq!(load(10, 96).letters(), Letters::Small);
        assert_eq!(load(40, 24).letters(), Letters::Small);
    }
}
