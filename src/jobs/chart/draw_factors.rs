//! `factors`: every paper's thread factor with its ranges, below the nominal ranges for its
//! hardness.

use super::answer_factors::{FactorRow, FactorsFinding, FactorsView};
use super::draw_states::sign;
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::columns::Column;
use crate::draw::layout::{LINE, Label, Look, MARGIN, Side, Sign, strip};
use crate::draw::palette::Tone;
use crate::draw::rows::{Row, Rows};
use crate::draw::scene::{Anchor, Area, Form, Scene, at};
use crate::jobs::beliefs::text_grounds::untried_line;
use crate::model::mixed::Ranges;
use crate::terminal::number::plural;
use crate::trade::State;

/// The least height of a row.
const ROW: f64 = 36.0;
/// The largest share of the width for the numbers of trials.
const NUMBERS: f64 = 0.2;
const GAP: f64 = 10.0;
const SIGNS: [Sign; 4] = [
    sign(State::Sewn),
    sign(State::Knocked),
    Sign { look: Look::Strip(Tone::After), words: "90 % range, the thick part 50 %" },
    Sign { look: Look::Strip(Tone::AfterPale), words: "pale: never tried" },
];

enum Line<'v> {
    Nominal(&'v [Ranges; 2]),
    Paper(&'v FactorRow),
}

pub fn factors(view: &FactorsView, width: f64) -> Chart {
    if view.rows.is_empty() {
        return Chart::without_plot(title(view), width, caption(view));
    }
    let mut scene = Scene::new(width);
    let (lines, names, trials) = lines(view);
    let names = Column::labels(names.into_iter(), width);
    let trials = Column::new("trials", Anchor::End, trials.into_iter(), NUMBERS * width);
    let (left, right) = (MARGIN + names.width + GAP, width - MARGIN - trials.width - GAP);
    let axis = Axis::over(extremes(view), left, right);
    let row = |(index, line): (usize, &Line<'_>)| Row {
        height: (names.height_of(index) + LINE / 2.0).max(ROW),
        begins: matches!(line, Line::Nominal(_)) || !matches!(lines[index - 1], Line::Nominal(_)),
    };
    let rows = Rows::new(lines.iter().enumerate().map(row), LINE);
    rows.draw_scale(&mut scene, &axis, "thread factor: the share of the laid diameter that shows");
    trials.draw(&mut scene, right + GAP, &rows.middles);
    for (index, (line, &middle)) in lines.iter().zip(&rows.middles).enumerate() {
        names.draw_cell(&mut scene, index, at(left - GAP, middle), Tone::Ink);
        match line {
            Line::Nominal(factors) => nominal(&mut scene, &axis, factors, middle),
            Line::Paper(paper) => ranges(&mut scene, &axis, paper, middle),
        }
    }
    let with_labels = labelled(&scene, &axis, &lines, &rows);
    let signs = if with_labels.is_some() { &SIGNS[2..] } else { &SIGNS[..] };
    Chart::new(title(view), signs, with_labels.unwrap_or(scene), caption(view))
}

/// The rows, with the text on their left and right.
fn lines(view: &FactorsView) -> (Vec<Line<'_>>, Vec<String>, Vec<String>) {
    let (mut lines, mut names, mut trials) = (Vec::new(), Vec::new(), Vec::new());
    for (hardness, factors) in &view.nominal {
        lines.push(Line::Nominal(factors));
        names.push(format!("{hardness}, nominal"));
        trials.push(String::new());
        for row in view.rows.iter().filter(|row| row.hardness == *hardness) {
            lines.push(Line::Paper(row));
            names.push(row.paper.clone());
            trials.push(row.trials.to_string());
        }
    }
    (lines, names, trials)
}

/// The height, mark and tones of the two states in a row; the second tone is for untried papers.
fn places(middle: f64) -> [(f64, Form, [Tone; 2]); 2] {
    [
        (middle - 8.0, Form::Ring, [Tone::Before, Tone::BeforePale]),
        (middle + 8.0, Form::Disc, [Tone::After, Tone::AfterPale]),
    ]
}

fn extremes(view: &FactorsView) -> impl Iterator<Item = f64> + '_ {
    let own = view.rows.iter().flat_map(|row| &row.factors);
    let nominal = view.nominal.iter().flat_map(|(_, factors)| factors);
    own.chain(nominal).flat_map(|factor| [factor.q05, factor.q95])
}

