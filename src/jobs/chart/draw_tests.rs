//! Tests of every chart on hand-made views: all is inside the picture and covers nothing else.

use super::answer_factors::FactorsView;
use super::answer_knockdown::Measure;
use super::draw_agreement::agreement;
use super::draw_factors::factors;
use super::draw_history::history;
use super::draw_knockdown::knockdown;
use super::draw_plan::plan;
use super::draw_residuals::residuals;
use super::draw_swell::swell;
use super::draw_test_views::{
    compared_of, factors_of, hands_of, history_of, knockdown_of, plan_of, ranges, residuals_of,
    swell_of,
};
use crate::draw::chart::{Chart, DESK, PHONE};
use crate::draw::palette::{Tone, tests::contrast};
use crate::draw::render::ChartError;
use crate::draw::scene::{Area, Form, Scene, Shape};
use crate::units::LengthUnit;
use roxmltree::{Document, Node};

/// Every kind of chart, for a book of this size at this width.
fn every_chart(papers: usize, trials: usize, width: f64) -> Vec<Chart> {
    let mut charts = vec![
        factors(&factors_of(papers), width),
        knockdown(&knockdown_of(Measure::Factor, papers, trials), width),
        knockdown(&knockdown_of(Measure::Percent, papers, trials), width),
        agreement(&compared_of(papers * trials), LengthUnit::Millimetre, width),
        agreement(&compared_of(papers * trials), LengthUnit::Inch, width),
        history(&history_of(papers * trials, papers), width),
        history(&hands_of(papers.min(5), trials.min(40)), width),
        plan(&plan_of(papers), LengthUnit::Millimetre, width),
        residuals(&residuals_of(papers, papers * trials), LengthUnit::Inch, width),
    ];
    // A swell chart needs a thread.
    charts.extend(
        (papers > 0).then(|| swell(&swell_of(papers.min(9), trials), LengthUnit::Inch, width)),
    );
    charts
}

/// The factors of so many blocks of each of so many papers, for a desk.
fn blocks(papers: usize, trials: usize) -> Chart {
    knockdown(&knockdown_of(Measure::Factor, papers, trials), DESK)
}

/// Number of papers, and of trials of each.
const BOOKS: [(usize, usize); 7] = [(0, 0), (1, 1), (1, 2), (2, 6), (7, 3), (60, 1), (1, 300)];

/// Every kind of chart of each of those books, for a phone and a desk.
fn all_charts() -> impl Iterator<Item = Chart> {
    let sizes = BOOKS.into_iter().flat_map(|book| [(book, PHONE), (book, DESK)]);
    sizes.flat_map(|((papers, trials), width)| every_chart(papers, trials, width))
}

/// Every text is inside the picture, overlaps no other text or mark, and is legible on what is
/// beneath it. Nothing is drawn over it.
pub(crate) fn check_texts(scene: &Scene) {
    let texts: Vec<(usize, &Shape, Area)> = (scene.shapes.iter().enumerate())
        .filter(|(_, shape)| matches!(shape, Shape::Text { .. }))
        .map(|(index, shape)| (index, shape, shape.extent()))
        .collect();
    for (place, shape, area) in texts {
        let inside = area.left >= 0.0 && area.right <= scene.width;
        assert!(inside && area.top >= 0.0 && area.bottom <= scene.height, "{shape:?} at {area:?}");
        for (other, beside) in scene.shapes.iter().enumerate() {
            if other == place || !beside.touches(area) {
                continue;
            }
            match beside {
                Shape::Text { .. } | Shape::Mark { .. } => panic!("{shape:?} over {beside:?}"),
                Shape::Fill { .. } | Shape::Patch { .. } | Shape::Line { .. } => {
                    assert!(other < place, "{beside:?} is drawn over {shape:?}");
                    let found = contrast(shape.tone(), beside.tone());
                    assert!(found >= LEGIBLE, "{shape:?} on {beside:?}: {found}");
                }
            }
        }
        assert!(contrast(shape.tone(), Tone::Sheet) >= LEGIBLE, "{shape:?}");
    }
}

/// The least contrast of text. Source: WCAG 2.2, 1.4.3.
const LEGIBLE: f64 = 4.5;

#[test]
fn no_word_is_cut_off_or_written_over_another_or_a_mark() {
    all_charts().for_each(|chart| check_texts(&chart.captioned()));
}

