//! Every chart, of views set by hand: what is drawn is inside the picture and on top of nothing.

use super::answer_knockdown::Measure;
use super::draw_agreement::agreement;
use super::draw_factors::factors;
use super::draw_history::history;
use super::draw_knockdown::knockdown;
use super::draw_plan::plan;
use super::draw_test_views::{compared_of, factors_of, history_of, knockdown_of, plan_of};
use crate::draw::chart::{Chart, DESK, PHONE};
use crate::draw::render::ChartError;
use crate::draw::scene::{Area, Form, Scene, Shape};
use crate::draw::test_svg::elements;
use crate::units::LengthUnit;

/// What is drawn for a book of a size, at a width: every kind of chart.
fn every_chart(papers: usize, trials: usize, width: f64) -> Vec<Chart> {
    vec![
        factors(&factors_of(papers), width),
        knockdown(&knockdown_of(Measure::Factor, papers, trials), width),
        knockdown(&knockdown_of(Measure::Percent, papers, trials), width),
        agreement(&compared_of(papers * trials), LengthUnit::Millimetre, width),
        agreement(&compared_of(papers * trials), LengthUnit::Inch, width),
        history(&history_of(papers * trials, papers), width),
        plan(&plan_of(papers), LengthUnit::Millimetre, width),
    ]
}

/// Papers and trials of each.
const BOOKS: [(usize, usize); 7] = [(0, 0), (1, 1), (1, 2), (2, 6), (7, 3), (60, 1), (1, 300)];

