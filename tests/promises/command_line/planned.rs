//! A planned book means the same however it is described.

use crate::support::folder::Folder;
use crate::support::same_cases;
use proptest::prelude::*;
use serde_json::Value;
use swellbook::book::read_plan_file;
use swellbook::trade::{Guards, Pairs};
use swellbook::units::LengthUnit;

const BASE: [&str; 5] = ["--book", "tour", "predict", "--json", "--target=rounded"];

fn predicted(folder: &Folder, args: &[&str]) -> Value {
    folder.run(&[&BASE[..], args].concat()).json()
}

const ALONG: [&str; 8] =
    ["--paper", "Quay laid", "--thread", "flax 25/3", "--sections", "20", "--sheets", "4"];

/// The same book two-on, with more flags.
fn flags<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&ALONG[..], &["--on", "2", "--ends", "3"], more].concat()
}

#[test]
fn a_run_and_a_file_mean_the_same_as_flags() {
    let folder = Folder::toured();
    let wanted = predicted(&folder, &flags(&["--boned"]));
    let run = "paper=Quay laid,thread=flax 25/3,sections=20,sheets=4,on=2,ends=3,boned=yes";
    assert_eq!(predicted(&folder, &["--run", run]), wanted);
    let rest = ["--thread", "flax 25/3", "--sheets", "4", "--on", "2", "--ends", "3", "--boned"];
    let short = [&["--run", "paper=Quay laid,leaves=160"], &rest[..]].concat();
    assert_eq!(predicted(&folder, &short), wanted);
    let file = "target = '1..2'\n[[run]]\npaper = 'Quay laid'\nthread = 'flax 25/3'\npages = 320\n\
                sheets = 4\non = 2\nends = 3\nboned = true\n";
    folder.write("plan.toml", file);
    assert_eq!(predicted(&folder, &["--plan", "plan.toml"]), wanted);
    let piped = [&BASE[..], &["--plan", "-"]].concat();
    assert_eq!(folder.run_with(&piped, file.as_bytes()).json(), wanted);
}

/// Two parts of one paper, thread and sewing are the same book, with one fore-edge.
#[test]
fn a_run_in_two_parts_is_one_run() {
    let folder = Folder::toured();
    let whole = predicted(&folder, &ALONG);
    let part = |sections| format!("paper=Quay laid,thread=flax 25/3,sections={sections},sheets=4");
    let parts = predicted(&folder, &["--run", &part(13), "--run", &part(7)]);
    for figure in [
        "/swell_mm/mean",
        "/swell_mm/sd",
        "/swell_percent/q05",
        "/swell_percent/q95",
        "/fore_edge_mm/mean",
        "/fore_edge_mm/sd",
        "/chance",
        "/nominal/swell_percent",
    ] {
        let [one, two] = [&whole, &parts].map(|all| all.pointer(figure).unwrap().as_f64().unwrap());
        assert!((one - two).abs() < 1e-7 * (1.0 + one.abs()), "{figure}: {one} {two}");
    }
}

#[test]
fn leaves_left_over_are_reported_with_both_ways() {
    let folder = Folder::toured();
    let flags = ["--paper", "Quay laid", "--thread", "flax 25/3", "--sheets", "4"];
    let leaves =
        |count, way: &[&str]| predicted(&folder, &[&flags[..], &["--leaves", count], way].concat());
    let blank = leaves("190", &[]);
    assert_eq!((blank["sections"].as_u64(), blank["leaves"].as_u64()), (Some(24), Some(192)));
    assert_eq!(blank["left_over"][0]["blank"]["blank_leaves"], 2);
    assert_eq!(blank["left_over"][0]["smaller"]["smaller_section_sheets"], 3);
    let smaller = leaves("190", &["--left-over", "smaller"]);
    assert_eq!((smaller["sections"].as_u64(), smaller["leaves"].as_u64()), (Some(24), Some(190)));
    assert_eq!(smaller["plan"]["runs"][1]["sheets"], 3);
    assert_eq!(leaves("192", &[])["left_over"].as_array().map(Vec::len), Some(0));
    let text = folder.on_tour(&[&["predict", "--leaves", "190"], &flags[..]].concat());
    assert!(text.ends(0).out.contains("with 2 blank leaves"));
}

/// The ends of a mixed book are its own first and last sections, not the ends of every run.
#[test]
fn the_ends_of_a_mixed_book_are_those_of_the_whole() {
    let folder = Folder::toured();
    let whole = predicted(&folder, &flags(&[]));
    let run = |sections| format!("paper=Quay laid,thread=flax 25/3,sections={sections},sheets=4");
    let parts = ["--run", &run(18), "--run", &run(2), "--on", "2", "--ends", "3"];
    let mixed = predicted(&folder, &parts);
    let mean = |all: &Value| all["swell_mm"]["mean"].as_f64().unwrap();
    assert!((mean(&whole) - mean(&mixed)).abs() < 1e-9);
    let twice = format!("{},ends=1", run(18));
    let other = run(2);
    let refused = [&BASE[..], &["--ends", "1", "--run", &twice, "--run", &other]].concat();
    folder.run(&refused).ends(3).complains_of(&["run 1, ends: --ends gives the ends"]);
}

