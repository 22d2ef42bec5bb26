//! `plan`: the best ways to sew a book, as ranges against the wanted swell. Columns beside the
//! ranges give the figures to choose by; on a phone they are above and below each range.

use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::columns::Column;
use crate::draw::layout::{HAIR, LINE, Label, Look, MARGIN, NUMBERS, Side, Sign, WORDS, lines};
use crate::draw::palette::Tone;
use crate::draw::scene::{Anchor, Area, Form, Scene, at, style};
use crate::draw::type_face;
use crate::jobs::forecast::text_beyond::beyond_line;
use crate::jobs::plan::answer::Choice;
use crate::jobs::plan::answer_view::ChoicesView;
use crate::jobs::plan_spec::text::{band_words, sewer_sentence};
use crate::jobs::plan_spec::text_way::{blank, caution_words, note_numbers, sewn, way_words};
use crate::terminal::number::{plural, thread_figure, thread_length};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::words::percent_figures;
use crate::trade::Caution;
use crate::units::LengthUnit;

/// The least height of a row.
const ROW: f64 = 30.0;
/// The height of a bar's band in a stacked chart.
const STRETCH: f64 = 22.0;
/// Space between columns, and between ways in a stacked chart.
const GAP: f64 = 14.0;
/// Below this width the chart is stacked: words are above and below each bar.
const BESIDE: f64 = 640.0;
/// The largest share of the width for a column of words.
const WIDEST: f64 = 0.17;
const AXIS: &str = "swell, % of the fore-edge";
const SIGNS: [Sign; 3] = [
    Sign { look: Look::Mark(Form::Disc, Tone::After), words: "the middle" },
    Sign { look: Look::Stroke(Tone::After), words: "90 % range" },
    Sign { look: Look::Patch(Tone::Target), words: "the target" },
];

pub fn plan(view: &ChoicesView, unit: LengthUnit, width: f64) -> Chart {
    if view.best.is_empty() {
        return Chart::without_plot(title(view), width, caption(view, unit));
    }
    let lay = if width < BESIDE { stacked } else { beside };
    let scene = lay(view, unit, width);
    let is_named = scene.says(&wanted(view));
    let signs = &SIGNS[..SIGNS.len() - usize::from(is_named)];
    Chart::new(title(view), signs, scene, caption(view, unit))
}

fn wanted(view: &ChoicesView) -> String {
    band_words(&view.question.target)
}

fn middle(row: &Choice) -> String {
    let [_, middle, _] = percent_figures(row.percent.each());
    middle
}

/// `20 × 5`.
fn sections(row: &Choice) -> String {
    let sewing = row.way.sewing;
    format!("{} × {}", sewing.sections(), sewing.sheets())
}

/// The columns to the left and right of the bars, without those that have no text.
fn columns(view: &ChoicesView, unit: LengthUnit, width: f64) -> [Vec<Column>; 2] {
    let most = WIDEST * width;
    let column = |head, anchor, of: &dyn Fn(&Choice) -> String| {
        let cells: Vec<String> = view.best.iter().map(of).collect();
        let is_used = cells.iter().any(|cell| !cell.is_empty());
        is_used.then(|| Column::new(head, anchor, cells.into_iter(), most))
    };
    let left = [
        column("thread", Anchor::Start, &|row| row.way.thread.name.to_string()),
        column("sections", Anchor::Start, &sections),
        column("sewn", Anchor::Start, &|row| sewn(&row.way)),
    ];
    let cautions = view.noted();
    let thread = if unit.is_of_inches() { "thread, yd" } else { "thread, m" };
    let right = [
        column("odds", Anchor::End, &|row| chance_in_figures(row.chance)),
        column("swell, %", Anchor::End, &middle),
        column("blank", Anchor::End, &|row| blank(row.way.blank_leaves)),
        column(thread, Anchor::End, &|row| thread_figure(row.thread, unit)),
        column("notes", Anchor::End, &|row| note_numbers(row, &cautions)),
    ];
    [left.into_iter().flatten().collect(), right.into_iter().flatten().collect()]
}

