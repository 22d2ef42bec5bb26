//! Tests of the text of a forecast, with every figure set by hand.

use super::answer::Forecast;
use super::answer_advice::{Advice, Remedy};
use super::answer_test_plan::{self as test_plan, paper, plan, thread};
use super::text::forecast_text;
use crate::book::Config;
use crate::model::{BudgetLine, PlannedThread, Source};
use crate::terminal::json::document;
use crate::terminal::screen::{Screen, Signs};
use crate::trade::Sewing;
use crate::units::LengthUnit;

fn forecast() -> Forecast {
    let cord = PlannedThread { level: None, ..thread("new cord", 0.5) };
    let two_on = Sewing::new(24, 4, 2, 3).unwrap();
    Forecast {
        budget: vec![
            BudgetLine { source: Source::Thread, share: 0.6 },
            BudgetLine { source: Source::Sewing, share: 0.397 },
            BudgetLine { source: Source::Fold, share: 0.003 },
        ],
        advice: Advice { remedy: Remedy::TryThread(vec!["new cord".to_owned()]), percent: 60.0 },
        ..test_plan::forecast(plan(paper("heron wove"), cord, two_on))
    }
}

fn said(forecast: &Forecast, width: usize) -> String {
    forecast_text(forecast, &Config::default(), Screen::new(width, Signs::Plain))
}

/// What is said about a forecast whose uncertainty has these sources.
fn said_of(sources: [(Source, f64); 6]) -> String {
    let budget = sources.map(|(source, share)| BudgetLine { source, share }).to_vec();
    said(&Forecast { budget, ..forecast() }, 400)
}

#[test]
fn a_forecast_is_said_odds_first() {
    let wanted = "\
24 sections of 4 sheets (192 leaves) of heron wove, new cord (new thread), sewn
two-on, the first and last 3 sections all along, knocked down.

Target 25 to 35 %: 68 % chance of meeting it.
Swell: 31 % of the fore-edge, 90 % range 27 to 35 %; that is 6.2 mm, range 5.4
to 7.0 mm.
  swell                     :::::###############o#############=
  nominal   ================###########o######################=======
           20              25                               35      38 %
  : the target, = 90 % range, # both, o the middle
Fore-edge: 20.0 mm, give or take 0.4 mm (predicted). Nominal figures alone give
28 % (5.7 mm), a 31 % chance of meeting the target.

What makes this uncertain: this thread 60 %, variation between sewings 40 %.
To narrow the range, sew a trial block with new cord. That addresses 60 % of the
uncertainty. Based on 9 trials.";
    assert_eq!(said(&forecast(), 80), wanted);
}

#[test]
fn the_screen_follows_the_unit_and_json_stays_in_millimetres() {
    let text = forecast_text(
        &forecast(),
        &Config { unit: LengthUnit::Inch, ..Config::default() },
        Screen::new(80, Signs::Plain),
    );
    let unwrapped = text.replace('\n', " ");
    assert!(unwrapped.contains("0.245 in, range 0.212 to 0.278 in"), "{text}");
    let json: serde_json::Value = serde_json::from_str(&document(&forecast())).unwrap();
    assert_eq!(json["swell_mm"]["q50"], 6.22);
    assert_eq!(json["effective_draws"], 412);
    assert_eq!(json["target"]["name"], "25..35");
}

#[test]
fn without_a_target_there_is_no_chance() {
    let forecast = Forecast { target: None, chance: None, ..forecast() };
    assert!(!said(&forecast, 80).contains("Target"));
    let json: serde_json::Value = serde_json::from_str(&document(&forecast)).unwrap();
    assert!(json["target"].is_null() && json["chance"].is_null());
}

#[test]
fn of_many_causes_the_largest_are_named_and_the_rest_is_summed() {
    let text = said_of([
        (Source::Knocking, 0.44),
        (Source::Coefficients, 0.22),
        (Source::Sewing, 0.13),
        (Source::Stage, 0.10),
        (Source::ForeEdge, 0.07),
        (Source::Paper, 0.04),
    ]);
    let wanted = "What makes this uncertain: variation in knocking down 44 %, what all papers share \
                  (hardness, depth, length, hammer, boning) 22 %, variation between sewings 13 %, \
                  variation between measurements of one block 10 %, the rest 11 %.";
    assert!(text.contains(wanted), "{text}");
}

#[test]
fn whole_per_cents_of_the_sources_add_up() {
    let text = said_of([
        (Source::Knocking, 0.3862),
        (Source::Coefficients, 0.3061),
        (Source::Sewing, 0.1857),
        (Source::Stage, 0.061),
        (Source::ForeEdge, 0.05),
        (Source::Paper, 0.011),
    ]);
    let offset = said_of([
        (Source::Coefficients, 0.673),
        (Source::Sewing, 0.142),
        (Source::Stage, 0.118),
        (Source::ForeEdge, 0.112),
        (Source::Fold, 0.001),
        (Source::Paper, -0.046),
    ]);
    let wanted = "boning) 67 %, variation between sewings 14 %, variation between measurements of \
                  one block 12 %, the thickness of the fore-edge 11 %, less 4 % because they \
                  partly offset each other.";
    assert!(offset.contains(wanted), "{offset}");
    // Rounded one by one, 18.57 % would be 19 and the sum 101.
    for figure in ["down 39 %", "boning) 31 %", "sewings 18 %", "block 6 %", "the rest 6 %"] {
        assert!(text.contains(figure), "{figure}: {text}");
    }
}
