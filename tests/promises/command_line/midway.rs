//! `midway` as a binder or a script uses it, and the changes that it finds.

use crate::evidence::sampler::imported;
use crate::support::folder::{Folder, Run, TOUR_PLAN};
use serde_json::Value;
use swellbook::jobs::fitted::Bench;
use swellbook::jobs::midway::answer::{Course, Midway, midway};
use swellbook::jobs::midway::answer_changes::{Pattern, Resewn};
use swellbook::jobs::midway::answer_part::Part;
use swellbook::jobs::plan_spec::answer_band::Band;
use swellbook::model::{Gaussian, PartReading, PartwayFit, Plan};
use swellbook::trade::{Sewing, State};

const PART: [&str; 6] = ["--sewn", "8", "--spine", "9.60,9.66", "--fore-edge", "6.86,6.90"];

fn on(folder: &Folder, args: &[&[&str]]) -> Run {
    folder.on_tour(&args.concat())
}

#[test]
fn before_the_reading_midway_agrees_with_predict_to_the_last_digit() {
    let folder = Folder::toured();
    let aimed = ["--target", "rounded-backed", "--json"];
    let predicted = on(&folder, &[&["predict"], &TOUR_PLAN, &aimed]).json();
    let part_way = on(&folder, &[&["midway"], &TOUR_PLAN, &PART, &aimed]).json();
    for field in ["swell_mm", "swell_percent", "chance", "fore_edge_mm"] {
        assert_eq!(part_way["before"][field], predicted[field], "{field}");
        assert_ne!(part_way[field], predicted[field], "{field} has learnt nothing");
    }
    for field in ["plan", "sections", "leaves", "trials_used", "target", "nominal"] {
        assert_eq!(part_way[field], predicted[field], "{field}");
    }
}

#[test]
fn a_fore_edge_measured_on_the_folded_block_is_kept() {
    let folder = Folder::toured();
    let folded =
        on(&folder, &[&["midway"], &TOUR_PLAN, &PART, &["--folded", "20.5", "--json"]]).json();
    assert_eq!(folded["fore_edge_mm"]["mean"], 20.5);
    let measured =
        on(&folder, &[&["predict"], &TOUR_PLAN, &["--fore-edge", "20.5", "--json"]]).json();
    assert_eq!(folded["before"]["fore_edge_mm"], measured["fore_edge_mm"]);
    let text = on(&folder, &[&["midway"], &TOUR_PLAN, &PART, &["--folded", "20.5"]]).ends(0).out;
    assert!(text.replace('\n', " ").contains("(as measured folded)"), "{text}");
}

#[test]
fn a_folded_block_that_its_part_contradicts_is_to_be_measured_again() {
    let folder = Folder::toured();
    let said = |folded| {
        on(&folder, &[&["midway"], &TOUR_PLAN, &PART, &["--folded", folded, "--json"]]).json()
            ["measure_again"]
            .clone()
    };
    // The part makes 20.6 mm for the whole.
    for (folded, doubt) in [("20.6", None), ("21.2", None), ("24", Some("folded"))] {
        assert_eq!(said(folded).as_str(), doubt, "{folded}");
    }
}

/// The options of the part, with one of them changed or added.
fn with<'a>(flag: &'a str, value: &'a str) -> Vec<&'a str> {
    let mut part = PART.to_vec();
    match part.iter().position(|known| *known == flag) {
        Some(at) => part[at + 1] = value,
        None => part.extend([flag, value]),
    }
    part
}

#[test]
fn a_slipped_reading_of_a_part_is_named() {
    let folder = Folder::toured();
    let said = |spine| on(&folder, &[&["midway"], &TOUR_PLAN, &with("--spine", spine)]).ends(0).err;
    let note = "10.05 mm is out of line with the other readings of its edge and counts less";
    assert!(said("9.60,9.66,10.05").contains(note), "{}", said("9.60,9.66,10.05"));
    assert!(!said("9.60,9.66,9.70").contains("out of line"));
}

/// A section of this book is an eighth of the part, and its fore-edge ratio is known to a few per
/// cent.
#[test]
fn a_part_with_more_or_fewer_sections_than_said_is_to_be_counted_again() {
    let folder = Folder::toured();
    let said = |sewn, more: &[&str]| {
        on(&folder, &[&["midway"], &TOUR_PLAN, &with("--sewn", sewn), more]).ends(0).out
    };
    for sewn in ["7", "9", "10"] {
        let again = format!("which fits 8 sections better than {sewn}. Count the sections sewn.");
        let found = said(sewn, &[]).replace('\n', " ");
        assert!(found.contains(&again), "{found}");
        let json = on(&folder, &[&["midway"], &TOUR_PLAN, &with("--sewn", sewn), &["--json"]]);
        assert_eq!(json.json()["measure_again"], "miscounted");
    }
    assert!(!said("8", &[]).contains("Count the"));
    assert!(!said("9", &["--sure"]).contains("Count the"));
}

