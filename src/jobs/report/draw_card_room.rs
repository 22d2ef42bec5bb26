//! Whether a card in letters of twelve points stays on one sheet.

use super::draw_card_picture::LETTERS;
use crate::draw::type_face;

/// What is as wide and as high as both A4 and letter paper within the margins of a card, in pixels
/// of which 96 make an inch; a little less, for a browser breaks lines as it likes.
const WIDTH: f64 = 703.0;
const HEIGHT: f64 = 925.0;
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

impl Load<'_> {
    pub fn fits(&self) -> bool {
        let high =
            |text: &str, room: f64| LINE * type_face::lines(text, LETTERS, room).len() as f64;
        let words: f64 = self.words.iter().map(|text| high(text, WIDTH)).sum();
        let care: f64 = self.care.iter().map(|text| high(text, 0.5 * WIDTH)).sum();
        let spine = TABLE + CHECK * self.checks as f64;
        let (ticks, across) = self.ticks;
        let boxes = TICKS * ticks.div_ceil(across) as f64;
        let table = TABLE * self.rows as f64;
        FIXED + words + self.pictures + table + boxes + care.max(spine) <= HEIGHT
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_usual_card_fits_and_a_full_one_does_not() {
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
        assert!(load(10, 24).fits());
        assert!(!load(10, 96).fits() && !load(30, 24).fits());
    }
}