/// Draws the bars between the columns; every row is as high as the highest.
fn beside(view: &ChoicesView, unit: LengthUnit, width: f64) -> Scene {
    let mut scene = Scene::new(width);
    let [before, after] = columns(view, unit, width);
    let room = |columns: &[Column]| columns.iter().map(|column| column.width + GAP).sum::<f64>();
    let (left, right) = (MARGIN + room(&before), width - MARGIN - room(&after));
    let axis = Axis::over(extremes(view), left, right);
    let heights = before.iter().chain(&after).map(Column::height);
    let height = heights.fold(0.0, f64::max) + LINE / 2.0;
    let height = height.max(ROW);
    let top = LINE / 2.0 + 8.0;
    let middles: Vec<f64> =
        (0..view.best.len()).map(|row| top + height * (row as f64 + 0.5)).collect();
    let bottom = top + height * view.best.len() as f64;
    band(&mut scene, view, &axis, top, bottom);
    axis.draw_across(&mut scene, top, bottom, AXIS);
    let mut x = MARGIN;
    for column in &before {
        column.draw(&mut scene, x, &middles);
        x += column.width + GAP;
    }
    x = right;
    for column in &after {
        column.draw(&mut scene, x + GAP, &middles);
        x += column.width + GAP;
    }
    for (row, &middle) in view.best.iter().zip(&middles) {
        bar(&mut scene, &axis, row, middle);
    }
    if view.among_best() > 0 {
        border(&mut scene, top + height * view.among_best() as f64);
    }
    let [low, high] = view.question.target.bounds().map(|x| axis.pixel(x));
    let named = Area { left: low, right: high, top, bottom: top };
    let within = Area { left: MARGIN, right: width - MARGIN, top: 0.0, bottom: top };
    let label = Label { words: &wanted(view), tone: Tone::Quiet, named, within };
    label.draw(&mut scene, &[Side::Above]);
    scene
}

/// Draws each bar over the whole width, with words above and below it.
fn stacked(view: &ChoicesView, unit: LengthUnit, width: f64) -> Scene {
    let mut scene = Scene::new(width);
    let axis = Axis::over(extremes(view), MARGIN, width - MARGIN);
    let odds: Vec<String> = view.best.iter().map(|row| chance_in_figures(row.chance)).collect();
    let room = odds.iter().map(|odds| type_face::width(odds, WORDS)).fold(0.0, f64::max);
    let most = width - 2.0 * MARGIN - room - GAP;
    let names: Vec<Vec<String>> =
        view.best.iter().map(|row| type_face::lines(&name(row), WORDS, most)).collect();
    let cautions = view.noted();
    let below =
        |row| type_face::lines(&figures(row, &cautions, unit), NUMBERS, width - 2.0 * MARGIN);
    let below: Vec<Vec<String>> = view.best.iter().map(below).collect();
    let most_lines =
        |lines: &[Vec<String>]| LINE * lines.iter().map(Vec::len).max().unwrap_or(1) as f64;
    let (above, under) = (most_lines(&names), most_lines(&below));
    let mut y = 0.0;
    for (index, row) in view.best.iter().enumerate() {
        let begin = y + above - LINE * names[index].len() as f64;
        lines(&mut scene, &names[index], at(MARGIN, begin), style(WORDS, Tone::Ink));
        let place = at(width - MARGIN, begin + LINE / 2.0);
        scene.text(place, odds[index].as_str(), style(WORDS, Tone::Ink), Anchor::End);
        let (top, bottom) = (y + above, y + above + STRETCH);
        band(&mut scene, view, &axis, top, bottom);
        axis.draw_lines(&mut scene, top, bottom);
        bar(&mut scene, &axis, row, (top + bottom) / 2.0);
        lines(&mut scene, &below[index], at(MARGIN, bottom), style(NUMBERS, Tone::Quiet));
        y = bottom + under + GAP;
        if index + 1 == view.among_best() {
            border(&mut scene, y - GAP / 2.0);
        }
    }
    axis.draw_across(&mut scene, y, y + 1.0, AXIS);
    scene
}

/// `flax 18/3 · 20 × 5 sheets · all along, boned`.
fn name(row: &Choice) -> String {
    format!("{} · {} sheets · {}", row.way.thread.name, sections(row), sewn(&row.way))
}

