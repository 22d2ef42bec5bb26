//! Columns of words beside a plot, each as wide as its content.

use super::layout::{LINE, WORDS};
use super::palette::Tone;
use super::scene::{Anchor, Scene, at, style};
use super::type_face;

#[derive(Clone, Debug)]
pub(crate) struct Column {
    head: &'static str,
    /// The lines of each row.
    cells: Vec<Vec<String>>,
    /// How its text is aligned.
    anchor: Anchor,
    /// Width of the widest line, in pixels.
    pub width: f64,
}

impl Column {
    /// Wraps the cells at `most` pixels.
    pub fn new(
        head: &'static str,
        anchor: Anchor,
        cells: impl Iterator<Item = String>,
        most: f64,
    ) -> Self {
        let cells: Vec<Vec<String>> =
            cells.map(|cell| type_face::lines(&cell, WORDS, most)).collect();
        let words = cells.iter().flatten().map(String::as_str).chain([head]);
        let width = words.map(|line| type_face::width(line, WORDS)).fold(0.0, f64::max);
        Self { head, cells, anchor, width }
    }

    pub fn height_of(&self, row: usize) -> f64 {
        LINE * self.cells.get(row).map_or(1, Vec::len) as f64
    }

    /// The height of the tallest cell.
    pub fn height(&self) -> f64 {
        LINE * self.cells.iter().map(Vec::len).max().unwrap_or(1) as f64
    }

    /// Draws the column from `left`: its heading at the top of the picture, its cells centred on
    /// the rows' `middles`.
    pub fn draw(&self, scene: &mut Scene, left: f64, middles: &[f64]) {
        self.draw_in(scene, left, middles, &|_| Tone::Ink);
    }

    /// As [`Column::draw`], with each row in its own tone.
    pub fn draw_in(
        &self,
        scene: &mut Scene,
        left: f64,
        middles: &[f64],
        tone: &dyn Fn(usize) -> Tone,
    ) {
        let x = match self.anchor {
            Anchor::Start => left,
            Anchor::Middle => left + self.width / 2.0,
            Anchor::End => left + self.width,
        };
        if !self.head.is_empty() {
            scene.text(at(x, LINE / 2.0), self.head, style(WORDS, Tone::Quiet), self.anchor);
        }
        for (row, (lines, middle)) in self.cells.iter().zip(middles).enumerate() {
            let top = middle - LINE * (lines.len() as f64 - 1.0) / 2.0;
            for (index, line) in lines.iter().enumerate().filter(|line| !line.1.is_empty()) {
                let y = top + LINE * index as f64;
                scene.text(at(x, y), line.as_str(), style(WORDS, tone(row)), self.anchor);
            }
        }
    }
}
