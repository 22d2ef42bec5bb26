//! `knockdown`: every block as sewn, joined to its values after knocking down and pressing.

use super::answer_knockdown::{
    BlockSet, KnockdownView, Measure, PaperSteps, StepPoint, TrialSteps,
};
use super::draw_knockdown_words::{caption, figure, title};
use super::draw_states::{look, sign};
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::columns::Column;
use crate::draw::layout::{LABELS, LINE, Label, Look, MARGIN, Side, Sign, strip};
use crate::draw::palette::Tone;
use crate::draw::rows::{Row, Rows};
use crate::draw::scene::{Anchor, Area, Point, Scene, at};
use crate::model::mixed::Ranges;
use crate::terminal::screen::Signs;
use crate::terminal::words::cut;
use crate::trade::{Hardness, State, extremes};

/// The height of one block's row.
const ROW: f64 = 16.0;
/// The least height of a row that heads others.
const HEADING: f64 = 26.0;
const GAP: f64 = 10.0;
/// Letters of a block's name that fit on one line.
const LETTERS: usize = 12;
/// Blocks of a paper that share a row in a long chart.
const SHARING: usize = 12;
/// The height of a row of several blocks, and the distance of its two states from its middle.
const LANES: (f64, f64) = (26.0, 6.0);
const SIGNS: [Sign; 6] = [
    sign(State::Sewn),
    sign(State::Knocked),
    sign(State::Pressed),
    sign(State::KnockedPressed),
    Sign { look: Look::Strip(Tone::After), words: "fitted: 90 % range, the thick part 50 %" },
    Sign { look: Look::Patch(Tone::AfterPale), words: "pale: fitted, 90 % range" },
];

enum Line<'v> {
    Hardness(Hardness),
    Heading(&'v PaperSteps, &'v BlockSet),
    Block(&'v TrialSteps),
    /// Several blocks in one row: the first blocks of the set, or later ones.
    Together(&'v PaperSteps, &'v BlockSet, &'v [TrialSteps]),
}

pub fn knockdown(view: &KnockdownView, width: f64) -> Chart {
    if view.papers.is_empty() {
        return Chart::without_plot(title(view), width, caption(view));
    }
    let mut scene = Scene::new(width);
    let lines = lines(view);
    let names = Column::labels(lines.iter().map(Line::name), width);
    let taken = lines.iter().map(|line| line.taken_out(view.measure));
    let taken = Column::new("taken out", Anchor::End, taken, LABELS * width);
    let (left, right) = (MARGIN + names.width + GAP, width - MARGIN - taken.width - GAP);
    let axis = Axis::over(values(view).chain(room_for_names(view)), left, right);
    let row = |(index, line): (usize, &Line<'_>)| match line {
        Line::Block(_) => Row { height: ROW, begins: false },
        Line::Together(..) => Row {
            height: (names.height_of(index) + 4.0).max(LANES.0),
            begins: line.begun().is_some() && !matches!(lines[index - 1], Line::Hardness(_)),
        },
        Line::Hardness(_) | Line::Heading(..) => Row {
            height: (names.height_of(index) + 4.0).max(HEADING),
            begins: index == 0 || !matches!(lines[index - 1], Line::Hardness(_)),
        },
    };
    let rows = Rows::new(lines.iter().enumerate().map(row), LINE);
    rows.draw_scale(
        &mut scene,
        &axis,
        match view.measure {
            Measure::Factor => "thread factor: the share of the laid diameter that shows",
            Measure::Percent => "swell, % of the fore-edge",
        },
    );
    let tone = |index: usize| match lines[index] {
        Line::Heading(..) | Line::Together(..) => Tone::Ink,
        Line::Hardness(_) | Line::Block(_) => Tone::Quiet,
    };
    names.draw_in(&mut scene, MARGIN, &rows.middles, &tone);
    taken.draw(&mut scene, right + GAP, &rows.middles);
    for (line, &middle) in lines.iter().zip(&rows.middles) {
        match line {
            Line::Hardness(_) => {}
            Line::Heading(_, set) => fitted(&mut scene, &axis, set.fitted, middle),
            Line::Block(trial) => steps(&mut scene, &axis, trial, [middle; 2]),
            Line::Together(_, set, blocks) => together(&mut scene, &axis, set, blocks, middle),
        }
    }
    let with_labels = labelled(&scene, &axis, &lines, &rows);
    let signs = if with_labels.is_some() { &SIGNS[2..] } else { &SIGNS[..] };
    Chart::new(title(view), signs, with_labels.unwrap_or(scene), caption(view))
}

/// A row for every hardness, below it its papers, and below each paper its blocks.
fn lines(view: &KnockdownView) -> Vec<Line<'_>> {
    let mut lines = Vec::new();
    let mut last = None;
    for paper in &view.papers {
        if last != Some(paper.hardness) {
            lines.push(Line::Hardness(paper.hardness));
            last = Some(paper.hardness);
        }
        for set in &paper.sets {
            if view.is_long() {
                let rows = set.trials.chunks(SHARING);
                lines.extend(rows.map(|blocks| Line::Together(paper, set, blocks)));
            } else {
                lines.push(Line::Heading(paper, set));
                lines.extend(set.trials.iter().map(Line::Block));
            }
        }
    }
    lines
}

