//! `swell`: the swell of a paper by the number of sections, in a panel for each thread.

use super::answer_swell::{CurvePoint, SwellPoint, SwellView, ThreadCurve};
use super::draw_swell_words::{caption, details, title};
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::layout::{HAIR, LINE, Look, MARGIN, NUMBERS, Sign, WORDS};
use crate::draw::palette::Tone;
use crate::draw::scene::{Anchor, Area, Form, Point, Scene, Style, at, style};
use crate::draw::type_face;
use crate::jobs::plan_spec::answer_band::Band;
use crate::terminal::number::{ranged_length, rounded};
use crate::trade::extremes;
use crate::units::LengthUnit;

/// Room on the left for numbers and their labels.
const LEFT: f64 = 74.0;
/// Room on the right for the target.
const RIGHT: f64 = 56.0;
/// Space between two panels.
const GAP: f64 = 22.0;
/// The least width of panels that are side by side.
const NARROWEST: f64 = 160.0;
const HEIGHT: f64 = 250.0;
/// The height of a row of numbers.
const ROW: f64 = 17.0;
const SIGNS: [Sign; 5] = [
    Sign { look: Look::Stroke(Tone::After), words: "the middle" },
    Sign { look: Look::Dashes(Tone::After), words: "far beyond your trials" },
    Sign { look: Look::Patch(Tone::AfterPale), words: "90 % range" },
    Sign { look: Look::Mark(Form::Disc, Tone::Ink), words: "a trial sewn this way" },
    Sign { look: Look::Mark(Form::Ring, Tone::Quiet), words: "a trial sewn another way" },
];

struct Frame<'v> {
    view: &'v SwellView,
    unit: LengthUnit,
    /// The least and the most swell of the plot in per cent.
    ends: (f64, f64),
    /// The x pixels between which the panels lie, and the width of one panel.
    left: f64,
    right: f64,
    wide: f64,
}

struct Panel<'f> {
    frame: &'f Frame<'f>,
    curve: &'f ThreadCurve,
    across: Axis,
    up: Axis,
    area: Area,
}

pub fn swell(view: &SwellView, unit: LengthUnit, width: f64) -> Chart {
    let mut scene = Scene::new(width);
    let room = if view.target.is_some() { RIGHT } else { 0.0 };
    let (left, right) = (MARGIN + LEFT, width - MARGIN - room);
    let columns = columns(view.threads.len(), right - left);
    let wide = (right - left - GAP * (columns as f64 - 1.0)) / columns as f64;
    let frame = Frame { view, unit, ends: ends(view), left, right, wide };
    let words = "swell, % of the fore-edge";
    scene.text(at(MARGIN, LINE / 2.0), words, style(NUMBERS, Tone::Ink), Anchor::Start);
    scene.height = LINE + 4.0;
    view.threads.chunks(columns).for_each(|curves| frame.row(&mut scene, curves));
    Chart::new(title(view), &SIGNS, scene, caption(view, &outside(view)))
}

/// Panels per row: as many as fit, with rows of about equal length.
fn columns(panels: usize, room: f64) -> usize {
    let most = (((room + GAP) / (NARROWEST + GAP)) as usize).max(1);
    let rows = panels.div_ceil(most).max(1);
    panels.div_ceil(rows).max(1)
}

/// The least and the most swell that is predicted or wanted.
fn span(view: &SwellView) -> (f64, f64) {
    let points = view.threads.iter().flat_map(|curve| &curve.points);
    let bands = points.flat_map(|point| [point.percent.q05, point.percent.q95]);
    let target = view.target.iter().flat_map(Band::bounds);
    extremes(bands.chain(target)).unwrap_or_default()
}

/// The range in which a trial is drawn in its place. Its limits keep a slip from squeezing
/// everything else together.
fn farthest(view: &SwellView) -> (f64, f64) {
    let (low, high) = span(view);
    let room = 0.5 * (high - low);
    (low - room, high + room)
}

fn ends(view: &SwellView) -> (f64, f64) {
    let ((low, high), (least, most)) = (span(view), farthest(view));
    let drawn = trials(view).map(|trial| trial.percent.clamp(least, most));
    extremes(drawn.chain([low, high])).unwrap_or((low, high))
}

fn trials(view: &SwellView) -> impl Iterator<Item = &SwellPoint> {
    view.threads.iter().flat_map(|curve| &curve.trials)
}

