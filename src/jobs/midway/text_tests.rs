//! Tests of the text of `midway`, with every figure set by hand.

use super::answer::{Course, Midway, Verdict};
use super::answer_changes::{Pattern, Resewing, Resewn};
use super::answer_part::PartSeen;
use super::text::midway_text;
use super::text_json::midway_json;
use crate::book::Config;
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::forecast::answer_test_plan::{self as test_plan, paper, plan, thread};
use crate::model::Gaussian;
use crate::model::mixed::Summary;
use crate::terminal::screen::{Screen, Signs};
use crate::trade::{Sewing, State};

fn forecast(chance: f64, middle: f64, give: f64) -> Forecast {
    let (q05, q50, q95) = ((middle - give) / 5.0, middle / 5.0, (middle + give) / 5.0);
    let sewing = Sewing::new(24, 4, 1, 0).unwrap();
    Forecast {
        fore_edge: Gaussian { mean: 20.04, sd: 0.11 },
        swell: Summary { mean: q50, sd: 0.6 * (q95 - q50), q05, q50, q95 },
        percent: PercentRange {
            q05: middle - give,
            q25: middle - 0.4 * give,
            q50: middle,
            q75: middle + 0.4 * give,
            q95: middle + give,
        },
        chance: Some(chance),
        ..test_plan::forecast(plan(paper("heron wove"), thread("cord A", 0.5), sewing))
    }
}

fn midway() -> Midway {
    let pattern = Pattern { on: 2, first: 0, last: 3 };
    let two_on = Resewn { sewing: Some(pattern), ..Resewn::default() };
    let percent = PercentRange { q05: 27.2, q25: 28.5, q50: 29.4, q75: 30.3, q95: 31.7 };
    Midway {
        before: forecast(0.684, 33.0, 4.0),
        after: forecast(0.12, 38.0, 3.0),
        part: PartSeen {
            sewn: 8,
            state: State::Sewn,
            swell_mm: 3.13,
            expected: Summary { mean: 2.71, sd: 0.20, q05: 2.38, q50: 2.71, q95: 3.04 },
            off: 2.1,
            tail: 0.034,
            fore_edge_mm: 6.68,
            doubt: None,
        },
        verdict: Some(Verdict {
            advice: Course::Change,
            going_on: 0.12,
            changing: Some(0.962),
            beginning_again: 0.55,
        }),
        again: None,
        inside: None,
        less: Vec::new(),
        changes: vec![Resewing { changed: two_on, chance: 0.962, percent }],
    }
}

#[test]
fn the_course_comes_first_and_then_how_it_is_known() {
    let wanted = "\
24 sections of 4 sheets (192 leaves) of heron wove, cord A, sewn all along,
knocked down. 8 of the 24 are sewn, measured as sewn.

Change the 16 sections left: two-on but for the last 3 sections. The chance of
meeting the target (25 to 35 %) is then 96 %; going on as planned, 12 %.
With this reading: 38 % of the fore-edge, 90 % range 35 to 41 %; that is 7.6 mm,
range 7.0 to 8.2 mm. Without it: 33 % (29 to 37), a 68 % chance of the target.
Fore-edge of the finished book: 20.04 mm, give or take 0.11 mm (from the part).
  before        ::::::::::::::##############o######=======
  with reading  ::::::::::::::::::::::::::::::::::#==========o==========
  best change   ::::::::#######o########:::::::::::
                25                               35                 41 %
  : the target, = 90 % range, # both, o the middle
The 8 sections sewn have 3.13 mm of swell. Expected was 2.71 mm, give or take
0.20 mm: 2.1 times the usual difference, which happens in 3 % of cases: measure
it again before you act on it.

Choices for the 16 sections left, with the odds of the target and the swell:
  12 %  go on as planned: 38 % (35 to 41)
  96 %  two-on but for the last 3 sections: 29 % (27 to 32)
  55 %  stop, and sew the same plan again from the first section
Change only to a thread and a sewing that you would trust to hold this book.
Based on 9 trials and the 8 sections sewn.";
    assert_eq!(midway_text(&midway(), &Config::default(), Screen::new(80, Signs::Plain)), wanted);
}

#[test]
fn changes_are_left_out_where_the_whole_would_not_be_in_sight() {
    let mut all = midway();
    let change = all.changes[0].clone();
    let lines = |midway: &Midway, width| {
        let text = midway_text(midway, &Config::default(), Screen::new(width, Signs::Plain));
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        (text.lines().count(), words.matches("two-on but for").count())
    };
    let (short, _) = lines(&all, 80);
    all.changes = vec![change; 20];
    let (long, named) = lines(&all, 80);
    assert!(short < 24 && long == 24, "{short} {long}");
    // Once in the answer, and once in each line.
    assert_eq!(named, 1 + 1 + 24 - short);
    assert_eq!(lines(&all, 40).1, 1 + 1, "the best is always there");
}

#[test]
fn at_sixty_columns_no_line_is_wider() {
    for advice in [Course::GoOn, Course::Change, Course::Stop] {
        let mut midway = midway();
        midway.verdict = midway.verdict.map(|verdict| Verdict { advice, ..verdict });
        let text = midway_text(&midway, &Config::default(), Screen::new(60, Signs::Plain));
        assert!(text.lines().all(|line| line.chars().count() <= 60), "{text}");
    }
}

#[test]
fn each_course_is_said_in_its_own_words() {
    let said = |advice, changes: bool| {
        let mut midway = midway();
        midway.verdict = midway.verdict.map(|verdict| Verdict { advice, ..verdict });
        if !changes {
            midway.changes.clear();
        }
        midway_text(&midway, &Config::default(), Screen::new(400, Signs::Plain))
    };
    assert!(
        said(Course::GoOn, true)
            .contains("\n\nGo on: the chance of meeting the target (25 to 35 %) is 12 %")
    );
    assert!(said(Course::GoOn, false).contains("No change improves it."));
    let stop = said(Course::Stop, true);
    assert!(
        stop.contains("\n\nStop: the chance of meeting the target") && stop.contains("conservator"),
        "{stop}"
    );
    assert!(said(Course::Stop, false).contains("no change of the 16 sections left improves it"));
    assert!(!said(Course::GoOn, true).contains("conservator"));
}

#[test]
fn without_a_target_it_says_only_where_it_will_end() {
    let blind = |forecast| Forecast { target: None, chance: None, ..forecast };
    let all = midway();
    let midway = Midway {
        before: blind(all.before),
        after: blind(all.after),
        verdict: None,
        changes: Vec::new(),
        ..all
    };
    let text = midway_text(&midway, &Config::default(), Screen::new(80, Signs::Plain));
    assert!(!text.contains("odds") && !text.contains("chance"), "{text}");
    let json: serde_json::Value = serde_json::from_str(&midway_json(&midway)).unwrap();
    assert!(json["verdict"]["advice"].is_null() && json["before"]["chance"].is_null());
}

#[test]
fn json_holds_a_forecast_and_what_is_said_of_it() {
    let json: serde_json::Value = serde_json::from_str(&midway_json(&midway())).unwrap();
    assert_eq!((&json["chance"], &json["before"]["chance"]), (&0.12.into(), &0.684.into()));
    assert_eq!(json["verdict"]["advice"], "change");
    let change = &json["changes"][0];
    assert_eq!((&change["on"], &change["ends"]), (&2.into(), &3.into()));
    assert!(change["thread"].is_null() && change["boned"].is_null());
    assert_eq!(change["what"], "two-on but for the last 3 sections");
}