#[test]
fn everything_drawn_lies_inside_the_picture() {
    for Chart { scene: Scene { width, height, shapes }, title, .. } in all_charts() {
        for shape in &shapes {
            let Area { left, right, top, bottom } = shape.extent();
            let across = left >= 0.0 && left <= right && right <= width;
            let sound = across && top >= 0.0 && top <= bottom && bottom <= height;
            assert!(sound, "{title}: {shape:?} in {width} by {height}");
        }
    }
}

#[test]
fn a_book_with_nothing_to_draw_gives_a_title_and_a_sentence() {
    for chart in every_chart(0, 0, DESK) {
        assert_eq!(chart.scene.shapes.len(), 1, "{chart:?}");
        assert!(chart.caption.ends_with('.') && chart.caption.len() > 20, "{}", chart.caption);
        assert!(!elements(&chart.svg().unwrap()).is_empty());
    }
    let one = history(&history_of(1, 0), DESK);
    assert!(one.scene.shapes.len() == 1 && one.caption.starts_with("One sewing"), "{one:?}");
}

/// The names of the elements of a picture, which must be well-formed XML. Its words must also have
/// no bare `>`.
fn elements(svg: &str) -> Vec<String> {
    let picture = Document::parse(svg).unwrap_or_else(|why| panic!("{why}: {svg}"));
    for words in picture.descendants().filter(Node::is_text) {
        assert!(!svg[words.range()].contains('>'), "{words:?}");
    }
    let all = picture.descendants().filter(Node::is_element);
    all.map(|element| element.tag_name().name().to_owned()).collect()
}