fn overlap(a: Area, b: Area) -> bool {
    a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

/// Every text lies inside the picture, over no other text and over no mark.
pub(crate) fn check_texts(scene: &Scene) {
    let texts: Vec<(&Shape, Area)> =
        scene.shapes.iter().filter_map(|shape| Some((shape, shape.text_area()?))).collect();
    for (index, (shape, area)) in texts.iter().enumerate() {
        let inside = area.left >= 0.0 && area.right <= scene.width;
        assert!(inside && area.top >= 0.0 && area.bottom <= scene.height, "{shape:?} at {area:?}");
        for (other, beside) in &texts[index + 1..] {
            assert!(!overlap(*area, *beside), "{shape:?} over {other:?}");
        }
        for mark in scene.shapes.iter().filter(|shape| matches!(shape, Shape::Mark { .. })) {
            assert!(!overlap(*area, extent(mark)), "{shape:?} over {mark:?}");
        }
    }
}

/// The rectangle that a shape takes up at the least.
fn extent(shape: &Shape) -> Area {
    let around = |x: [f64; 2], y: [f64; 2]| Area {
        left: x[0].min(x[1]),
        right: x[0].max(x[1]),
        top: y[0].min(y[1]),
        bottom: y[0].max(y[1]),
    };
    match shape {
        Shape::Fill { area, .. } => *area,
        Shape::Line { from, to, .. } => around([from.x, to.x], [from.y, to.y]),
        Shape::Mark { at, size, .. } => {
            let half = size / 2.0;
            around([at.x - half, at.x + half], [at.y - half, at.y + half])
        }
        Shape::Text { .. } => shape.text_area().unwrap(),
    }
}

#[test]
fn no_word_is_cut_off_or_written_over_another_or_a_mark() {
    for (papers, trials) in BOOKS {
        for width in [PHONE, DESK] {
            every_chart(papers, trials, width).iter().for_each(|it| check_texts(&it.captioned()));
        }
    }
}

#[test]
fn everything_drawn_lies_inside_the_picture() {
    for (papers, trials) in BOOKS {
        for chart in [PHONE, DESK].iter().flat_map(|&width| every_chart(papers, trials, width)) {
            let Scene { width, height, shapes } = &chart.scene;
            for shape in shapes {
                let Area { left, right, top, bottom } = extent(shape);
                let across = left >= 0.0 && left <= right && right <= *width;
                let sound = across && top >= 0.0 && top <= bottom && bottom <= *height;
                assert!(sound, "{}: {shape:?} in {width} by {height}", chart.title);
            }
        }
    }
}

#[test]
fn a_book_with_nothing_to_draw_gives_a_title_and_a_sentence() {
    for chart in every_chart(0, 0, DESK) {
        assert_eq!(chart.scene.shapes.len(), 1, "{chart:?}");
        assert!(chart.caption.ends_with('.') && chart.caption.len() > 20, "{}", chart.caption);
        assert!(elements(&chart.svg().unwrap()).is_ok());
    }
    let one = history(&history_of(1, 0), DESK);
    assert!(one.scene.shapes.len() == 1 && one.caption.starts_with("One sewing"), "{one:?}");
}

#[test]
fn every_picture_is_well_formed_and_described() {
    for (papers, trials) in BOOKS {
        for chart in [PHONE, DESK].iter().flat_map(|&width| every_chart(papers, trials, width)) {
            for svg in [chart.svg().unwrap(), chart.figure().unwrap()] {
                let found = elements(&svg).unwrap_or_else(|why| panic!("{}: {why}", chart.title));
                assert_eq!(found[..3], ["svg", "title", "desc"], "{}", chart.title);
                assert!(svg.contains("role=\"img\""));
            }
        }
    }
}

/// Width, height and pixels of a PNG.
fn decoded(bytes: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    (info.width, info.height, pixels)
}

#[test]
fn a_png_has_two_pixels_to_one_of_the_chart_and_ink_in_it() {
    for chart in every_chart(2, 6, PHONE) {
        let (width, height, pixels) = decoded(&chart.png().unwrap());
        let scene = chart.captioned();
        assert_eq!(width, (2.0 * scene.width).ceil() as u32);
        assert_eq!(height, (2.0 * scene.height).ceil() as u32);
        let dark = pixels.chunks(3).filter(|pixel| pixel.iter().all(|&part| part < 0x60)).count();
        let share = dark as f64 / (f64::from(width) * f64::from(height));
        assert!((0.005..0.3).contains(&share), "{}: {share}", chart.title);
    }
}

#[test]
fn a_png_of_more_pixels_than_a_file_should_have_is_refused() {
    let long = knockdown(&knockdown_of(Measure::Factor, 1, 1_800), DESK);
    assert!(matches!(long.png(), Err(ChartError::TooLarge { .. })));
    assert!(long.svg().is_ok());
}

#[test]
fn a_name_is_a_word_in_the_picture_and_never_markup() {
    let hostile = "<script>&\"x\"]]>";
    let (mut papers, mut blocks) = (factors_of(1), knockdown_of(Measure::Factor, 1, 2));
    papers.rows[0].paper = hostile.to_owned();
    blocks.papers[0].paper = hostile.to_owned();
    let mut ways = plan_of(2);
    ways.paper = hostile.to_owned();
    ways.rows[0].way.thread.name = hostile.parse().unwrap();
    for chart in [
        factors(&papers, DESK),
        knockdown(&blocks, DESK),
        plan(&ways, LengthUnit::Millimetre, DESK),
    ] {
        let svg = chart.svg().unwrap();
        assert!(!svg.contains("<script") && svg.contains("&lt;script&gt;"), "{svg}");
        assert!(elements(&svg).is_ok());
    }
}

fn words_of(chart: &Chart) -> Vec<&str> {
    let text = |shape: &'_ Shape| matches!(shape, Shape::Text { .. });
    let texts = chart.scene.shapes.iter().filter(|shape| text(shape));
    texts
        .filter_map(|shape| if let Shape::Text { text, .. } = shape { Some(&**text) } else { None })
        .collect()
}

#[test]
fn signs_are_explained_where_they_occur_and_nowhere_else() {
    let plain = knockdown(&knockdown_of(Measure::Factor, 1, 1), DESK);
    let all = knockdown(&knockdown_of(Measure::Factor, 1, 2), DESK);
    for (sign, in_plain) in
        [("as sewn", true), ("boned", false), ("knocked down and pressed", false)]
    {
        assert_eq!(words_of(&plain).contains(&sign), in_plain, "{sign}");
        assert!(words_of(&all).contains(&sign), "{sign}");
    }
    let pale = "pale: fitted, 90 % range";
    let percent = knockdown(&knockdown_of(Measure::Percent, 1, 2), DESK);
    assert!(words_of(&plain).contains(&pale) && !words_of(&percent).contains(&pale));
    let (calm, struck) = (history(&history_of(4, 0), DESK), history(&history_of(4, 2), DESK));
    let sign = "struck, not used";
    assert!(!words_of(&calm).contains(&sign) && words_of(&struck).contains(&sign));
}

#[test]
fn per_cent_has_no_factors_in_its_labels() {
    let percent = knockdown(&knockdown_of(Measure::Percent, 1, 2), DESK);
    let factor = knockdown(&knockdown_of(Measure::Factor, 1, 2), DESK);
    assert!(words_of(&percent).contains(&"paper 0"));
    assert!(words_of(&factor).contains(&"paper 0 (−0.10)"), "{:?}", words_of(&factor));
    assert!(!percent.caption.contains("behind a name") && percent.caption.contains("0.10"));
}

/// Every mark of a form, from left to right.
fn marks(chart: &Chart, wanted: Form) -> Vec<(f64, f64)> {
    let mark = |shape: &Shape| match shape {
        Shape::Mark { at, form, .. } if *form == wanted => Some((at.x, at.y)),
        _ => None,
    };
    let mut found: Vec<(f64, f64)> = chart.scene.shapes.iter().filter_map(mark).collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found
}

#[test]
fn every_sewing_is_a_mark_of_its_own_kind_in_order_of_date() {
    let (sewings, struck) = (30, 4);
    let chart = history(&history_of(sewings, struck), DESK);
    let out = history_of(sewings, 0).history.out_of_limits().count();
    // One of each explains the sign.
    assert_eq!(marks(&chart, Form::Disc).len(), sewings - out + 1);
    assert_eq!(marks(&chart, Form::Diamond).len(), out + 1);
    assert_eq!(marks(&chart, Form::Cross).len(), struck + 1);
    let mut places: Vec<f64> = marks(&chart, Form::Disc).into_iter().map(|mark| mark.0).collect();
    places.dedup();
    assert_eq!(places.len(), sewings - out + 1, "those of one day stand side by side");
    assert!(chart.caption.contains("2 struck sewings lie beyond the edge"), "{}", chart.caption);
}

#[test]
fn the_middle_of_a_choice_stands_in_the_target_when_it_meets_it() {
    let view = plan_of(9);
    let chart = plan(&view, LengthUnit::Millimetre, DESK);
    let band =
        |shape: &Shape| matches!(shape, Shape::Fill { area, .. } if area.bottom - area.top > 50.0);
    let bands: Vec<Area> =
        chart.scene.shapes.iter().filter(|shape| band(shape)).map(extent).collect();
    let [Area { left, right, .. }] = bands[..] else { panic!("{bands:?}") };
    let mut middles = marks(&chart, Form::Disc);
    middles.sort_by(|a, b| a.1.total_cmp(&b.1));
    // The first in order of height explains the sign.
    for (row, (x, _)) in view.rows.iter().zip(&middles[1..]) {
        let met = (25.0..=35.0).contains(&row.percent.q50);
        assert_eq!((left..=right).contains(x), met, "{row:?} at {x}, {left} to {right}");
    }
}
