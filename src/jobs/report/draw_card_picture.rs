//! Draws the predicted swell over its target, for the bench card.

use super::draw_card_content::CardView;
use crate::draw::axis::Axis;
use crate::draw::layout::{HAIR, MARGIN, centred};
use crate::draw::palette::Tone;
use crate::draw::scene::{Anchor, Area, Scene, at, style};
use crate::jobs::plan_spec::answer_band::Band;
use crate::model::mixed::Summary;
use crate::terminal::number::gauged_length;
use crate::terminal::words::percent_range;

/// The size of all letters in pixels: twelve points in print.
pub(crate) const LETTERS: f64 = 16.0;
/// The height of a line in pixels.
pub(crate) const LINE: f64 = 20.0;

/// The height of the target's band in pixels.
const HEIGHT: f64 = 32.0;

/// The range of the forecast over the band of the target, in per cent.
pub(crate) fn range_on_target(view: &CardView<'_>, width: f64) -> Scene {
    let forecast = &view.card.forecast;
    let percent = forecast.percent;
    let band = forecast.target.as_ref();
    let bounds = band.map(Band::bounds);
    let values = [percent.q05, percent.q95].into_iter().chain(bounds.into_iter().flatten());
    let axis = Axis::over(values, MARGIN + 24.0, width - MARGIN - 24.0);
    let mut scene = Scene::new(width);
    let mut top = 4.0;
    if let (Some(band), Some([low, high])) = (band, bounds) {
        let (left, right) = (axis.pixel(low), axis.pixel(high));
        let words = format!("target {} to {} %", band.low_percent, band.high_percent);
        let first = at((left + right) / 2.0, 12.0);
        top = centred(&mut scene, &words, first, LETTERS, LINE) - 8.0;
        scene.fill(Area { left, right, top, bottom: top + HEIGHT }, Tone::Target);
        for x in [left, right] {
            scene.line(at(x, top), at(x, top + HEIGHT), Tone::Ink, 1.0);
        }
    }
    let bottom = top + HEIGHT;
    let bar = |low, high| Area::bar(axis.pixel(low), axis.pixel(high), top + HEIGHT / 2.0, 9.0);
    scene.fill(bar(percent.q05, percent.q95), Tone::AfterPale);
    scene.fill(bar(percent.q25, percent.q75), Tone::After);
    let middle = axis.pixel(percent.q50);
    scene.line(at(middle, top + 4.0), at(middle, bottom - 4.0), Tone::Ink, 3.0);
    let (left, right) = axis.pixels();
    scene.line(at(left, bottom), at(right, bottom), Tone::Ink, 1.0);
    for (mark, number) in axis.numbers() {
        let x = axis.pixel(mark);
        scene.line(at(x, bottom), at(x, bottom + 5.0), Tone::Ink, HAIR);
        let style = style(LETTERS, Tone::Ink);
        scene.text(at(x, bottom + 16.0), format!("{number} %"), style, Anchor::Middle);
    }
    let first = at(middle, bottom + 38.0);
    scene.height = centred(&mut scene, &expected(view), first, LETTERS, LINE) - 8.0;
    scene
}

/// `expected 23 % (4.8 mm), 90 % range 20 to 27 % (4.1 to 5.4 mm)`.
pub(crate) fn expected(view: &CardView<'_>) -> String {
    let (config, forecast) = (view.config, &view.card.forecast);
    let Summary { q05, q50, q95, .. } = forecast.swell;
    let length = |value| gauged_length(value, q95 - q05, config);
    let (centre, range) = percent_range(forecast.percent.each());
    format!(
        "expected {centre} % ({} {unit}), 90 % range {range} % ({} to {} {unit})",
        length(q50),
        length(q05),
        length(q95),
        unit = config.unit
    )
}
