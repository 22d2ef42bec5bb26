//! Rows on one shared scale, whose numbers are repeated where they would be far away.

use super::axis::Axis;
use super::scene::Scene;

/// The height of a line of numbers between rows.
const SCALE: f64 = 26.0;
/// The most pixels from a row down to the next line of numbers, unless a group of rows is longer.
const FAR: f64 = 460.0;

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Row {
    pub height: f64,
    /// Whether a line of numbers may go above it: never between a heading and its rows.
    pub begins: bool,
}

/// The positions of rows.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Rows {
    /// The middle of each row.
    pub middles: Vec<f64>,
    /// Stretches of rows from top to bottom, between lines of numbers.
    stretches: Vec<(f64, f64)>,
}

impl Rows {
    /// Stacks the rows from `top` down.
    pub fn new(rows: impl IntoIterator<Item = Row>, top: f64) -> Self {
        let (mut y, mut begun) = (top, top);
        let (mut middles, mut stretches) = (Vec::new(), Vec::new());
        for row in rows {
            if row.begins && y - begun > FAR {
                stretches.push((begun, y));
                y += SCALE;
                begun = y;
            }
            middles.push(y + row.height / 2.0);
            y += row.height;
        }
        stretches.push((begun, y));
        Self { middles, stretches }
    }

    /// Draws the scale behind the rows: grid lines, and numbers under each stretch. The scene's
    /// height ends below the last.
    pub fn draw_scale(&self, scene: &mut Scene, axis: &Axis, words: &str) {
        let Some((&(top, bottom), others)) = self.stretches.split_last() else { return };
        for &(top, bottom) in others {
            axis.draw_lines(scene, top, bottom);
            axis.draw_numbers(scene, bottom + SCALE / 2.0);
        }
        axis.draw_across(scene, top, bottom, words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_row_is_far_from_numbers_and_no_heading_is_cut_from_its_rows() {
        let group = [Row { height: 20.0, begins: true }, Row { height: 20.0, begins: false }];
        let rows = Rows::new(group.repeat(60), 0.0);
        assert!(rows.stretches.len() > 3, "{rows:?}");
        for (top, bottom) in &rows.stretches {
            assert!(bottom - top <= FAR + 40.0, "{top} to {bottom}");
            let inside = rows.middles.iter().filter(|middle| (*top..*bottom).contains(middle));
            assert_eq!(inside.count() % 2, 0);
        }
        assert_eq!(Rows::new(group, 5.0).stretches, [(5.0, 45.0)]);
    }
}
