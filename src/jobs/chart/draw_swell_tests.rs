//! Tests of the charts of swell and residuals, on hand-made views.

use super::draw_residuals::residuals;
use super::draw_swell::swell;
use super::draw_test_views::{residuals_of, swell_of};
use super::draw_tests::{areas, marks, words_of};
use crate::draw::chart::DESK;
use crate::draw::scene::{Area, Form, Shape};
use crate::units::LengthUnit;

#[test]
fn a_thread_has_its_own_panel_with_its_trials_and_the_swell_as_a_length() {
    let view = swell_of(3, 5);
    let chart = swell(&view, LengthUnit::Millimetre, DESK);
    let alike = view.threads.iter().flat_map(|curve| &curve.trials).filter(|it| it.is_alike);
    // One mark of each form is in the legend.
    assert_eq!(marks(&chart, Form::Disc).len(), alike.clone().count() + 1);
    assert_eq!(marks(&chart, Form::Ring).len(), 15 - alike.count() + 1);
    let words = words_of(&chart);
    for word in ["paper 0", "0.30 mm, 5 trials", "sections", "mm", "target", "25 %", "35.5 %"] {
        assert!(words.contains(&word), "{word}: {words:?}");
    }
    // 20 sections of the first thread: 0.2 × 15 = 3.0 mm, rounded to suit the widest range.
    assert!(words.contains(&"20") && words.contains(&"3.0"), "{words:?}");
    assert!(!chart.caption.contains("beyond the edge"), "{}", chart.caption);
}

#[test]
fn a_swell_is_drawn_where_its_numbers_are() {
    let view = swell_of(3, 5);
    let chart = swell(&view, LengthUnit::Millimetre, DESK);
    let mut bands = areas(&chart, |shape| matches!(shape, Shape::Fill { .. }));
    bands.retain(|it| it.bottom - it.top > 20.0);
    let ribbons = areas(&chart, |shape| matches!(shape, Shape::Patch { .. }));
    assert_eq!((bands.len(), ribbons.len()), (3, 3));
    let percent = |area: Area| area.bottom - area.top;
    for (band, (ribbon, curve)) in bands.iter().zip(ribbons.iter().zip(&view.threads)) {
        let (first, last) = (curve.points[0], curve.points[curve.points.len() - 1]);
        let wanted = (last.percent.q95 - first.percent.q05) / (35.5 - 25.0);
        let found = percent(*ribbon) / percent(*band);
        assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
    }
}

#[test]
fn the_title_of_a_swell_claims_what_the_odds_bear() {
    let titled =
        |view: &super::answer_swell::SwellView| swell(view, LengthUnit::Millimetre, DESK).title;
    let mut view = swell_of(3, 5);
    view.paper = "bond".to_owned();
    view.threads[1].thread = "thread".to_owned();
    let chances = [0.9, 0.5, 0.49];
    for (curve, chance) in view.threads.iter_mut().zip(chances) {
        curve.points.iter_mut().for_each(|point| point.chance = Some(chance));
    }
    assert_eq!(titled(&view), "With paper 0 or thread, bond meets the target more often than not");
    view.threads.remove(1);
    assert_eq!(titled(&view), "Only with paper 0 does bond meet the target more often than not");
    view.threads.remove(0);
    view.threads[0].thread = "flax".to_owned();
    assert_eq!(titled(&view), "With flax, bond misses the target more often than not");
    view.target = None;
    assert_eq!(titled(&view), "With flax, bond swells 27 to 36 %");
    view.trials_used = 0;
    assert!(titled(&view).ends_with(", by common practice alone"));
}

#[test]
fn a_slip_does_not_press_the_swells_together() {
    let (sound, slip) = (swell_of(2, 7), swell_of(2, 8));
    let ribbon = |view| {
        let chart = swell(&view, LengthUnit::Millimetre, DESK);
        let area = areas(&chart, |shape| matches!(shape, Shape::Patch { .. }))[0];
        (area.bottom - area.top, chart.caption)
    };
    let ((tall, calm), (pressed, said)) = (ribbon(sound), ribbon(slip));
    assert!(pressed > 0.6 * tall, "{pressed} {tall}");
    assert!(said.contains("2 trials lie beyond the edge") && !calm.contains("edge"), "{said}");
}

#[test]
fn the_largest_residual_is_marked_in_every_panel_and_named_once() {
    let view = residuals_of(4, 60);
    let chart = residuals(&view, LengthUnit::Millimetre, DESK);
    assert_eq!(marks(&chart, Form::Diamond).len(), 5 + 1);
    let named = |words: &&&str| words.contains("paper 20, ");
    assert_eq!(words_of(&chart).iter().filter(named).count(), 1, "{:?}", words_of(&chart));
    let all = [Form::Disc, Form::Ring, Form::Square].map(|form| marks(&chart, form).len());
    // The legend has four marks besides that of the largest.
    assert_eq!(all.iter().sum::<usize>(), 5 * 59 + 4);
    for words in ["by paper", "by thread", "by date", "by sections", "by hand", "no name"] {
        assert!(words_of(&chart).contains(&words), "{words}");
    }
    assert_eq!(chart.title, "paper 20 is far from what the others predict");
    for words in ["T20/sewn/2 of the spine: 12.3 mm", "13.4 mm would fit", "1 lies beyond"] {
        assert!(chart.caption.contains(words), "{words}: {}", chart.caption);
    }
}

#[test]
fn the_marks_of_a_long_row_lie_beside_each_other_while_there_is_room() {
    let chart = residuals(&residuals_of(1, 30), LengthUnit::Millimetre, DESK);
    let all = [Form::Disc, Form::Ring, Form::Square].map(|form| marks(&chart, form)).concat();
    let mut places: Vec<(i64, i64)> =
        all.iter().map(|(x, y)| ((10.0 * x) as i64, (10.0 * y) as i64)).collect();
    places.sort_unstable();
    let count = places.len();
    places.dedup();
    assert_eq!(places.len(), count, "two marks in one place");
}