fn figures(row: &Choice, all: &[Caution], unit: LengthUnit) -> String {
    let [low, middle, high] = percent_figures(row.percent.each());
    let mut parts = vec![
        format!("swell {middle} % ({low} to {high})"),
        format!("{} of thread", thread_length(row.thread, unit)),
    ];
    parts.extend((row.way.blank_leaves > 0).then(|| format!("{} blank", row.way.blank_leaves)));
    let notes = note_numbers(row, all);
    parts.extend((!notes.is_empty()).then(|| format!("note {notes}")));
    parts.join(" · ")
}

fn extremes(view: &ChoicesView) -> impl Iterator<Item = f64> + '_ {
    let ranges = view.best.iter().flat_map(|row| [row.percent.q05, row.percent.q95]);
    ranges.chain(view.question.target.bounds())
}

fn band(scene: &mut Scene, view: &ChoicesView, axis: &Axis, top: f64, bottom: f64) {
    let [left, right] = view.question.target.bounds().map(|x| axis.pixel(x));
    scene.fill(Area { left, right, top, bottom }, Tone::Target);
    for x in [left, right] {
        scene.line(at(x, top), at(x, bottom), Tone::Quiet, 1.0);
    }
}

/// Draws a line below the ways with equal odds.
fn border(scene: &mut Scene, y: f64) {
    scene.line(at(MARGIN, y), at(scene.width - MARGIN, y), Tone::Quiet, HAIR);
}

fn bar(scene: &mut Scene, axis: &Axis, row: &Choice, y: f64) {
    let pixels = row.percent.each().map(|x| axis.pixel(x));
    scene.line(at(pixels[0], y), at(pixels[2], y), Tone::After, 3.0);
    scene.mark(at(pixels[1], y), Form::Disc, Tone::After, 10.0);
}

fn leaves(view: &ChoicesView) -> String {
    plural(view.question.leaves as usize, "leaf")
}

fn title(view: &ChoicesView) -> String {
    let Some(best) = view.best.first() else {
        return format!("There is nothing to choose from for {}", leaves(view));
    };
    if view.is_met {
        format!("Best: {}: odds {}", way_words(&best.way), chance_in_figures(best.chance))
    } else {
        let odds = chance_in_figures(view.most);
        format!(
            "Nothing here meets {}: the best odds are {odds}",
            band_words(&view.question.target)
        )
    }
}

fn caption(view: &ChoicesView, unit: LengthUnit) -> String {
    let asked = format!(
        "{} of {}, {}, target {}",
        leaves(view),
        view.question.paper.name,
        view.question.state.phrase(),
        band_words(&view.question.target)
    );
    let Some(named) = view.best.first() else {
        return format!("{asked}: there is nothing to choose from.");
    };
    let [low, middle, high] = percent_figures(named.percent.each());
    let (way, odds) = (way_words(&named.way), chance_in_figures);
    let verdict = if view.is_met {
        format!("Best is {way}, odds {}", odds(named.chance))
    } else {
        let best = odds(view.most);
        format!("Nothing here meets it: the best odds are {best}. The nearest is {way}")
    };
    let equal = match view.among_best() {
        0 | 1 => String::new(),
        equal => format!(
            " The first {equal}, above the line, have equal odds as far as the model can tell; the \
             plainest of them comes first."
        ),
    };
    let order = if view.is_met { "best" } else { "nearest" };
    let sewer = sewer_sentence(view.sewer.as_ref());
    let notes = view.noted().into_iter().enumerate().fold(String::new(), |text, (at, note)| {
        format!("{text} Note {}: {}.", at + 1, caution_words(note, unit))
    });
    format!(
        "{asked}.{sewer} {verdict}: swell {middle} %, 90 % range {low} to {high} %. The chart shows \
         the {order} {} of {}.{equal}{notes}{}",
        view.best.len(),
        plural(view.considered, "combination"),
        beyond_line(if view.is_met { "The best" } else { "The nearest" }, &named.beyond, unit)
            .map_or_else(String::new, |line| format!(" {line}"))
    )
}