/// The trials outside the range in which they are drawn in place.
fn outside(view: &SwellView) -> Vec<&SwellPoint> {
    let (least, most) = farthest(view);
    trials(view).filter(|trial| !(least..=most).contains(&trial.percent)).collect()
}

impl Frame<'_> {
    /// Draws a row of panels below the existing ones, with the shared labels on both sides.
    fn row(&self, scene: &mut Scene, curves: &[ThreadCurve]) {
        let heads: Vec<Vec<(String, Style)>> =
            curves.iter().map(|curve| self.head(curve)).collect();
        let lines = heads.iter().map(Vec::len).max().unwrap_or(0);
        let top = scene.height + LINE * lines as f64 + 4.0;
        let bottom = top + HEIGHT;
        for (index, (curve, head)) in curves.iter().zip(heads).enumerate() {
            let left = self.left + index as f64 * (self.wide + GAP);
            let first = top - 4.0 - LINE * head.len() as f64;
            for (line, (words, style)) in head.into_iter().enumerate() {
                let y = first + LINE * (line as f64 + 0.5);
                scene.text(at(left, y), words, style, Anchor::Start);
            }
            let area = Area { left, right: left + self.wide, top, bottom };
            Panel::new(self, curve, area).draw(scene, index == 0);
        }
        let last = self.left + curves.len() as f64 * (self.wide + GAP) - GAP;
        self.name_target(scene, last.min(self.right) + 6.0, top, bottom);
        for (row, words) in ["sections", &self.unit.to_string()].into_iter().enumerate() {
            let y = bottom + 14.0 + ROW * row as f64;
            scene.text(at(self.left - 12.0, y), words, style(NUMBERS, Tone::Ink), Anchor::End);
        }
        scene.height = bottom + 14.0 + 2.0 * ROW + 8.0;
    }

    fn head(&self, curve: &ThreadCurve) -> Vec<(String, Style)> {
        let lines = |words: &str, style: Style| -> Vec<(String, Style)> {
            let lines = type_face::lines(words, style.size, self.wide);
            lines.into_iter().map(|line| (line, style)).collect()
        };
        let mut all = lines(&curve.thread, style(WORDS, Tone::Ink));
        all.extend(lines(&details(curve, self.unit), style(NUMBERS, Tone::Quiet)));
        all
    }

    fn up(&self, top: f64, bottom: f64) -> Axis {
        Axis::over([self.ends.0, self.ends.1], bottom, top)
    }

    /// Labels the target band, with its bounds if there is room.
    fn name_target(&self, scene: &mut Scene, x: f64, top: f64, bottom: f64) {
        let Some(target) = &self.view.target else { return };
        let up = self.up(top, bottom);
        let (high, low) = (up.pixel(target.high_percent), up.pixel(target.low_percent));
        let mut name = |y: f64, words: String| {
            scene.text(at(x, y), words, style(NUMBERS, Tone::Quiet), Anchor::Start);
        };
        name((high + low) / 2.0, "target".to_owned());
        if low - high >= 2.0 * LINE {
            for (y, bound) in [(high, target.high_percent), (low, target.low_percent)] {
                let decimals = usize::from(bound.fract() != 0.0);
                name(y, format!("{} %", rounded(bound, decimals)));
            }
        }
    }
}

impl<'f> Panel<'f> {
    fn new(frame: &'f Frame<'f>, curve: &'f ThreadCurve, area: Area) -> Self {
        let sections = curve.points.iter().map(|point| f64::from(point.sections));
        let across = Axis::over(sections, area.left, area.right);
        Self { frame, curve, across, up: frame.up(area.top, area.bottom), area }
    }

    fn draw(&self, scene: &mut Scene, is_first: bool) {
        let Area { left, right, top, bottom } = self.area;
        let target = self.frame.view.target.as_ref();
        let wanted = target.map(|band| [band.high_percent, band.low_percent]);
        let wanted = wanted.map(|ends| ends.map(|percent| self.up.pixel(percent)));
        if let Some([high, low]) = wanted {
            scene.fill(Area { left, right, top: high, bottom: low }, Tone::Target);
        }
        self.grid(scene, is_first);
        self.range(scene);
        for y in wanted.into_iter().flatten() {
            scene.line(at(left, y), at(right, y), Tone::Quiet, 1.0);
        }
        self.middle(scene);
        self.trials(scene);
        scene.line(at(left, bottom), at(right, bottom), Tone::Ink, 1.0);
        scene.line(at(left, top), at(left, bottom), Tone::Ink, 1.0);
    }

