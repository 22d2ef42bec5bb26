//! `factors`: every paper's thread factor with its ranges, on nominal figures.

use super::answer_factors::{FactorRow, FactorsView, StateFactor};
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::layout::{LINE, Labels, Look, MARGIN, Sign};
use crate::draw::palette::Tone;
use crate::draw::scene::{Area, Form, Scene, at};
use crate::model::mixed::Ranges;
use crate::terminal::number::plural;
use crate::trade::State;

/// The height of one paper.
const ROW: f64 = 44.0;
const TITLE: &str = "How much of the thread shows, paper by paper";
const SIGNS: [Sign; 4] = [
    Sign { look: Look::Mark(Form::Ring, Tone::Before), words: "as sewn" },
    Sign { look: Look::Mark(Form::Disc, Tone::After), words: "knocked down" },
    Sign { look: Look::Patch(Tone::AfterPale), words: "thick: 50 % range; thin: 90 % range" },
    Sign { look: Look::Patch(Tone::Nominal), words: "nominal, 90 % range" },
];

/// Draws the factors.
pub fn factors(view: &FactorsView, width: f64) -> Chart {
    if view.rows.is_empty() {
        return Chart::without_plot(TITLE, width, caption(view));
    }
    let (mut scene, top) = (Scene::new(width), 0.0);
    let labels = Labels::new(view.rows.iter().map(|row| row.paper.as_str()), width);
    let left = MARGIN + labels.width + 10.0;
    let axis = Axis::over(extremes(view), (left, width - MARGIN));
    let tops: Vec<f64> = rows_down(&labels, view.rows.len(), top);
    let bottom = tops.last().copied().unwrap_or(top);
    axis.draw_across(&mut scene, (top, bottom), "thread factor (share of the laid diameter)");
    grounds(&mut scene, view, &axis, &tops);
    for (index, row) in view.rows.iter().enumerate() {
        let middle = (tops[index] + tops[index + 1]) / 2.0;
        labels.draw(&mut scene, index, (left - 10.0, middle));
        for (factor, (y, form, tone)) in row.factors.iter().zip(places(middle)) {
            strip(&mut scene, &axis, factor.fitted, (y, tone));
            scene.mark(at(axis.pixel(factor.fitted.q50), y), form, tone, 10.0);
        }
    }
    Chart::new(TITLE, &SIGNS, scene, caption(view))
}

/// Where the two states of a row are, and how they look.
fn places(middle: f64) -> [(f64, Form, Tone); 2] {
    [(middle - 9.0, Form::Ring, Tone::Before), (middle + 9.0, Form::Disc, Tone::After)]
}

/// The upper edge of every row, and the lower edge of the last.
fn rows_down(labels: &Labels, count: usize, top: f64) -> Vec<f64> {
    let mut edges = vec![top];
    for row in 0..count {
        let height = labels.height(row).max(ROW - LINE / 2.0) + LINE / 2.0;
        edges.push(edges[row] + height);
    }
    edges
}

fn extremes(view: &FactorsView) -> impl Iterator<Item = f64> + '_ {
    let bounds = |factor: &StateFactor| {
        [factor.fitted.q05, factor.fitted.q95, factor.nominal.q05, factor.nominal.q95]
    };
    view.rows.iter().flat_map(|row| &row.factors).flat_map(bounds)
}

/// Nominal figures behind each state of each row.
fn grounds(scene: &mut Scene, view: &FactorsView, axis: &Axis, tops: &[f64]) {
    for (index, row) in view.rows.iter().enumerate() {
        let middle = (tops[index] + tops[index + 1]) / 2.0;
        for (factor, (y, ..)) in row.factors.iter().zip(places(middle)) {
            let (left, right) = (axis.pixel(factor.nominal.q05), axis.pixel(factor.nominal.q95));
            scene.fill(Area { left, right, top: y - 8.0, bottom: y + 8.0 }, Tone::Nominal);
            let x = axis.pixel(factor.nominal.q50);
            scene.line(at(x, y - 8.0), at(x, y + 8.0), Tone::Quiet, 1.0);
        }
    }
}

/// The 90 % range as a thin bar and the 50 % range as a thick one.
pub(crate) fn strip(scene: &mut Scene, axis: &Axis, ranges: Ranges, (y, tone): (f64, Tone)) {
    let bar = |low: f64, high: f64, half: f64| Area {
        left: axis.pixel(low),
        right: axis.pixel(high),
        top: y - half,
        bottom: y + half,
    };
    scene.fill(bar(ranges.q05, ranges.q95, 1.5), tone);
    scene.fill(bar(ranges.q25, ranges.q75, 3.5), tone);
}

fn last(row: &FactorRow) -> Option<&StateFactor> {
    row.factors.iter().find(|factor| factor.state == State::Knocked)
}

fn caption(view: &FactorsView) -> String {
    let knocked = |row: &FactorRow| last(row).map_or(0.0, |factor| factor.fitted.q50);
    let (Some(first), Some(end)) = (view.rows.first(), view.rows.last()) else {
        return "The book holds no paper yet.".to_owned();
    };
    let learnt = match view.trials {
        0 => "No trials yet: based on common practice only.".to_owned(),
        count => format!("Based on {}.", plural(count, "trial")),
    };
    if view.rows.len() == 1 {
        return format!(
            "{}: {:.2} of the thread's laid diameter shows at the spine once it is knocked down. \
             {learnt}",
            first.paper,
            knocked(first)
        );
    }
    format!(
        "Knocked down, {} lets least of the thread show ({:.2} of its laid diameter) and {} most \
         ({:.2}). {learnt}",
        first.paper,
        knocked(first),
        end.paper,
        knocked(end)
    )
}
