//! Finds the largest letters with which a card stays on one sheet.

use super::draw_card_picture::LETTERS;
use crate::draw::type_face;

/// The area within the margins of a card on both A4 and letter paper, in pixels of 1/96 inch. The
/// width is enlarged to cancel the slack for another font that `type_face` adds, because the height
/// has some slack of its own.
const WIDTH: f64 = 808.0;
const HEIGHT: f64 = 980.0;
/// The height of a line of text with its share of the space around it.
const LINE: f64 = 20.2;
/// The height of the head, the headings and the room for notes.
const FIXED: f64 = 195.0;
/// Heights of a row of boxes, a row of the spine's table, and a table head.
const TICKS: f64 = 28.0;
const CHECK: f64 = 31.5;
const TABLE: f64 = 26.0;

/// The sizes of letters: their CSS class, and their size as a share of twelve points.
const SIZES: [(&str, f64); 3] = [("large", 1.0), ("middle", 10.5 / 12.0), ("small", 0.75)];

/// The content of a card, as far as it takes up space.
#[derive(Clone, Debug)]
pub(crate) struct Load<'a> {
    /// Paragraphs over the whole width.
    pub words: Vec<&'a str>,
    /// The text beside the table of the spine.
    pub care: &'a [String],
    pub pictures: f64,
    /// Rows of the table of runs, including its head.
    pub rows: usize,
    /// Number of boxes, and how many fit side by side.
    pub ticks: (usize, usize),
    /// Rows of the spine's table.
    pub checks: usize,
}

impl Load<'_> {
    /// The class of the largest letters with which everything fits; the small ones if none do.
    pub fn letters(&self) -> &'static str {
        let fits = |(_, share): &&(&str, f64)| self.height(*share) <= HEIGHT;
        SIZES.iter().find(fits).unwrap_or(&SIZES[2]).0
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
        assert_eq!(load(10, 24).letters(), "large");
        assert_eq!(load(10, 64).letters(), "middle");
        assert_eq!(load(10, 96).letters(), "small");
        assert_eq!(load(40, 24).letters(), "small");
    }
}