    fn place(&self, sections: u16, percent: f64) -> Point {
        at(self.across.pixel(f64::from(sections)), self.up.pixel(percent))
    }

    fn range(&self, scene: &mut Scene) {
        let edge = |of: fn(&CurvePoint) -> f64| -> Vec<Point> {
            let points = self.curve.points.iter();
            points.map(|point| self.place(point.sections, of(point))).collect()
        };
        let (high, low) = (edge(|point| point.percent.q95), edge(|point| point.percent.q05));
        scene.ribbon(high, low, Tone::AfterPale);
    }

    /// Round numbers of sections, as many as fit.
    fn marks(&self) -> Vec<u16> {
        /// Pixels needed by the length below a number.
        const ROOM: f64 = 46.0;
        const STEPS: [u16; 5] = [5, 10, 20, 50, 100];
        let points = &self.curve.points;
        let [first, last] =
            [points.first(), points.last()].map(|it| it.map_or(0, |it| it.sections));
        let x = |sections: u16| self.across.pixel(f64::from(sections));
        let per_section = (x(last) - x(first)) / f64::from((last - first).max(1));
        let wide = |step: &u16| f64::from(*step) * per_section >= ROOM;
        let step = STEPS.into_iter().find(wide).unwrap_or(100);
        (first.next_multiple_of(step)..=last).step_by(usize::from(step)).collect()
    }

    /// Draws hairlines, and the numbers below and on the left.
    fn grid(&self, scene: &mut Scene, is_first: bool) {
        let Area { left, right, top, bottom } = self.area;
        let style = style(NUMBERS, Tone::Quiet);
        for (mark, number) in self.up.numbers() {
            let y = self.up.pixel(mark);
            scene.line(at(left, y), at(right, y), Tone::Rule, HAIR);
            if is_first {
                scene.text(at(left - 6.0, y), number, style, Anchor::End);
            }
        }
        for sections in self.marks() {
            let x = self.across.pixel(f64::from(sections));
            scene.line(at(x, top), at(x, bottom), Tone::Rule, HAIR);
            scene.text(at(x, bottom + 14.0), sections.to_string(), style, Anchor::Middle);
            if let Some(length) = self.length(sections) {
                scene.text(at(x, bottom + 14.0 + ROW), length, style, Anchor::Middle);
            }
        }
    }

    /// The median swell for this number of sections as a length, rounded to suit the widest range.
    fn length(&self, sections: u16) -> Option<String> {
        let points = &self.curve.points;
        let found = points.iter().find(|point| point.sections == sections)?;
        let widest = points.last()?.swell_mm;
        let width = widest.q95 - widest.q05;
        Some(ranged_length(found.swell_mm.q50, width, self.frame.unit))
    }

    /// Draws the median line, dashed far beyond the trials. It uses only some points: with all of
    /// them, rounding to whole pixels would make it wobble.
    fn middle(&self, scene: &mut Scene) {
        const MOST: usize = 12;
        let points = &self.curve.points;
        let step = points.len().div_ceil(MOST).max(1);
        let first = points.len().saturating_sub(1) % step;
        let start = points.first().filter(|_| first > 0);
        let some: Vec<&CurvePoint> =
            start.into_iter().chain(points.iter().skip(first).step_by(step)).collect();
        let place = |point: &CurvePoint| self.place(point.sections, point.percent.q50);
        let is_beyond = |pair: &[&CurvePoint]| pair.iter().any(|point| point.is_beyond);
        let pairs: Vec<&[&CurvePoint]> = some.windows(2).collect();
        for run in pairs.chunk_by(|one, other| is_beyond(one) == is_beyond(other)) {
            let ends = run.iter().map(|pair| place(pair[1]));
            let points: Vec<Point> = std::iter::once(place(run[0][0])).chain(ends).collect();
            if is_beyond(run[0]) {
                scene.dashes_along(&points, Tone::After, 2.0);
            } else {
                points.windows(2).for_each(|ends| scene.line(ends[0], ends[1], Tone::After, 2.0));
            }
        }
    }

    fn trials(&self, scene: &mut Scene) {
        for trial in &self.curve.trials {
            let (form, tone) = match trial.is_alike {
                true => (Form::Disc, Tone::Ink),
                false => (Form::Ring, Tone::Quiet),
            };
            scene.mark(self.place(trial.sections, trial.percent), form, tone, 8.0);
        }
    }
}
