//! `residuals`: what the fit does not explain, by paper, thread, date, sections and hand.

use super::answer_residuals::{NINE_IN_TEN, Residual, ResidualsView, Row};
use super::draw_residuals_words::{caption, label, title};
use super::draw_states::{look, sign};
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::columns::Column;
use crate::draw::layout::{HAIR, LINE, Look, MARGIN, NUMBERS, Sign, WORDS, foot};
use crate::draw::palette::Tone;
use crate::draw::scene::{Anchor, Area, Form, Scene, at, style};
use crate::draw::type_face;
use crate::trade::State;
use crate::units::LengthUnit;
use std::collections::BTreeMap;

/// A residual further out than this is drawn at the edge.
const FARTHEST: f64 = 8.0;
/// The axis always reaches at least this far.
const NEAREST: f64 = 3.0;
const MARK: f64 = 8.0;
/// The largest height of the marks in a row.
const TALLEST: f64 = 84.0;
/// Room below a panel, for its numbers.
const BELOW: f64 = 36.0;
/// A panel taller than this also has numbers above it.
const TALL: f64 = 500.0;
const WORDS_BELOW: &str = "swell measured less swell predicted from the other trials, in standard \
                           deviations of the prediction: left less, right more";
const SIGNS: [Sign; 7] = [
    sign(State::Sewn),
    sign(State::Pressed),
    sign(State::Knocked),
    sign(State::KnockedPressed),
    Sign { look: Look::Mark(Form::Diamond, Tone::Struck), words: "the largest" },
    Sign { look: Look::Stroke(Tone::Ink), words: "middle of a row" },
    Sign { look: Look::Patch(Tone::Steady), words: "90 % of sound trials" },
];

/// The headings of [`ResidualsView::panels`].
const HEADINGS: [&str; 5] = ["by paper", "by thread", "by date", "by sections", "by hand"];

/// What all panels share.
struct Plot<'v> {
    view: &'v ResidualsView,
    axis: Axis,
    labels: Column,
    left: f64,
    right: f64,
    /// Index of the largest residual.
    largest: usize,
}

pub fn residuals(view: &ResidualsView, unit: LengthUnit, width: f64) -> Chart {
    let Some(largest) = view.largest() else {
        return Chart::without_plot(title(view), width, caption(view, unit, FARTHEST));
    };
    let mut scene = Scene::new(width);
    let panels = view.panels();
    let rows = panels.iter().flatten();
    let labels = Column::labels(rows.map(|row| label(&row.shared)), width);
    let (left, right) = (MARGIN + labels.width + 10.0, width - MARGIN);
    let values = view.residuals.iter().map(|one| one.off.clamp(-FARTHEST, FARTHEST));
    let axis = Axis::over(values.chain([-NEAREST, NEAREST]), left, right);
    let largest = view.residuals.iter().position(|one| one == largest).unwrap_or(0);
    let plot = Plot { view, axis, labels, left, right, largest };
    let mut first = 0;
    for (heading, rows) in HEADINGS.into_iter().zip(&panels) {
        plot.panel(&mut scene, heading, rows, first);
        first += rows.len();
    }
    let bottom = scene.height - BELOW;
    foot(&mut scene, WORDS_BELOW, left, right, bottom);
    Chart::new(title(view), &SIGNS, scene, caption(view, unit, FARTHEST))
}

