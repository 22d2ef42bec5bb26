//! Tests of the text of `plan`, with every figure set by hand.

use super::answer_changes::{Change, Changed, Changes};
use super::answer_test_choices::{self as test_choices, choice};
use super::answer_view::ChoicesView;
use super::text::choices_text;
use super::text_json::choices_json;
use crate::book::Config;
use crate::terminal::screen::{Screen, Signs};
use crate::trade::{Caution, Sewing};

fn view(paper: &str, thread: &str) -> ChoicesView {
    let plain = choice(thread, Sewing::new(24, 4, 1, 0).unwrap(), false, 0.82);
    let mut shared = choice(thread, Sewing::new(32, 3, 2, 2).unwrap(), true, 0.31);
    shared.cautions = vec![Caution::SkippedKettles];
    let changed = Changed { change: Change::Boned, choice: plain.clone() };
    let current = Some(Changes { now: shared.clone(), changed: vec![changed], is_met: true });
    ChoicesView { current, ..test_choices::view(paper, vec![plain, shared]) }
}

fn text_of(view: &ChoicesView, width: usize) -> String {
    choices_text(view, &Config::default(), Screen::new(width, Signs::Plain))
}

#[test]
fn the_best_choice_is_said_first_and_a_warning_once() {
    let wanted = "\
Best: heron 25, 24 sections of 4 sheets, sewn all along: odds 82 %.

Planned book: 190 leaves of heron wove, knocked down, target 25 to 35 %.

   odds  swell, %       sections  thread    sewn                m  blank  notes
1  82 %  31 (27 to 35)  24 of 4   heron 25  all along         6.5      2
2  31 %  31 (27 to 35)  32 of 3   heron 25  two-on, ends 2,   6.5      2  1
                                            boned

Their swell against the target:
  1  ::::::::::##########################o########################==
  2  ::::::::::##########################o########################==
     25                                                         35  36 %
  : the target, = 90 % range, # both, o the middle

Notes (common practice):
  1  several sections to a traverse skip kettle stitches and hold less
     securely; sew the first and last three or four all along.

Your plan: heron 25, 32 sections of 3 sheets, sewn two-on, the first and last 2
sections all along, boned: odds 31 %, swell 31 % (27 to 35).
Single changes that help, greatest gain first:
  not boned: odds 82 % instead of 31 %, swell 31 % instead of 31 %

The best 2 of 96 combinations: 2 threads, 1 to 8 sheets to the section, all
along, two-on and three-on (the first and last three sections all along, unless
the row says how many), boned or not. Odds within 5 points of each other are
equal as far as the model can tell; among them the plainer and stronger sewing
comes first. Ranges of the swell are 90 % ranges; m is metres of thread for a
book 250 mm high (assumed; --height sets it), tails and waste included. Based on
9 trials.";
    assert_eq!(text_of(&view("heron wove", "heron 25"), 80), wanted);
}

#[test]
fn long_names_keep_to_the_width() {
    let long = "a thread of many words that somebody once wrote down in full";
    let view = view("a paper of just as many words, bought at the corner long ago", long);
    for width in [60, 80] {
        let text = text_of(&view, width);
        let widest = text.lines().map(|line| line.chars().count()).max();
        assert!(widest <= Some(width), "{width}:\n{text}");
        assert!(["82 %", "6.5", "two-on,"].iter().all(|part| text.contains(part)), "{text}");
    }
}

#[test]
fn the_sheets_that_the_guards_rule_out_are_named() {
    let view = ChoicesView { unguarded: vec![1, 2, 3], ..view("heron wove", "heron 25") };
    let text = text_of(&view, 400);
    let says = "1 to 8 sheets to the section (the guards rule out 1, 2 and 3), all along";
    assert!(text.contains(says), "{text}");
}

#[test]
fn it_is_said_first_when_nothing_meets_the_target() {
    let mut view = ChoicesView { is_met: false, current: None, ..view("heron wove", "heron 25") };
    (view.best[0].chance, view.most) = (0.02, 0.02);
    let wanted = "\
Nothing here meets the target: the best odds are 2 %. The nearest is heron 25,
24 sections of 4 sheets, sewn all along: swell 31 %, 90 % range 27 to 35 %.
";
    let text = text_of(&view, 80);
    assert!(text.starts_with(wanted), "{text}");
    let says = "The nearest 2 of 96 combinations: ";
    assert!(text.contains(says) && !text.contains("plainer"), "{text}");
    let json: serde_json::Value = serde_json::from_str(&choices_json(&view)).unwrap();
    assert_eq!((&json["met"], &json["nearest"]["sections"]), (&false.into(), &24.into()));
}

#[test]
fn json_has_the_row_as_it_is() {
    let view = view("heron wove", "heron 25");
    let json: serde_json::Value = serde_json::from_str(&choices_json(&view)).unwrap();
    let row = &json["choices"][1];
    assert_eq!((&row["on"], &row["ends"], &row["boned"]), (&2.into(), &2.into(), &true.into()));
    assert_eq!((&row["chance"], &row["thread_m"]), (&0.31.into(), &6.512.into()));
    let warning = row["warnings"][0].as_str().unwrap();
    assert!(warning.starts_with("skipped-kettles: several sections"), "{warning}");
    assert_eq!(json["changes"][0]["what"], "boned");
}