#[test]
fn an_impossible_part_is_refused_by_its_flag() {
    let folder = Folder::toured();
    let before = folder.bytes();
    let cases: [(&str, &str, &[&str]); 9] = [
        ("--sewn", "0", &["--sewn", "no section is sewn yet", "swellbook predict"]),
        ("--sewn", "24", &["--sewn", "all 24 sections are sewn", "1 to 23", "record trial"]),
        ("--sewn", "30", &["--sewn", "30 sections are more than the 24", "record trial"]),
        ("--sewn", "eight", &["--sewn", "'eight' is not a whole number"]),
        ("--spine", "96.0,96.6", &["--spine", "96 mm is outside", "typed in tenths?"]),
        ("--fore-edge", "30.6", &["--fore-edge", "30.6 mm is outside", "8 sections sewn"]),
        ("--spine", "3.3", &["--spine, --fore-edge", "thinner than half the fore-edge"]),
        ("--measured", "unsewn", &["--measured", "no swell to learn from"]),
        ("--measured", "swen", &["--measured", "'swen'", "sewn"]),
    ];
    for (flag, value, parts) in cases {
        on(&folder, &[&["midway"], &TOUR_PLAN, &with(flag, value)]).ends(3).complains_of(parts);
    }
    let of_one = |sewn| {
        let one = ["--sections=1", sewn, "--spine=1.4", "--fore-edge=0.9"];
        on(&folder, &[&["midway"], &TOUR_PLAN[..4], &["--sheets=4"], &one]).ends(3)
    };
    of_one("--sewn=1").complains_of(&["--sewn: a book of 1 section has no part-way"]);
    of_one("--sewn=2").complains_of(&["more than the 1 of the book; a book of 1 section has no"]);
    on(&folder, &[&["midway"], &TOUR_PLAN, &PART[..4]]).ends(2).complains_of(&["--fore-edge"]);
    assert_eq!(folder.bytes(), before);
}

#[test]
fn a_part_that_ends_inside_a_traverse_is_noted_with_the_nearest_stops() {
    let folder = Folder::toured();
    let part = |sewn| ["--sewn", sewn, "--spine", "9.2", "--fore-edge", "6.9", "--sure"];
    let err = |sewn, sewing: &[&str]| {
        on(&folder, &[&["midway"], &TOUR_PLAN, sewing, &part(sewn)]).ends(0).err
    };
    let three_on = ["--on=3", "--ends=3"];
    assert_eq!(err("9", &three_on), "");
    assert_eq!(err("8", &["--on=2", "--ends=2"]), "");
    let says = "note: a part of 8 ends inside a traverse, which takes sections 7 to 9; measure \
                after 6 or after 9";
    assert!(err("8", &three_on).contains(says), "{}", err("8", &three_on));
    let inside = |sewn| {
        let asked: [&[&str]; 5] = [&["midway"], &TOUR_PLAN, &three_on, &part(sewn), &["--json"]];
        on(&folder, &asked).ends(0).json()["inside"].clone()
    };
    assert_eq!(inside("8"), serde_json::json!({ "before": 6, "after": 9 }));
    assert!(inside("9").is_null());
    assert!(err("8", &["--on=6"]).contains("sections 7 to 12; measure after 6 or after 12"));
    // A traverse crosses from a run to the next, unless the thread changes.
    let mixed = |sewn, second: &str| {
        let runs = ["sections=5,sheets=4,on=2", second].map(|run| format!("--run={run}"));
        let runs = runs.each_ref().map(String::as_str);
        on(&folder, &[&["midway"], &TOUR_PLAN[..4], &runs, &part(sewn)]).ends(0).err
    };
    let alike = "sections=7,sheets=4,on=2";
    assert!(mixed("5", alike).contains("sections 5 to 6; measure after 4 or after 6"));
    assert!(!mixed("6", alike).contains("traverse"), "{}", mixed("6", alike));
    let thicker = mixed("5", &format!("{alike},thread=flax 18/3"));
    assert!(!thicker.contains("inside a traverse"), "{thicker}");
}

#[test]
fn a_stop_names_the_danger_of_the_knife() {
    let folder = Folder::toured();
    let stop = on(&folder, &[&["midway"], &TOUR_PLAN, &PART, &["--target", "0..8"]]).ends(0).out;
    assert!(stop.contains("\nStop: ") && stop.contains("conservator"), "{stop}");
    let help = folder.run(&["midway", "--help"]).ends(0).out;
    assert!(help.contains("knife") && help.contains("conservator"), "{help}");
}