impl Plot<'_> {
    /// Draws a panel below the existing ones; `first` is the index of its first label. The first
    /// panel names the largest residual.
    fn panel(&self, scene: &mut Scene, heading: &str, rows: &[Row], first: usize) {
        let top = scene.height + LINE + 4.0;
        scene.text(
            at(MARGIN, scene.height + LINE / 2.0),
            heading,
            style(WORDS, Tone::Ink),
            Anchor::Start,
        );
        let swarms: Vec<Swarm> = rows.iter().map(|row| self.swarm(row)).collect();
        let name = if first == 0 { self.name() } else { Vec::new() };
        let mut tops = vec![top];
        for (index, (row, swarm)) in rows.iter().zip(&swarms).enumerate() {
            let named = if self.is_of_largest(row) { LINE * name.len() as f64 } else { 0.0 };
            let height = (swarm.height() + 6.0).max(self.labels.height_of(first + index) + 4.0);
            tops.push(tops[index] + named + height);
        }
        let bottom = tops[rows.len()];
        self.ground(scene, top, bottom);
        self.numbers(scene, bottom + 12.0, 0.0);
        if bottom - top > TALL {
            self.numbers(scene, top - 12.0, MARGIN + type_face::width(heading, WORDS));
        }
        for (index, (row, swarm)) in rows.iter().zip(&swarms).enumerate() {
            let mut from = tops[index];
            if self.is_of_largest(row) {
                for line in &name {
                    self.write(scene, line, from + LINE / 2.0);
                    from += LINE;
                }
            }
            let middle = (from + tops[index + 1]) / 2.0;
            let zero = self.axis.pixel(0.0);
            scene.line(at(zero, from), at(zero, tops[index + 1]), Tone::Quiet, 1.0);
            let end = at(self.left - 10.0, middle);
            self.labels.draw_cell(scene, first + index, end, Tone::Ink);
            let below = at(self.left, tops[index + 1]);
            scene.line(below, at(self.right, tops[index + 1]), Tone::Rule, HAIR);
            self.row(scene, row, swarm, middle);
        }
        scene.height = bottom + BELOW;
    }

    /// Shades the band where sound residuals lie, and draws hairlines.
    fn ground(&self, scene: &mut Scene, top: f64, bottom: f64) {
        let [left, right] = [-NINE_IN_TEN, NINE_IN_TEN].map(|off| self.axis.pixel(off));
        scene.fill(Area { left, right, top, bottom }, Tone::Steady);
        self.axis.draw_lines(scene, top, bottom);
    }

    /// Writes the numbers of the axis, except those left of `from`.
    fn numbers(&self, scene: &mut Scene, y: f64, from: f64) {
        for (mark, number) in self.axis.numbers() {
            let (x, half) = (self.axis.pixel(mark), type_face::width(&number, NUMBERS) / 2.0);
            if x - half >= from {
                scene.text(at(x, y), number, style(NUMBERS, Tone::Quiet), Anchor::Middle);
            }
        }
    }

    fn is_of_largest(&self, row: &Row) -> bool {
        row.members.contains(&self.largest)
    }

    /// Trial and state of the largest residual, wrapped to the width of the plot.
    fn name(&self) -> Vec<String> {
        let Residual { trial, state, .. } = &self.view.residuals[self.largest];
        type_face::lines(&format!("{trial}, {}", state.phrase()), NUMBERS, self.right - self.left)
    }

    /// Writes a line above the largest residual.
    fn write(&self, scene: &mut Scene, line: &str, y: f64) {
        let half = type_face::width(line, NUMBERS) / 2.0;
        let x = self.axis.pixel(self.view.residuals[self.largest].off);
        let x = x.min(self.right - half).max(self.left + half);
        scene.text(at(x, y), line, style(NUMBERS, Tone::Ink), Anchor::Middle);
    }

    fn swarm(&self, row: &Row) -> Swarm {
        let pixel = |&at: &usize| self.axis.pixel(self.view.residuals[at].off);
        Swarm::of(row.members.iter().map(pixel))
    }

    fn row(&self, scene: &mut Scene, row: &Row, swarm: &Swarm, middle: f64) {
        if let Some(middle_off) = row.middle {
            let (x, half) = (self.axis.pixel(middle_off), (swarm.height() / 2.0).max(7.0));
            scene.line(at(x, middle - half), at(x, middle + half), Tone::Ink, 2.0);
        }
        for (&member, (x, off)) in row.members.iter().zip(&swarm.places) {
            let (form, tone) = match member == self.largest {
                true => (Form::Diamond, Tone::Struck),
                false => look(self.view.residuals[member].state),
            };
            scene.mark(at(*x, middle + off), form, tone, MARK);
        }
    }
}

/// The marks of a row, moved up and down so that they lie beside each other.
struct Swarm {
    /// The x pixel of each mark, and its distance below the middle.
    places: Vec<(f64, f64)>,
}

impl Swarm {
    fn of(pixels: impl Iterator<Item = f64>) -> Self {
        let pixels: Vec<f64> = pixels.collect();
        // Columns are as wide as marks, so marks in neighbouring columns can still touch.
        let column = |x: f64| (x / MARK).floor() as i64;
        let mut counts: BTreeMap<i64, usize> = BTreeMap::new();
        let steps: Vec<usize> = pixels
            .iter()
            .map(|&x| {
                let count = counts.entry(column(x)).or_default();
                *count += 1;
                *count - 1
            })
            .collect();
        let most = counts.values().max().copied().unwrap_or(1) as f64;
        let pitch = MARK.min((TALLEST - MARK) / (most - 1.0).max(1.0));
        let off = |step: usize| {
            let away = step.div_ceil(2) as f64 * pitch;
            if step % 2 == 1 { -away } else { away }
        };
        Self { places: pixels.into_iter().zip(steps).map(|(x, step)| (x, off(step))).collect() }
    }

    fn height(&self) -> f64 {
        let most = self.places.iter().map(|(_, off)| off.abs()).fold(0.0, f64::max);
        2.0 * most + 1.25 * MARK
    }
}
