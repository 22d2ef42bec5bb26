//! Every chart, of views set by hand: what is drawn is inside the picture and on top of nothing.

use super::scene::{Area, Scene, Shape};
use super::*;
use crate::decide::views::{FactorRow, FactorsView, StateFactor};
use crate::model::mixed::Ranges;
use crate::trade::{Hardness, State};

const LONG: &str = "A hand-made paper of linen and hemp with a very long name, lot 17 of the mill";

fn ranges(middle: f64, width: f64) -> Ranges {
    Ranges {
        mean: middle,
        sd: 0.6 * width,
        q05: middle - width,
        q25: middle - 0.4 * width,
        q50: middle,
        q75: middle + 0.4 * width,
        q95: middle + width,
    }
}

fn factors_of(papers: usize) -> FactorsView {
    let factor = |state, fitted| StateFactor { state, fitted, nominal: ranges(0.55, 0.3) };
    let row = |index: usize| FactorRow {
        paper: if index % 3 == 1 { LONG.to_owned() } else { format!("paper {index}") },
        hardness: Hardness::Soft,
        trials: 2,
        factors: vec![
            factor(State::Sewn, ranges(0.5 + 0.004 * index as f64, 0.06)),
            factor(State::Knocked, ranges(0.4 + 0.004 * index as f64, 0.05)),
        ],
    };
    FactorsView { rows: (0..papers).map(row).collect(), trials: 2 * papers }
}

fn overlap(a: Area, b: Area) -> bool {
    a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

/// Every text lies inside the picture and over no other text.
pub(super) fn check_texts(scene: &Scene) {
    let texts: Vec<(&Shape, Area)> =
        scene.shapes.iter().filter_map(|shape| Some((shape, shape.text_area()?))).collect();
    for (index, (shape, area)) in texts.iter().enumerate() {
        let inside = area.left >= 0.0 && area.right <= scene.width;
        assert!(inside && area.top >= 0.0 && area.bottom <= scene.height, "{shape:?} at {area:?}");
        for (other, beside) in &texts[index + 1..] {
            assert!(!overlap(*area, *beside), "{shape:?} over {other:?}");
        }
    }
}

#[test]
fn no_word_is_cut_off_or_written_over_another() {
    for papers in [0, 1, 2, 7, 60] {
        for width in [PHONE, DESK] {
            check_texts(&factors(&factors_of(papers), width).captioned());
        }
    }
}

#[test]
fn a_picture_is_a_file_of_its_kind() {
    let chart = factors(&factors_of(3), DESK);
    let svg = chart.svg().unwrap();
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"), "{svg}");
    let png = chart.png().unwrap();
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n") && png.len() > 4000);
}

#[test]
fn a_name_is_a_word_in_the_picture_and_never_markup() {
    let mut view = factors_of(1);
    view.rows[0].paper = "<script>&\"x\"".to_owned();
    let svg = factors(&view, DESK).svg().unwrap();
    assert!(!svg.contains("<script") && svg.contains("&lt;script&gt;"), "{svg}");
}
