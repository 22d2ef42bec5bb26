//! `agreement`: what was measured against what was predicted without it.

use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::layout::{Look, MARGIN, Sign};
use crate::draw::palette::Tone;
use crate::draw::scene::{Form, Scene, at};
use crate::jobs::compare::answer::{Agreement, Compared};
use crate::model::compare::Way;
use crate::terminal::number::{decimals_for_width, rounded};
use crate::terminal::odds::chance_in_figures;
use crate::units::{LengthUnit, Millimetres};

/// Room on the left for numbers.
const NUMBERS: f64 = 48.0;
/// The most height of the plot.
const TALLEST: f64 = 520.0;
const TITLE: &str = "Each trial as the others predict it";
const SIGNS: [Sign; 4] = [
    Sign { look: Look::Mark(Form::Disc, Tone::After), words: "this book's prediction" },
    Sign { look: Look::Stroke(Tone::After), words: "its 90 % range" },
    Sign { look: Look::Mark(Form::OpenDiamond, Tone::Before), words: "nominal figures" },
    Sign { look: Look::Dashes(Tone::Quiet), words: "predicted = measured" },
];

/// Draws the agreement, lengths in `unit`.
pub fn agreement(compared: &Compared, unit: LengthUnit, width: f64) -> Chart {
    let count = |mm: f64| Millimetres::new(mm).map_or(f64::NAN, |length| unit.count(length));
    let caption = caption(compared, unit, &count);
    if compared.agreement.is_empty() {
        return Chart::without_plot(TITLE, width, caption);
    }
    let (mut scene, top) = (Scene::new(width), 0.0);
    let words =
        format!("swell predicted without the trial, {unit} (up); measured, {unit} (across)");
    let left = MARGIN + NUMBERS;
    let height = (width - left - MARGIN).min(TALLEST);
    let bottom = top + height;
    let across = Axis::over(both_ways(compared, &count), (left, width - MARGIN));
    let up = Axis::over(both_ways(compared, &count), (bottom, top));
    up.draw_up(&mut scene, (left, width - MARGIN));
    across.draw_across(&mut scene, (top, bottom), &words);
    equality(&mut scene, (&across, &up));
    for row in &compared.agreement {
        nominal(&mut scene, (&across, &up), [row.measured_mm, row.nominal_mm].map(&count));
    }
    for row in &compared.agreement {
        let Agreement { measured_mm, own, .. } = row;
        let seen = [*measured_mm, own.q05, own.q50, own.q95].map(&count);
        predicted(&mut scene, (&across, &up), seen);
    }
    Chart::new(TITLE, &SIGNS, scene, caption)
}

/// Everything that must be on both axes, so that equality is the diagonal.
fn both_ways<'a>(
    compared: &'a Compared,
    count: &'a dyn Fn(f64) -> f64,
) -> impl Iterator<Item = f64> + 'a {
    let all = |row: &Agreement| [row.measured_mm, row.own.q05, row.own.q95, row.nominal_mm];
    compared.agreement.iter().flat_map(all).map(count)
}

fn equality(scene: &mut Scene, (across, up): (&Axis, &Axis)) {
    let (low, high) = across.ends();
    let corner = |value: f64| at(across.pixel(value), up.pixel(value));
    scene.dashes(corner(low), corner(high), Tone::Quiet, 1.0);
}

fn nominal(scene: &mut Scene, (across, up): (&Axis, &Axis), [measured, nominal]: [f64; 2]) {
    let place = at(across.pixel(measured), up.pixel(nominal));
    scene.mark(place, Form::OpenDiamond, Tone::Before, 9.0);
}

fn predicted(scene: &mut Scene, (across, up): (&Axis, &Axis), [measured, q05, q50, q95]: [f64; 4]) {
    let x = across.pixel(measured);
    scene.line(at(x, up.pixel(q05)), at(x, up.pixel(q95)), Tone::After, 1.5);
    scene.mark(at(x, up.pixel(q50)), Form::Disc, Tone::After, 8.0);
}

fn caption(compared: &Compared, unit: LengthUnit, count: &dyn Fn(f64) -> f64) -> String {
    let score = |way: Way| {
        let found = compared.ways.iter().find(|compared| compared.way == way)?;
        Some(found.score?.score)
    };
    let (Some(own), Some(nominal)) = (score(Way::Own), score(Way::Nominal)) else {
        return "No trial could be predicted from the others.".to_owned();
    };
    let decimals = decimals_for_width(count(own.mean_miss_mm));
    let length = |mm: f64| format!("{} {unit}", rounded(count(mm), decimals));
    format!(
        "Predicted from the other trials, a swell was missed by {} on average; nominal figures \
         missed by {}. The range held {} of {} ({}) where 90 % are promised.",
        length(own.mean_miss_mm),
        length(nominal.mean_miss_mm),
        own.held.count,
        own.held.of,
        chance_in_figures(own.held.share)
    )
}