/// A plan of 20 sections on the book of six trials, with 8 sections sewn and measured.
struct Bound {
    bench: Bench,
    plan: Plan,
    part: Part,
    book: swellbook::book::Book,
    _dir: tempfile::TempDir,
}

impl Bound {
    fn new() -> Self {
        let (dir, book) = imported("six_trials");
        let bench = Bench::of(&book).expect("a fit");
        let paper = bench.paper(&"Heron bond".parse().expect("a name")).expect("a paper");
        let thread = bench.thread(&"cord A".parse().expect("a name")).expect("a thread");
        let sewing = Sewing::new(20, 5, 1, 0).expect("a sewing");
        let run = swellbook::model::Run { paper, thread, sewing, boned: false };
        let plan = Plan::new(vec![run], State::Knocked).expect("a plan");
        let (spine, fore_edge) = (vec![9.95, 10.05], vec![7.78, 7.83]);
        let part = Part { sewn: 8, state: State::Sewn, spine, fore_edge };
        Self { bench, plan, part, book, _dir: dir }
    }

    fn asked(&self, low: f64, high: f64) -> Midway {
        let band = Band::new(low, high).expect("a band");
        midway(&self.book, &self.bench, self.plan.clone(), &self.part, Some(band)).expect("odds")
    }
}

#[test]
fn too_much_swell_wants_less_thread_and_too_little_wants_more() {
    let bound = Bound::new();
    let end = bound.asked(0.0, 100.0).after.percent;
    let less = bound.asked(end.q05 - 8.0, end.q05 - 1.0);
    assert!(!less.changes.is_empty());
    assert!(less.changes.iter().all(|change| change.percent.q50 < end.q50), "{:?}", less.changes);
    let more = bound.asked(end.q95 + 0.5, end.q95 + 8.0);
    assert!(!more.changes.is_empty());
    assert!(more.changes.iter().all(|change| change.percent.q50 > end.q50), "{:?}", more.changes);
    let thread = |change: &Resewn| change.thread.as_ref().map(|thread| thread.diameter_mm);
    assert!(more.changes.iter().any(|change| thread(&change.changed) > Some(0.48)));
    let fine = bound.asked(end.q05 - 5.0, end.q95 + 5.0);
    let verdict = fine.verdict.expect("a target was given");
    assert!(verdict.advice == Course::GoOn && verdict.going_on > 0.9, "{verdict:?}");
}

/// A change is a plan of two runs: the part as sewn, and the rest sewn differently. Its odds come
/// from the fit that includes the part.
#[test]
fn a_change_has_the_odds_of_its_plan() {
    let bound = Bound::new();
    let end = bound.asked(0.0, 100.0).after.percent;
    let (low, high) = (0.7 * end.q50, 0.8 * end.q50);
    let changes = bound.asked(low, high).changes;
    // Of the 9 sections before the last 3, one would be left over.
    let pattern = Pattern { on: 2, first: 0, last: 4 };
    let two_on = Resewn { sewing: Some(pattern), ..Resewn::default() };
    let found = changes.iter().find(|change| change.changed == two_on).expect("two-on helps");
    let edge = |readings: &[f64]| {
        let (mean, sd) = bound.bench.observations.measured_edge(readings).expect("readings");
        Gaussian { mean, sd }
    };
    let (spine, fore_edge) = (edge(&bound.part.spine), edge(&bound.part.fore_edge));
    let reading = PartReading { sewn: 8, state: State::Sewn, spine, fore_edge };
    let all = &bound.bench.observations;
    let beliefs = swellbook::model::Beliefs::default();
    let fit = PartwayFit::new(all, &beliefs, &bound.plan, &reading).expect("a fit");
    let whole = &fit.plan().runs()[0];
    let sewn = |sections, on, last| {
        let sewing = Sewing::new(sections, 5, on, 0).and_then(|sewing| sewing.with_ends(0, last));
        swellbook::model::Run { sewing: sewing.expect("a sewing"), ..whole.clone() }
    };
    let plan = fit.plan().with_runs(vec![sewn(8, 1, 0), sewn(12, 2, 4)]).expect("a plan");
    let prediction = fit.predict_each(&[plan]).remove(0);
    assert_eq!(found.chance, prediction.chance(low, high));
    assert_eq!(found.percent.q50, prediction.percent_quantile(0.5));
}

