//! Columns of words beside a plot, each as wide as its content.

use super::layout::{LABELS, LINE, WORDS};
use super::palette::Tone;
use super::scene::{Anchor, Point, Scene, at, style};
use super::type_face;

#[derive(Clone, Debug)]
pub(crate) struct Column {
    head: &'static str,
    /// The lines of each row.
    cells: Vec<Vec<String>>,
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

    /// The labels on the left of rows, for a picture of this width.
    pub fn labels(labels: impl Iterator<Item = String>, picture: f64) -> Self {
        Self::new("", Anchor::End, labels, LABELS * picture)
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
        for (row, middle) in (0..self.cells.len()).zip(middles) {
            self.draw_cell(scene, row, at(x, *middle), tone(row));
        }
    }

    /// Draws the cell of a row so that it starts or ends at a point, vertically centred on it.
    pub fn draw_cell(&self, scene: &mut Scene, row: usize, place: Point, tone: Tone) {
        let lines = &self.cells[row];
        let top = place.y - LINE * (lines.len() as f64 - 1.0) / 2.0;
        for (index, line) in lines.iter().enumerate().filter(|line| !line.1.is_empty()) {
            let y = top + LINE * index as f64;
            scene.text(at(place.x, y), line.as_str(), style(WORDS, tone), self.anchor);
        }
    }
}
