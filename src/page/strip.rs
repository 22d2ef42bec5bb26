//! A range drawn as a strip, alone or against a target.

use crate::trade::extremes;
use askama::Template;

/// The scale of a strip, in the unit of its values.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Scale {
    from: f64,
    to: f64,
    /// The values labelled below the strip.
    marks: Vec<f64>,
    unit: String,
}

/// A range, its middle and what it is compared with. Templates insert it without escaping it.
#[derive(Clone, Debug, Default, Template)]
#[template(path = "bench/strip.html")]
pub(crate) struct Strip {
    /// The same in words, for readers who cannot see it.
    pub title: String,
    pub scale: Scale,
    /// The 90 % range and its middle.
    pub range: [f64; 3],
    /// The middle half.
    pub half: Option<(f64, f64)>,
    pub want: Option<(f64, f64)>,
    pub nominal: Option<f64>,
    /// The measured value.
    pub here: Option<f64>,
    /// Whether it shows what was predicted before.
    pub was: bool,
    /// Whether the numbers of the scale are shown below.
    pub ticks: bool,
}

struct Tick {
    x: String,
    anchor: &'static str,
    words: String,
}

/// The length of a strip and the margin at its ends, in drawing units.
const LENGTH: f64 = 320.0;
const MARGIN: f64 = 8.0;
/// About how many numbers may be below a strip.
const MARKS: f64 = 5.0;

impl Scale {
    /// A scale over all finite values, with round numbers.
    pub fn over(values: impl IntoIterator<Item = f64>, unit: &str) -> Self {
        let finite = values.into_iter().filter(|value| value.is_finite());
        let (low, high) = extremes(finite).unwrap_or((0.0, 1.0));
        let step = step(((high - low) / MARKS).max(high.abs() * 1e-3).max(1e-6));
        let (from, to) = ((low / step).floor() * step, (high / step).ceil() * step);
        let to = if to > from { to } else { from + step };
        let count = ((to - from) / step).round() as u32;
        let marks = (0..=count).map(|at| from + f64::from(at) * step).collect();
        Self { from, to, marks, unit: unit.to_owned() }
    }

    fn x(&self, value: f64) -> f64 {
        let share = (value - self.from) / (self.to - self.from);
        (MARGIN + (LENGTH - 2.0 * MARGIN) * share).clamp(0.0, LENGTH)
    }
}

/// The least of 1, 2 or 5 times a power of ten that is not below `least`.
fn step(least: f64) -> f64 {
    let power = 10_f64.powf(least.log10().floor());
    let times = [1.0, 2.0, 5.0, 10.0].into_iter().find(|times| times * power >= least * 0.999);
    times.unwrap_or(10.0) * power
}

fn at(x: f64) -> String {
    format!("{x:.1}")
}

impl Strip {
    pub fn new(title: impl Into<String>, scale: &Scale, range: [f64; 3]) -> Self {
        Self { title: title.into(), scale: scale.clone(), range, ..Self::default() }
    }

    /// Where a value lies along the strip, in drawing units.
    fn place(&self, value: &f64) -> String {
        at(self.scale.x(*value))
    }

    /// The left edge and the width of the target.
    fn want_at(&self) -> Option<(String, String)> {
        let (low, high) = self.want?;
        let (low, high) = (self.scale.x(low), self.scale.x(high));
        Some((at(low), at(high - low)))
    }

    fn ticks_at(&self) -> Vec<Tick> {
        let Scale { marks, unit, .. } = &self.scale;
        let last = marks.len().saturating_sub(1);
        let gap = marks.get(1).map_or(1.0, |second| second - marks[0]);
        let decimals = usize::try_from(-(gap.log10().floor() as i32)).unwrap_or(0).min(4);
        let tick = |(index, &value): (usize, &f64)| {
            let x = self.scale.x(value);
            let anchor = match () {
                () if index == 0 => "start",
                () if index == last => "end",
                () => "middle",
            };
            let unit = if index == last { format!(" {unit}") } else { String::new() };
            Tick { x: at(x), anchor, words: format!("{value:.decimals$}{unit}") }
        };
        let shown = self.ticks.then_some(marks).into_iter().flatten();
        shown.enumerate().map(tick).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_has_round_figures_and_holds_all_values() {
        let scale = Scale::over([9.0, 31.2, 38.9], "%");
        assert_eq!((scale.from, scale.to), (0.0, 40.0));
        assert_eq!(scale.marks, [0.0, 10.0, 20.0, 30.0, 40.0]);
        let scale = Scale::over([3.25, 3.84], "mm");
        assert!(scale.from <= 3.25 && scale.to >= 3.84 && scale.marks.len() <= 8, "{scale:?}");
        assert!(Scale::over([], "%").to > Scale::over([], "%").from);
        assert!(Scale::over([2.0, 2.0], "%").to > 2.0);
    }

    #[test]
    fn a_mark_outside_the_scale_stays_in_the_drawing() {
        let strip =
            Strip { here: Some(99.0), ..Strip::new("a", &Scale::over([0.0, 40.0], "%"), [9.0; 3]) };
        let html = strip.to_string();
        assert!(html.contains("d=\"M320.0 17l") && !html.contains("NaN"), "{html}");
    }
}