#[test]
fn guards_add_what_their_sheets_add() {
    let folder = Folder::toured();
    let plain = predicted(&folder, &flags(&[]));
    let guarded = |guards| predicted(&folder, &flags(&["--guards", guards]));
    let mean = |all: &Value| all["swell_mm"]["mean"].as_f64().unwrap();
    // By hand: 2 × 0.02 × 1 × 20 = 0.8 mm, and 10 sheets in all make 0.4 mm.
    for (guards, mm) in
        [("tissue=0.02mm,per-section=1", 0.8), ("tissue=20um,sheets=10", 0.4), ("0.4mm", 0.4)]
    {
        let found = guarded(guards);
        assert!((mean(&found) - mean(&plain) - mm).abs() < 1e-9, "{guards}");
        assert!((found["plan"]["guards_mm"].as_f64().unwrap() - mm).abs() < 1e-12);
    }
}

#[test]
fn both_wants_are_shown_and_the_geometry_says_that_it_is_an_approximation() {
    let folder = Folder::toured();
    let shape = ["--round", "90", "--shoulder", "2.5mm"];
    let both = predicted(&folder, &flags(&shape));
    assert_eq!(both["target"]["name"], "rounded");
    // By hand from docs/model.md, with the mean fore-edge T: (T + 5)·1.1107207 − T.
    let edge = both["fore_edge_mm"]["mean"].as_f64().unwrap();
    let wanted = (edge + 5.0) * 1.110_720_7 - edge;
    assert!((both["geometry"]["swell_mm"].as_f64().unwrap() - wanted).abs() < 1e-5);
    let alone = folder.on_tour(&[&["predict"], &flags(&shape)[..]].concat()).ends(0).out;
    assert!(alone.contains("an approximation") && alone.contains("Target "), "{alone}");
}

#[test]
fn all_faults_of_a_file_are_reported_at_once() {
    let folder = Folder::toured();
    let file = "state = 'dry'\n[[run]]\npaper = 'Quay lad'\nthread = 'q'\nsections = 0\nsheets = 4\n\
                [[run]]\npaper = 'Quay laid'\nthread = 'flax 25/3'\nsections = 2\nsheets = 4\n\
                ends = 2\n";
    folder.write("plan.toml", file);
    let run = folder.on_tour(&["predict", "--plan", "plan.toml"]).ends(3);
    run.complains_of(&[
        "plan.toml:1: state: 'dry'",
        "plan.toml:3: paper: no paper 'Quay lad' in the book; did you mean 'Quay laid'?",
        "plan.toml:4: thread: no thread 'q'",
        "plan.toml:5: sections: 0 is outside",
        "plan.toml:12: ends: 2 at each end is too many for",
    ]);
}

/// Options can change a file of one run. With several runs, an option does not say which it means.
#[test]
fn options_change_a_file_of_one_run() {
    let folder = Folder::toured();
    let run = "[[run]]\npaper = 'Quay laid'\nthread = 'flax 25/3'\npages = 300\nsheets = 4\n";
    folder.write("plan.toml", run);
    let changed = ["--plan", "plan.toml", "--sections", "20", "--on", "2", "--ends", "3"];
    assert_eq!(predicted(&folder, &changed), predicted(&folder, &flags(&[])));
    folder.write("plan.toml", run.repeat(2));
    for flag in ["--paper", "--caliper", "--hardness", "--laid", "--count", "--material", "--on"] {
        let args = [&BASE[..], &["--plan", "plan.toml", flag, "1"]].concat();
        let why = "can change only a plan of one run, and the plan in plan.toml has 2";
        folder.run(&args).ends(2).complains_of(&[flag, why]);
    }
}

proptest! {
    #![proptest_config(same_cases(512, 20_261_125))]

    #[test]
    fn no_text_is_too_strange_for_a_run_a_guard_or_a_file(
        text in "(paper|tissue|run|\\[\\[run\\]\\]|[=,;\"'\n\\[\\]{}#.0-9a-z\\\\\u{0}\u{202e}é]){0,40}"
    ) {
        let _ = Pairs::parse(&text, &["paper", "sheets"]);
        let _ = Guards::parse(&text, LengthUnit::Millimetre);
        let _ = read_plan_file(text.as_bytes(), "plan.toml");
    }

    #[test]
    fn no_bytes_are_too_strange_for_a_file(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = read_plan_file(&bytes, "plan.toml");
    }
}