#[test]
fn every_picture_is_well_formed_and_described() {
    for chart in all_charts() {
        for svg in [chart.svg().unwrap(), chart.figure().unwrap()] {
            assert_eq!(elements(&svg)[..3], ["svg", "title", "desc"], "{}", chart.title);
            assert!(svg.contains("role=\"img\""));
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
    let long = factors(&factors_of(1_000), DESK);
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
    ways.question.paper.name = hostile.parse().unwrap();
    ways.best[0].way.thread.name = hostile.parse().unwrap();
    let (mut swells, mut off) = (swell_of(2, 3), residuals_of(1, 4));
    swells.threads[1].thread = hostile.to_owned();
    off.residuals[0].hand = hostile.to_owned();
    for chart in [
        swell(&swells, LengthUnit::Millimetre, DESK),
        residuals(&off, LengthUnit::Millimetre, DESK),
        factors(&papers, DESK),
        knockdown(&blocks, DESK),
        plan(&ways, LengthUnit::Millimetre, DESK),
    ] {
        let svg = chart.svg().unwrap();
        assert!(!svg.contains("<script") && svg.contains("&lt;script&gt;"), "{svg}");
        assert!(!elements(&svg).is_empty());
    }
}

pub(crate) fn words_of(chart: &Chart) -> Vec<&str> {
    let texts = chart.scene.shapes.iter().filter_map(|shape| match shape {
        Shape::Text { text, .. } => Some(text.as_str()),
        _ => None,
    });
    texts.collect()
}

pub(crate) fn areas(chart: &Chart, is_wanted: fn(&Shape) -> bool) -> Vec<Area> {
    chart.scene.shapes.iter().filter(|shape| is_wanted(shape)).map(Shape::extent).collect()
}

#[test]
fn signs_are_explained_where_they_occur_and_nowhere_else() {
    let plain = blocks(1, 1);
    let all = blocks(1, 2);
    for (sign, in_plain) in [("as sewn", true), ("knocked down and pressed", false)] {
        assert_eq!(words_of(&plain).contains(&sign), in_plain, "{sign}");
        assert!(words_of(&all).contains(&sign), "{sign}");
    }
    let bars = "fitted: 90 % range, the thick part 50 %";
    let percent = knockdown(&knockdown_of(Measure::Percent, 1, 2), DESK);
    assert!(words_of(&plain).contains(&bars) && !words_of(&percent).contains(&bars));
    let (calm, struck) = (history(&history_of(4, 0), DESK), history(&history_of(4, 2), DESK));
    let sign = "struck, not used";
    assert!(!words_of(&calm).contains(&sign) && words_of(&struck).contains(&sign));
}

/// States named beside the first block or paper are not explained again above the chart.
#[test]
fn a_state_is_named_once() {
    for chart in [factors(&factors_of(7), DESK), blocks(2, 6)] {
        for words in ["as sewn", "knocked down"] {
            let count = words_of(&chart).iter().filter(|found| **found == words).count();
            assert_eq!(count, 1, "{words} in {}", chart.title);
        }
    }
}

#[test]
fn a_long_book_has_a_row_for_a_paper_and_names_what_is_far_out() {
    let mut view = knockdown_of(Measure::Factor, 60, 3);
    view.papers[0].sets[0].trials[0].points[1].value = 0.2;
    (view.papers.iter_mut().enumerate()).for_each(|(at, it)| it.paper = format!("paper {at}"));
    let chart = knockdown(&view, DESK);
    assert!(chart.scene.height < 60.0 * 2.0 * 30.0 + 600.0, "{}", chart.scene.height);
    assert!(words_of(&chart).contains(&"T0"), "{}", chart.caption);
    assert!(chart.caption.contains("share a row"), "{}", chart.caption);
    let short = blocks(3, 3);
    assert_eq!(words_of(&short).iter().filter(|words| **words == "T2").count(), 3);
}

#[test]
fn per_cent_is_never_said_in_diameters() {
    let percent = knockdown(&knockdown_of(Measure::Percent, 1, 2), DESK);
    let factor = blocks(1, 2);
    for said in [&percent.caption, &percent.title] {
        assert!(said.contains("percentage points") && !said.contains("diameter"), "{said}");
        assert!(!said.contains("Boning"), "{said}");
    }
    assert!(factor.title.contains("0.10 of the thread's diameter"), "{}", factor.title);
}

#[test]
fn boning_is_spoken_of_where_something_was_boned() {
    let [none, some] = [1, 2].map(|count| blocks(1, count));
    assert!(!none.caption.contains("Boning") && !words_of(&none).contains(&"paper 0, boned"));
    assert!(some.caption.contains("Boning") && words_of(&some).contains(&"paper 0, boned"));
}

/// The ranges as sewn and knocked down are side by side, even if they are equal.
#[test]
fn no_range_hides_another() {
    for chart in [blocks(1, 1), factors(&factors_of(7), DESK)] {
        let bars: Vec<(Tone, Area)> = (chart.scene.shapes.iter())
            .filter(|shape| matches!(shape, Shape::Fill { .. }))
            .map(|shape| (shape.tone(), shape.extent()))
            .collect();
        for (tone, bar) in &bars {
            assert!(
                bars.iter().all(|(other, area)| other == tone || !bar.overlaps(*area)),
                "{bar:?}"
            );
        }
    }
}

#[test]
fn numbers_of_the_scale_are_never_far_away_in_a_long_chart() {
    for chart in [factors(&factors_of(60), DESK), blocks(60, 3)] {
        let number = |shape: &Shape| match shape {
            Shape::Text { at, text, .. } if text == "0.5" || text == "0.50" => Some(at.y),
            _ => None,
        };
        let mut heights: Vec<f64> = chart.scene.shapes.iter().filter_map(number).collect();
        heights.insert(0, 0.0);
        assert!(
            heights.len() > 4 && heights.windows(2).all(|pair| pair[1] - pair[0] < 700.0),
            "{heights:?}"
        );
    }
}

#[test]
fn a_title_claims_a_difference_only_where_the_ranges_are_apart() {
    let mut view = factors_of(4);
    let apart = |view: &FactorsView| factors(view, DESK).title;
    assert!(apart(&view).contains("cannot be told apart"), "{}", apart(&view));
    view.rows[0].factors[1] = ranges(0.2, 0.05);
    assert!(apart(&view).starts_with("More of the thread shows in "), "{}", apart(&view));
    view.rows.truncate(1);
    assert_eq!(apart(&view), "paper 0: about 0.20 of the thread shows");
    view.rows[0].trials = 1;
    assert!(apart(&view).starts_with("One trial so far, of paper 0"), "{}", apart(&view));
    view.rows[0].trials = 0;
    assert_eq!(apart(&view), "No paper has been tried yet");
    view.rows.clear();
    assert_eq!(apart(&view), "No paper in the book yet");
}

/// Both axes have the same scale, so that equality is the diagonal of a square.
#[test]
fn equality_is_the_diagonal_of_a_square() {
    for width in [PHONE, DESK] {
        let chart = agreement(&compared_of(300), LengthUnit::Millimetre, width);
        let dashes =
            |shape: &Shape| matches!(shape, Shape::Line { dashed: true, tone: Tone::Quiet, .. });
        let found = areas(&chart, dashes);
        assert!(found.len() >= 2, "two panels: {found:?}");
        for Area { left, right, top, bottom } in found.into_iter().filter(|it| it.top < it.bottom) {
            assert!((right - left - (bottom - top)).abs() < 1e-6);
        }
        assert!(chart.caption.contains("Furthest out"), "{}", chart.caption);
    }
}

#[test]
fn each_hand_has_its_own_line() {
    let one = history(&hands_of(1, 30), DESK);
    let two = history(&hands_of(2, 30), DESK);
    let averages = |chart: &Chart| {
        let lines = areas(chart, |shape| matches!(shape, Shape::Line { tone: Tone::After, .. }));
        lines.windows(2).filter(|pair| pair[1].left < pair[0].right - 1.0).count() + 1
    };
    assert_eq!((averages(&one), averages(&two)), (1, 2));
    assert!(
        words_of(&two).iter().any(|words| words.starts_with("paper 0: ")),
        "{:?}",
        words_of(&two)
    );
}

#[test]
fn ways_to_sew_stand_at_one_distance_with_their_figures_beside_them() {
    let mut view = plan_of(8);
    view.best.iter_mut().for_each(|row| row.chance = 0.999);
    for width in [PHONE, DESK] {
        let chart = plan(&view, LengthUnit::Millimetre, width);
        let bars = marks(&chart, Form::Disc);
        let mut heights: Vec<f64> = bars.into_iter().map(|mark| mark.1).collect();
        heights.sort_by(f64::total_cmp);
        // The topmost mark belongs to the legend.
        let steps: Vec<f64> = heights[1..].windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!(steps.iter().all(|step| (step - steps[0]).abs() < 1e-6), "{steps:?}");
        assert!(chart.caption.contains("Note 1: a thread under"), "{}", chart.caption);
    }
    let desk = plan(&view, LengthUnit::Millimetre, DESK);
    let words = words_of(&desk);
    for head in ["thread", "sections", "sewn", "odds", "swell, %", "blank", "thread, m", "notes"] {
        assert!(words.contains(&head), "{head} in {words:?}");
    }
    assert!(words.contains(&"9.7") && words.contains(&"28"), "{words:?}");
    view.best.retain(|row| row.cautions.is_empty() && row.way.blank_leaves == 0);
    let plain = plan(&view, LengthUnit::Millimetre, DESK);
    assert!(!words_of(&plain).contains(&"notes") && !words_of(&plain).contains(&"blank"));
}

pub(crate) fn marks(chart: &Chart, wanted: Form) -> Vec<(f64, f64)> {
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
    let out = history_of(sewings, 0).hands[0].history.out_of_limits().count();
    // One diamond and one cross are in the legend.
    assert_eq!(marks(&chart, Form::Disc).len(), sewings - out);
    assert_eq!(marks(&chart, Form::Diamond).len(), out + 1);
    assert_eq!(marks(&chart, Form::Cross).len(), struck + 1);
    let mut places: Vec<f64> = marks(&chart, Form::Disc).into_iter().map(|mark| mark.0).collect();
    places.dedup();
    assert_eq!(places.len(), sewings - out, "those of one day stand side by side");
    assert!(chart.caption.contains("2 struck sewings lie beyond the edge"), "{}", chart.caption);
}

#[test]
fn the_middle_of_a_choice_stands_in_the_target_when_it_meets_it() {
    let view = plan_of(9);
    let chart = plan(&view, LengthUnit::Millimetre, DESK);
    let band =
        |shape: &Shape| matches!(shape, Shape::Fill { area, .. } if area.bottom - area.top > 50.0);
    let bands = areas(&chart, band);
    let [Area { left, right, .. }] = bands[..] else { panic!("{bands:?}") };
    let mut middles = marks(&chart, Form::Disc);
    middles.sort_by(|a, b| a.1.total_cmp(&b.1));
    // The topmost mark belongs to the legend.
    for (row, (x, _)) in view.best.iter().zip(&middles[1..]) {
        let met = (25.0..=35.0).contains(&row.percent.q50);
        assert_eq!((left..=right).contains(x), met, "{row:?} at {x}, {left} to {right}");
    }
}
