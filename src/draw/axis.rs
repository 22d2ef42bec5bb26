use super::layout::{HAIR, NUMBERS, foot};
use super::palette::Tone;
use super::scene::{Anchor, Scene, at, style};
use crate::terminal::number::rounded;
use crate::trade::extremes;
use plotters::coord::ranged1d::Ranged;
use plotters::coord::types::RangedCoordf64;

/// A linear scale from values to pixels, with ticks at round numbers.
#[derive(Clone)]
pub(crate) struct Axis {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
}

impl Axis {
    /// A scale that spans all finite `values` with a small margin, between the pixels `from` and
    /// `to`.
    pub fn over(values: impl IntoIterator<Item = f64>, from: f64, to: f64) -> Self {
        const AIR: f64 = 0.04;
        let (low, high) =
            extremes(values.into_iter().filter(|value| value.is_finite())).unwrap_or((0.0, 1.0));
        let air = if high > low { AIR * (high - low) } else { 0.5 * high.abs().max(1.0) };
        Self { low: low - air, high: high + air, from, to }
    }

    /// The least and the greatest value of the plot.
    pub fn ends(&self) -> (f64, f64) {
        (self.low, self.high)
    }

    /// The first and the last pixel of the plot.
    pub fn pixels(&self) -> (f64, f64) {
        (self.from, self.to)
    }

    /// The pixel of a value, clamped to the plot.
    pub fn pixel(&self, value: f64) -> f64 {
        let share = (value.clamp(self.low, self.high) - self.low) / (self.high - self.low);
        self.from + share * (self.to - self.from)
    }

    /// Round numbers for the ticks, as many as fit.
    pub fn marks(&self) -> Vec<f64> {
        /// Pixels that a number needs.
        const ROOM: f64 = 64.0;
        let most = ((self.to - self.from).abs() / ROOM).max(2.0) as usize;
        // For a small count the library may return fewer than two round numbers: try larger counts.
        let marks = |count: usize| {
            let mut marks = RangedCoordf64::from(self.low..self.high).key_points(count);
            marks.retain(|mark| (self.low..=self.high).contains(mark));
            marks
        };
        (most..most + 4).map(marks).find(|marks| marks.len() > 1).unwrap_or_else(|| marks(most))
    }

    /// Each tick with its number, all with the same decimals.
    pub fn numbers(&self) -> Vec<(f64, String)> {
        let marks = self.marks();
        let step = marks.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
        let decimals = if step.is_finite() { decimals_of(step) } else { 2 };
        let number = |mark: f64| rounded(mark, decimals);
        marks.into_iter().map(|mark| (mark, number(mark))).collect()
    }

    /// Draws the axis along the bottom of a plot: grid lines, numbers and the label `words`. Sets
    /// the scene's height to end below it.
    pub fn draw_across(&self, scene: &mut Scene, top: f64, bottom: f64, words: &str) {
        self.draw_lines(scene, top, bottom);
        self.draw_numbers(scene, bottom + 14.0);
        scene.line(at(self.from, bottom), at(self.to, bottom), Tone::Ink, 1.0);
        foot(scene, words, self.from, self.to, bottom);
    }

    /// Draws a grid line at each tick, from top to bottom.
    pub fn draw_lines(&self, scene: &mut Scene, top: f64, bottom: f64) {
        for x in self.marks().into_iter().map(|mark| self.pixel(mark)) {
            scene.line(at(x, top), at(x, bottom), Tone::Rule, HAIR);
        }
    }

    /// Writes the numbers at height `y`.
    pub fn draw_numbers(&self, scene: &mut Scene, y: f64) {
        for (mark, number) in self.numbers() {
            let x = self.pixel(mark);
            scene.text(at(x, y), number, style(NUMBERS, Tone::Quiet), Anchor::Middle);
        }
    }

    /// Draws the axis up the left side of a plot: grid lines and numbers.
    pub fn draw_up(&self, scene: &mut Scene, left: f64, right: f64) {
        for (mark, number) in self.numbers() {
            let y = self.pixel(mark);
            scene.line(at(left, y), at(right, y), Tone::Rule, HAIR);
            scene.text(at(left - 6.0, y), number, style(NUMBERS, Tone::Quiet), Anchor::End);
        }
        scene.line(at(left, self.from), at(left, self.to), Tone::Ink, 1.0);
    }
}

/// The decimals needed to distinguish ticks that are `step` apart.
fn decimals_of(step: f64) -> usize {
    let mut decimals = 0;
    let mut scaled = step;
    while decimals < 6 && (scaled - scaled.round()).abs() > 1e-6 * scaled {
        scaled *= 10.0;
        decimals += 1;
    }
    decimals
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_round_numbers_inside_the_plot() {
        let axis = Axis::over([0.31, 0.74], 100.0, 600.0);
        let numbers = axis.numbers();
        assert!(numbers.len() >= 3 && numbers.len() <= 8, "{numbers:?}");
        for (mark, number) in &numbers {
            assert!((100.0..=600.0).contains(&axis.pixel(*mark)));
            assert!((number.parse::<f64>().unwrap() - mark).abs() < 1e-9, "{number} {mark}");
        }
    }

    #[test]
    fn one_value_or_none_still_makes_an_axis() {
        for values in [vec![], vec![0.0], vec![7.0], vec![f64::NAN]] {
            let axis = Axis::over(values, 0.0, 300.0);
            assert!(!axis.numbers().is_empty());
        }
    }
}