impl Line<'_> {
    fn begun(&self) -> Option<(&PaperSteps, &BlockSet)> {
        match self {
            Self::Heading(paper, set) => Some((paper, set)),
            Self::Together(paper, set, blocks) => {
                (set.trials.first() == blocks.first()).then_some((*paper, *set))
            }
            Self::Hardness(_) | Self::Block(_) => None,
        }
    }

    fn name(&self) -> String {
        match (self, self.begun()) {
            (Self::Hardness(hardness), _) => format!("{hardness} paper"),
            (Self::Block(trial), _) => cut(&trial.trial, LETTERS, Signs::Bars),
            (_, Some((paper, BlockSet { boned: true, .. }))) => format!("{}, boned", paper.paper),
            (_, Some((paper, _))) => paper.paper.clone(),
            (_, None) => String::new(),
        }
    }

    /// What knocking down takes out of the paper; only on the first of its rows.
    fn taken_out(&self, measure: Measure) -> String {
        let first = self.begun().filter(|(paper, set)| paper.sets.first() == Some(*set));
        let taken = first.and_then(|(paper, _)| paper.taken_out);
        taken.map_or_else(String::new, |taken| figure(taken.middle, measure))
    }
}

fn values(view: &KnockdownView) -> impl Iterator<Item = f64> + '_ {
    view.papers.iter().flat_map(|paper| &paper.sets).flat_map(|set| {
        let points = set.trials.iter().flat_map(|trial| &trial.points).map(|point| point.value);
        let bars = set.fitted.iter().flatten().flat_map(|fit| [fit.q05, fit.q95]);
        points.chain(bars)
    })
}

/// In a long chart, an extra value left of all others: it makes room to name the leftmost block.
fn room_for_names(view: &KnockdownView) -> Option<f64> {
    const ROOM: f64 = 0.15;
    let (low, high) = extremes(values(view))?;
    view.is_long().then_some(low - ROOM * (high - low))
}

/// Draws the paper's fitted factors, one bar above the other.
fn fitted(scene: &mut Scene, axis: &Axis, fitted: Option<[Ranges; 2]>, middle: f64) {
    let places = [(middle - 4.0, Tone::Before), (middle + 4.0, Tone::After)];
    for (factor, (y, tone)) in fitted.into_iter().flatten().zip(places) {
        let ends = [factor.q05, factor.q25, factor.q75, factor.q95].map(|it| axis.pixel(it));
        strip(scene, ends, y, tone);
    }
}

/// Draws several blocks over the fitted ranges: states before knocking down above, states after it
/// below.
fn together(scene: &mut Scene, axis: &Axis, set: &BlockSet, blocks: &[TrialSteps], middle: f64) {
    let heights = [middle - LANES.1, middle + LANES.1];
    let tones = [Tone::BeforePale, Tone::AfterPale];
    for (factor, (y, tone)) in set.fitted.iter().flatten().zip(heights.into_iter().zip(tones)) {
        let (left, right) = (axis.pixel(factor.q05), axis.pixel(factor.q95));
        scene.fill(Area::bar(left, right, y, 5.0), tone);
    }
    for trial in blocks {
        steps(scene, axis, trial, heights);
    }
    let (left, right) = axis.pixels();
    let within = Area::bar(left, right, middle, LANES.0 / 2.0);
    for trial in blocks.iter().filter(|trial| set.is_out(trial)) {
        let knocked = trial.points.iter().find(|point| point.state == State::Knocked);
        let Some(point) = knocked else { continue };
        let named = Area::around(at(axis.pixel(point.value), heights[1]), 5.0);
        let name = cut(&trial.trial, LETTERS, Signs::Bars);
        let label = Label { words: &name, tone: Tone::Ink, named, within };
        label.draw(scene, &[Side::Left, Side::Right]);
    }
}

/// Draws one block, its states joined by a line. `heights` are those before and after knocking
/// down.
fn steps(scene: &mut Scene, axis: &Axis, trial: &TrialSteps, heights: [f64; 2]) {
    let place = |point: &StepPoint| {
        at(axis.pixel(point.value), heights[usize::from(point.state.is_knocked())])
    };
    let width = if heights[0] < heights[1] { 1.0 } else { 1.5 };
    for pair in trial.points.windows(2) {
        scene.line(place(&pair[0]), place(&pair[1]), Tone::Quiet, width);
    }
    for point in &trial.points {
        let (form, tone) = look(point.state);
        scene.mark(place(point), form, tone, 9.0);
    }
}

/// The scene with the two states named beside the first block with room for both words; `None`
/// without such a block.
fn labelled(scene: &Scene, axis: &Axis, lines: &[Line<'_>], rows: &Rows) -> Option<Scene> {
    lines.iter().zip(&rows.middles).find_map(|(line, &y)| {
        let Line::Block(trial) = line else { return None };
        let of = |state| trial.points.iter().find(|point| point.state == state);
        let values = [of(State::Sewn)?.value, of(State::Knocked)?.value];
        named(scene, axis, values.map(|value| at(axis.pixel(value), y)))
    })
}

/// The scene with a label on the outer side of each of a block's two marks; `None` if there is no
/// room.
fn named(scene: &Scene, axis: &Axis, places: [Point; 2]) -> Option<Scene> {
    let (left, right) = axis.pixels();
    let within = Area { left, right, top: 0.0, bottom: scene.height };
    let is_left = places[0].x < places[1].x;
    let sides = if is_left { [Side::Left, Side::Right] } else { [Side::Right, Side::Left] };
    let mut scene = scene.clone();
    for ((place, sign), side) in places.into_iter().zip(&SIGNS).zip(sides) {
        let named = Area::around(place, 5.0);
        let label = Label { words: sign.words, tone: Tone::Ink, named, within };
        label.draw(&mut scene, &[side]).then_some(())?;
    }
    Some(scene)
}