fn nominal(scene: &mut Scene, axis: &Axis, factors: &[Ranges; 2], middle: f64) {
    for (factor, (y, form, _)) in factors.iter().zip(places(middle)) {
        let [left, x, right] = [factor.q05, factor.q50, factor.q95].map(|it| axis.pixel(it));
        scene.fill(Area::bar(left, right, y, 6.0), Tone::Nominal);
        scene.mark(at(x, y), form, Tone::Quiet, 8.0);
    }
}

fn ranges(scene: &mut Scene, axis: &Axis, row: &FactorRow, middle: f64) {
    for (factor, (y, form, [tone, pale])) in row.factors.iter().zip(places(middle)) {
        let bar = if row.trials == 0 { pale } else { tone };
        let ends = [factor.q05, factor.q25, factor.q75, factor.q95].map(|it| axis.pixel(it));
        strip(scene, ends, y, bar);
        scene.mark(at(axis.pixel(factor.q50), y), form, tone, 10.0);
    }
}

/// The scene with the two states named beside the first paper; `None` if they do not fit.
fn labelled(scene: &Scene, axis: &Axis, lines: &[Line<'_>], rows: &Rows) -> Option<Scene> {
    let (left, right) = axis.pixels();
    let mut scene = scene.clone();
    let first = lines.iter().zip(&rows.middles).find_map(|(line, &middle)| match line {
        Line::Paper(row) => Some((row, middle)),
        Line::Nominal(_) => None,
    });
    let (row, middle) = first?;
    let within = Area { left, right, top: 0.0, bottom: scene.height };
    for ((factor, (y, ..)), sign) in row.factors.iter().zip(places(middle)).zip(&SIGNS) {
        let [left, right] = [factor.q05, factor.q95].map(|it| axis.pixel(it));
        let named = Area::bar(left, right, y, 5.0);
        let label = Label { words: sign.words, tone: Tone::Ink, named, within };
        label.draw(&mut scene, &[Side::Right, Side::Left]).then_some(())?;
    }
    Some(scene)
}

/// The factor after knocking down, as text.
fn figure(row: &FactorRow) -> String {
    format!("{:.2}", row.knocked().q50)
}

fn title(view: &FactorsView) -> String {
    match view.finding() {
        FactorsFinding::NoPaper => "No paper in the book yet".to_owned(),
        FactorsFinding::NothingTried => "No paper has been tried yet".to_owned(),
        FactorsFinding::One(row) if row.trials == 1 => {
            format!("One trial so far, of {}: about {} of the thread shows", row.paper, figure(row))
        }
        FactorsFinding::One(row) => {
            format!("{}: about {} of the thread shows", row.paper, figure(row))
        }
        FactorsFinding::Apart { least, most } => format!(
            "More of the thread shows in {} ({}) than in {} ({})",
            most.paper,
            figure(most),
            least.paper,
            figure(least)
        ),
        FactorsFinding::Overlapping { .. } => {
            "The papers tried cannot be told apart yet: their ranges overlap".to_owned()
        }
    }
}

fn caption(view: &FactorsView) -> String {
    let first = match view.finding() {
        FactorsFinding::NoPaper => return "The book holds no paper yet.".to_owned(),
        FactorsFinding::NothingTried => return untried_line(&view.grounds),
        FactorsFinding::One(row) => format!(
            "{}: {} of the thread's laid diameter shows at the spine once it is knocked down (90 % \
             range {:.2} to {:.2}).",
            row.paper,
            figure(row),
            row.knocked().q05,
            row.knocked().q95
        ),
        FactorsFinding::Apart { least, most } | FactorsFinding::Overlapping { least, most } => {
            format!(
                "Knocked down, {} lets the least of the thread show ({} of its laid diameter) and \
                 {} the most ({}).",
                least.paper,
                figure(least),
                most.paper,
                figure(most)
            )
        }
    };
    let untried = match view.untried() {
        0 => String::new(),
        1 => " 1 paper was never tried; its bars are pale.".to_owned(),
        count => format!(" {count} papers were never tried; their bars are pale."),
    };
    format!(
        "{first} Based on {}.{untried} The broad bars above each group are nominal: the 90 % range \
         of any paper of that hardness before a trial.",
        plural(view.trials, "trial")
    )
}
