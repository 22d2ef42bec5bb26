//! `plan`: the best ways to sew a book as ranges against the wanted swell, the odds beside them.

use super::answer_plan::{PlanRow, PlanView};
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::layout::{LINE, Labels, Look, MARGIN, Sign, WORDS};
use crate::draw::palette::Tone;
use crate::draw::scene::{Anchor, Area, Form, Scene, at};
use crate::draw::type_face;
use crate::jobs::forecast::text_beyond::beyond_line;
use crate::jobs::plan_spec::text::band_words;
use crate::jobs::plan_spec::text_way::{sewn, way_words};
use crate::terminal::number::plural;
use crate::terminal::odds::chance_in_figures;
use crate::terminal::words::percent_figures;
use crate::units::LengthUnit;

/// The height of one way.
const ROW: f64 = 30.0;
const TITLE: &str = "The best ways to sew it, against the wanted swell";
/// What stands above the odds.
const ODDS: &str = "odds";
const SIGNS: [Sign; 3] = [
    Sign { look: Look::Mark(Form::Disc, Tone::After), words: "the middle" },
    Sign { look: Look::Stroke(Tone::After), words: "90 % range" },
    Sign { look: Look::Patch(Tone::Target), words: "the wanted swell" },
];

/// Draws the ways, best first, lengths in `unit`.
pub fn plan(view: &PlanView, unit: LengthUnit, width: f64) -> Chart {
    if view.rows.is_empty() {
        return Chart::without_plot(TITLE, width, caption(view, unit));
    }
    let mut scene = Scene::new(width);
    let labels: Vec<String> = view.rows.iter().map(label).collect();
    let labels = Labels::new(labels.iter().map(String::as_str), width);
    let odds: Vec<String> = view.rows.iter().map(|row| chance_in_figures(row.chance)).collect();
    let widths = odds.iter().map(String::as_str).chain([ODDS]);
    let room = widths.map(|words| type_face::width(words, WORDS)).fold(0.0, f64::max);
    let (left, right) = (MARGIN + labels.width + 10.0, width - MARGIN - room - 10.0);
    let axis = Axis::over(extremes(view), (left, right));
    let tops = tops(&labels, view.rows.len());
    let bottom = tops.last().copied().unwrap_or(LINE);
    target(&mut scene, view, &axis, (LINE, bottom));
    axis.draw_across(&mut scene, (LINE, bottom), "swell, % of the fore-edge");
    scene.text(at(width - MARGIN, LINE / 2.0), ODDS, (WORDS, Tone::Quiet), Anchor::End);
    for (index, (row, odds)) in view.rows.iter().zip(odds).enumerate() {
        let middle = (tops[index] + tops[index + 1]) / 2.0;
        labels.draw(&mut scene, index, (left - 10.0, middle));
        let pixels = [row.percent.q05, row.percent.q50, row.percent.q95].map(|x| axis.pixel(x));
        scene.line(at(pixels[0], middle), at(pixels[2], middle), Tone::After, 3.0);
        scene.mark(at(pixels[1], middle), Form::Disc, Tone::After, 10.0);
        scene.text(at(width - MARGIN, middle), odds, (WORDS, Tone::Ink), Anchor::End);
    }
    Chart::new(TITLE, &SIGNS, scene, caption(view, unit))
}

/// `flax 18/3 · 20 × 5 sheets · all along, boned`.
fn label(row: &PlanRow) -> String {
    let sewing = row.way.sewing;
    let (sections, sheets) = (sewing.sections(), plural(usize::from(sewing.sheets()), "sheet"));
    format!("{} · {sections} × {sheets} · {}", row.way.thread.name, sewn(&row.way))
}

/// The upper edge of every row, and the lower edge of the last.
fn tops(labels: &Labels, count: usize) -> Vec<f64> {
    let mut edges = vec![LINE];
    for row in 0..count {
        edges.push(edges[row] + (labels.height(row) + LINE / 2.0).max(ROW));
    }
    edges
}

fn extremes(view: &PlanView) -> impl Iterator<Item = f64> + '_ {
    let target = [view.target.low_percent, view.target.high_percent];
    view.rows.iter().flat_map(|row| [row.percent.q05, row.percent.q95]).chain(target)
}

fn target(scene: &mut Scene, view: &PlanView, axis: &Axis, (top, bottom): (f64, f64)) {
    let ends = [view.target.low_percent, view.target.high_percent].map(|x| axis.pixel(x));
    scene.fill(Area { left: ends[0], right: ends[1], top, bottom }, Tone::Target);
    for x in ends {
        scene.line(at(x, top), at(x, bottom), Tone::Quiet, 1.0);
    }
}

fn caption(view: &PlanView, unit: LengthUnit) -> String {
    let asked = format!(
        "{} leaves of {}, {}, target {}",
        view.leaves,
        view.paper,
        view.state.phrase(),
        band_words(&view.target)
    );
    let Some(best) = view.rows.first() else {
        return format!("{asked}: there is nothing to choose from.");
    };
    let [low, middle, high] =
        percent_figures([best.percent.q05, best.percent.q50, best.percent.q95]);
    let odds = chance_in_figures(best.chance);
    let verdict = if view.is_met {
        format!("Best is {}, odds {odds}", way_words(&best.way))
    } else {
        format!("Nothing here meets it: the best odds are {odds}, with {}", way_words(&best.way))
    };
    format!(
        "{asked}. {verdict}: swell {middle} %, 90 % range {low} to {high} %. Drawn are the best \
         {} of {}.{}",
        view.rows.len(),
        plural(view.considered, "combination"),
        beyond_line("The best", &best.beyond, unit)
            .map_or_else(String::new, |line| format!(" {line}"))
    )
}