/// A run and a smaller last section, asked for as one run, or as the change says.
#[test]
fn a_change_of_several_runs_leaves_the_last_sections_of_the_whole_book_all_along() {
    let folder = Folder::toured();
    let part = ["--sewn=8", "--spine=9.60,9.66", "--fore-edge=6.86,6.90", "--target=20..24"];
    let midway = |plan: &[&str]| {
        on(&folder, &[&["midway", "--json"], &TOUR_PLAN[..4], &part, plan]).ends(0).json()
    };
    let planned = midway(&["--leaves=164", "--sheets=4", "--left-over=smaller"]);
    // Of the 10 sections before the last 3, one would be left over.
    let three_on = "three-on but for the last 4 sections";
    let changes = planned["changes"].as_array().expect("changes");
    let change = changes.iter().find(|change| change["what"] == three_on).expect("three-on");
    let runs = ["sections=8,sheets=4", "sections=12,sheets=4,on=3,ends=0+3"];
    let runs = [runs[0], runs[1], "sections=1,sheets=2,on=3,ends=0+1"];
    let runs = runs.map(|run| format!("--run={run}"));
    let resewn = midway(&runs.each_ref().map(String::as_str));
    let chance = |of: &Value| of["chance"].as_f64().expect("a chance");
    assert!((chance(change) - chance(&resewn)).abs() < 1e-9, "{change} {}", chance(&resewn));
}

/// Over 5 and 8 sections of two threads no traverse is whole. With one thread for all, 9 of the 13
/// sections are three-on, or 10 two-on, and the rest all along.
#[test]
fn another_thread_lets_a_traverse_cross_between_runs() {
    let folder = Folder::toured();
    let runs = ["sections=13,sheets=4,thread=flax 25/3", "sections=8,sheets=4,thread=flax 18/3"];
    let part = ["--sewn=8", "--spine=9.9", "--fore-edge=6.8", "--target=18..26"];
    let asked = ["midway", "--paper", "Alder bond", "--run", runs[0], "--run", runs[1], "--json"];
    let changes = on(&folder, &[&asked, &part]).ends(0).json()["changes"].clone();
    let best = ["three-on but for the last 4 sections", "two-on but for the last 3 sections"];
    let best = best.map(|sewn| format!("thread flax 40/3, {sewn}"));
    assert_eq!(
        [0, 1].map(|place| changes[place]["what"].as_str()),
        best.each_ref().map(|it| Some(&**it))
    );
}

/// Five sections are left, and the last three stay all along: two-on can only begin with the first
/// two, and three-on not at all. With 12 sewn of a plan sewn two-on from the fourth section, a
/// traverse is begun, which takes the 13th.
#[test]
fn a_pattern_is_offered_only_where_a_traverse_is_left() {
    let folder = Folder::toured();
    let changes = |plan: &[&str], part: &[&str]| {
        let asked = [&["midway", "--json"], &TOUR_PLAN[..4], &["--sheets=4"], plan, part].concat();
        let changes = folder.on_tour(&asked).ends(0).json()["changes"].clone();
        let what = |change: &Value| change["what"].as_str().expect("words").to_owned();
        changes.as_array().expect("changes").iter().map(what).collect::<Vec<_>>()
    };
    for low in 16..36 {
        let target = format!("--target={low}..{}", low + 3);
        let part = ["--sewn=19", "--spine=20.2", "--fore-edge=16.12", "--sure", &target];
        let what = changes(&["--sections=24", "--on=2", "--ends=3"], &part);
        assert!(!what.iter().any(|what| what.contains("three-on")), "{low}: {what:?}");
        let part = ["--sewn=12", "--spine=13.0", "--fore-edge=10.3", "--sure", &target];
        let what = changes(&["--sections=36", "--on=2", "--ends=3"], &part);
        let whole = |what: &String| !what.contains("three-on") || what.contains("last 5 sections");
        assert!(what.iter().all(whole), "{low}: {what:?}");
        // Only two of the first three sections are sewn.
        let part = ["--sewn=2", "--spine=1.9", "--fore-edge=1.7", "--sure", &target];
        let what = changes(&["--sections=24"], &part);
        // Of the 22 left, the first and the last three are sewn all along.
        let ends = "two-on but for the first section and the last 3 sections";
        let whole = |what: &String| !what.contains("two-on") || what.contains(ends);
        assert!(what.iter().all(whole), "{low}: {what:?}");
    }
}

/// The odds fall in order, none is worse than going on, and two changes do more than one of them.
#[test]
fn the_best_changes_come_first_and_each_of_them_helps() {
    let bound = Bound::new();
    let end = bound.asked(0.0, 100.0).after.percent;
    for share in [0.5, 0.65, 0.8, 0.95, 1.1, 1.3] {
        let found = bound.asked(share * end.q50 - 1.5, share * end.q50 + 1.5);
        let going_on = found.verdict.expect("a target").going_on;
        let odds: Vec<f64> = found.changes.iter().map(|change| change.chance).collect();
        assert!(odds.iter().all(|&chance| chance > going_on), "{share}: {odds:?}");
        assert!(odds.windows(2).all(|pair| pair[0] > pair[1] - 0.01), "{share}: {odds:?}");
        assert!(odds.len() <= 5);
        assert_eq!(found.verdict.and_then(|verdict| verdict.changing), odds.first().copied());
    }
}
