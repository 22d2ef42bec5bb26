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
    let more = "target = 'nope'\nround = 400\nhand = 'Zed'\nguards = 'x'\n[[run]]\n\
                paper = 'Quay laid'\nthread = 'flax 25/3'\nsections = 0\nsheets = 99\non = 9\n\
                ends = 'x'\n";
    folder.write("more.toml", more);
    let run = folder.on_tour(&["predict", "--plan", "more.toml"]).ends(3);
    let keys = ["target", "round", "hand", "guards", "sections", "sheets", "on", "ends"];
    let places = [1, 2, 3, 4, 8, 9, 10, 11];
    for (line, key) in places.into_iter().zip(keys) {
        run.complains_of(&[&format!("more.toml:{line}: {key}: ")]);
    }
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

fn asked(folder: &Folder, args: &[&str]) -> Value {
    let args = [&["--book", "tour"], args, &["--json"]].concat();
    serde_json::from_str(&folder.run(&args).ends(0).out).expect("JSON")
}

fn noted(folder: &Folder, args: &[&str]) -> String {
    folder.run(&[&["--book", "tour"], args].concat()).ends(0).err
}

/// By hand: 100 leaves of 10.7 mm are 112 leaves of 11.984 mm.
#[test]
fn a_measured_fore_edge_grows_with_the_blank_leaves_in_every_command() {
    let folder = Folder::toured();
    let book = ["--paper", "Alder bond", "--leaves", "100", "--thread", "flax 25/3"];
    let aim = ["--sheets", "7", "--target", "15..19", "--fore-edge", "10.7"];
    let plan = [&["plan"], &book[..], &aim, &["--choice", "1", "--save", "fe"]].concat();
    let edge = |value: &Value| value["fore_edge_mm"]["mean"].as_f64().expect("a fore-edge");
    let planned = asked(&folder, &plan);
    assert!((edge(&planned) - 11.984).abs() < 1e-9, "{planned}");
    let saved = asked(&folder, &["predict", "--plan", "fe"]);
    assert_eq!((edge(&saved), &saved["chance"]), (edge(&planned), &planned["chance"]));
    let part = ["--sewn", "4", "--spine", "7.6", "--fore-edge", "5.9", "--sure"];
    let part_way = asked(&folder, &[&["midway", "--plan", "fe"], &part[..]].concat());
    assert_eq!(edge(&part_way["before"]), edge(&planned));
    let typed = [&["midway"], &book[..], &["--sheets", "7", "--folded", "10.7"], &part].concat();
    assert_eq!(edge(&asked(&folder, &typed)["before"]), edge(&planned));
    // Of other leaves it is given again.
    let again = ["predict", "--plan", "fe", "--fore-edge", "10.7"];
    let whole = [&again[..], &["--sections", "8"]].concat();
    assert_eq!(edge(&asked(&folder, &whole)), 10.7, "sections have no blank leaves");
    // The one leaf that completes a smaller section counts too: 101 leaves are 102.
    let smaller = [&again[..], &["--leaves", "101", "--left-over", "smaller"]].concat();
    assert!((edge(&asked(&folder, &smaller)) - 10.7 * 102.0 / 101.0).abs() < 1e-9);
}

/// `next` compares all ways to sew the leaves that were asked for, as `plan` does.
#[test]
fn the_best_odds_of_next_are_those_of_plan() {
    let folder = Folder::toured();
    let guards = "tissue=0.05mm,per-section=2";
    for (leaves, sheets, more) in [
        ("96", "4", &["--target", "30..34", "--guards", guards][..]),
        ("100", "7", &["--target", "20..22"]),
        ("100", "7", &["--target", "20..22", "--fore-edge", "10.7"]),
    ] {
        let book = [&["--paper", "Alder bond", "--leaves", leaves], more].concat();
        let all = asked(&folder, &[&["plan", "--all"], &book[..]].concat());
        let rows = all["choices"].as_array().expect("choices");
        let best = rows.iter().map(|row| row["chance"].as_f64().unwrap()).fold(0.0, f64::max);
        let own = ["--thread", "flax 25/3", "--sheets", sheets];
        let next = asked(&folder, &[&["next"], &book[..], &own].concat());
        let odds = next["best_odds"].as_f64().expect("odds");
        assert!((odds - best).abs() < 1e-9, "{leaves} {more:?}: {odds} {best}");
    }
}

#[test]
fn no_more_sheets_are_guarded_than_there_are() {
    let folder = Folder::toured();
    let [three, nine] = [3, 9].map(|sheets| format!("tissue=0.02mm,per-section={sheets}"));
    let plan = ["plan", "--paper", "Alder bond", "--leaves", "60", "--target", "150..200"];
    let rows = asked(&folder, &[&plan[..], &["--all", "--guards", &three]].concat());
    let sheets = rows["choices"].as_array().expect("choices").iter().map(|row| &row["sheets"]);
    assert_eq!(sheets.filter_map(Value::as_u64).min(), Some(3));
    let none = [&["--book", "tour"], &plan[..], &["--guards", &nine]].concat();
    folder
        .run(&none)
        .ends(3)
        .complains_of(&["--guards", "9 guarded sheets are more than a section"]);
    let told = folder.run(&[&["--book", "tour"], &plan[..], &["--guards", &three]].concat());
    assert!(told.ends(0).out.replace('\n', " ").contains("(the guards rule out 1 and 2)"));
    let all = [&BASE[..], &flags(&[]), &["--guards", "tissue=0.02mm,sheets=81"]].concat();
    folder.run(&all).ends(3).complains_of(&["81 guarded sheets are more than the 80 of the book"]);
    // By hand: 10 sections with 3 guarded sheets and one with 2, 2 × 0.02 × 32 = 1.28 mm.
    let mixed = ["--leaves=83", "--sheets=4", "--left-over=smaller", "--guards", &three];
    let mixed = predicted(&folder, &[&ALONG[..4], &mixed].concat());
    assert!((mixed["plan"]["guards_mm"].as_f64().expect("guards") - 1.28).abs() < 1e-12, "{mixed}");
}

#[test]
fn a_new_paper_or_thread_has_one_size_in_all_runs() {
    let folder = Folder::toured();
    let runs = |one: &str, other: &str| {
        let run =
            |sizes: &str| format!("--run=paper=new,{sizes},thread=flax 25/3,sections=9,sheets=4");
        [run(one), run(other)]
    };
    let of = |runs: &[String; 2]| predicted(&folder, &[&runs[0], &runs[1]]);
    let hard = "caliper=0.2mm,hardness=hard";
    let once = runs(hard, "on=1");
    assert_eq!(of(&once), of(&runs(hard, hard)), "the second run takes the size of the first");
    let two = runs(hard, "caliper=0.1mm,hardness=soft");
    let says = ["--run: run 2, paper: it is 0.1 mm, soft here, but 0.2 mm, hard in an earlier run"];
    folder.run(&[&BASE[..], &[&two[0], &two[1]]].concat()).ends(3).complains_of(&says);
    let thread =
        |laid: &str| format!("--run=paper=Alder bond,thread=new,laid={laid},sections=9,sheets=4");
    let says = ["run 2, thread: it is 0.5 mm here, but 0.4 mm in an earlier run"];
    let (thin, thick) = (thread("0.4mm"), thread("0.5mm"));
    let two = [&BASE[..], &[&thin, &thick]].concat();
    folder.run(&two).ends(3).complains_of(&says);
}

#[test]
fn a_book_in_mind_may_be_of_a_new_paper() {
    let folder = Folder::toured();
    let report = |sizes: &str| {
        let book = format!("--in-mind=paper=new,leaves=100,target=rounded{sizes}");
        folder.on_tour(&["report", "--out=-", &book])
    };
    let says = ["--in-mind: paper: no paper 'new'", "(a new paper needs caliper and hardness)"];
    report("").ends(3).complains_of(&says);
    report(",caliper=0.1mm,hardness=soft").ends(0);
}

/// The size of a thread of the book, or its material, in an option or in a run.
#[test]
fn what_the_book_knows_of_a_thread_is_not_given_again() {
    let folder = Folder::toured();
    let own = ["--paper", "Alder bond", "--thread", "flax 25/3", "--sheets=4"];
    for more in [
        &["--sections=24", "--material=silk"][..],
        &["--sections=24", "--laid=0.5mm"],
        &["--run=sections=24,material=silk"],
    ] {
        let refused = folder.on_tour(&[&["predict"], &own[..], more].concat()).ends(3);
        refused.complains_of(&["thread: 'flax 25/3' is in the book; leave out", "material"]);
    }
}

/// The options after the book, and the note; `None` if there is nothing to say.
const NOTES: &[(&[&str], Option<&str>)] = &[
    (&["--sections=24"], None),
    (&["--sections=24", "--on=2", "--ends=3"], None),
    (&["--sections=25", "--on=2", "--ends=3+4"], None),
    (
        &["--sections=25", "--on=2", "--ends=3"],
        Some(
            "note: 1 section left over between the ends needs a length of thread of its own, and this counts only 1/2 of one: write ends 3+4",
        ),
    ),
    (&["--sections=26", "--on=3", "--ends=3"], Some("2 sections left over between the ends need")),
    (&["--sections=3", "--on=4"], Some("3 sections between the ends cannot share a traverse of 4")),
    (&["--sections=6", "--on=2", "--ends=3"], Some("note: all sections belong to the ends")),
    (&["--leaves=122", "--left-over=smaller", "--on=2"], None),
    (&["--leaves=122", "--left-over=smaller", "--on=2", "--ends=3+5"], None),
    (
        &["--leaves=122", "--left-over=smaller", "--on=2", "--ends=3+4"],
        Some("this counts only 1/2 of one: write ends 3+5"),
    ),
    (&["--sections=24", "--guards=0.40mm"], None),
    (
        &["--sections=24", "--guards=40mm"],
        Some("note: the plan has guards that add 40 mm, more than a quarter"),
    ),
    (&["--sections=24", "--fore-edge=20.6,20.9"], None),
    (
        &["--sections=24", "--fore-edge=20.6,26.0"],
        Some("note: the readings of the fore-edge, from 20.6 to 26 mm, are so far apart"),
    ),
    (
        &["--sections=24", "--fore-edge=20.6,20.64,20.62,20.95"],
        Some("note: 20.95 mm is out of line with the other readings of its edge and counts less"),
    ),
];

#[test]
fn what_looks_wrong_in_a_plan_is_noted() {
    let folder = Folder::toured();
    for (more, wanted) in NOTES {
        let book = ["--paper", "Alder bond", "--thread", "flax 25/3", "--sheets=4"];
        for command in ["predict", "next"] {
            let err = noted(&folder, &[&[command], &book[..], more].concat());
            match wanted {
                Some(wanted) => assert!(err.contains(wanted), "{command} {more:?}: {err}"),
                None => assert_eq!(err, "", "{command} {more:?}"),
            }
        }
    }
}

#[test]
fn a_prediction_for_a_new_hand_says_so() {
    let folder = Folder::toured();
    let trials = asked(&folder, &["show"]);
    let first = trials["trials"][0]["trial"].as_str().expect("a trial").to_owned();
    let book = ["--paper", "Alder bond", "--target", "20..30"];
    let own = ["--thread", "flax 25/3", "--sections", "24", "--sheets", "4"];
    let asks = |command: &str, hand: &[&str]| {
        noted(&folder, &[&[command], &book[..], &own, hand].concat())
    };
    let predict = |hand: &[&str]| asks("predict", hand);
    let plan =
        |hand: &[&str]| noted(&folder, &[&["plan", "--leaves=96"], &book[..], hand].concat());
    assert_eq!((predict(&[]), plan(&[])), (String::new(), String::new()));
    let ann = ["correct", "trial", &first, "--hand", "Ann", "--reason", "a test"];
    folder.run(&[&["--book", "tour"], &ann[..]].concat()).ends(0);
    let says = "note: no hand was named: predicted for a hand new to the book";
    assert!(predict(&[]).contains(says) && plan(&[]).contains(says), "{}", plan(&[]));
    assert!(asks("next", &[]).contains(says));
    for hand in ["--hand=Ann", "--hand="] {
        assert_eq!((predict(&[hand]), plan(&[hand])), (String::new(), String::new()), "{hand}");
    }
    // A chart and a report say it too, with the name of the hand.
    let of = "paper=Alder bond,leaves=96,target=20..30";
    let drawn = |hand: &[&str]| {
        let chart = |kind: &[&str]| {
            let out = ["--paper=Alder bond", "--target=20..30", "--out=-"];
            folder.run(&[&["--book", "tour", "chart"], kind, &out, hand].concat()).ends(0).err
        };
        let named = hand.iter().map(|hand| hand.replace("--", ","));
        let in_mind = format!("--in-mind={of}{}", named.collect::<String>());
        let report = folder.on_tour(&["report", "--out=-", &in_mind]).ends(0).out;
        [chart(&["plan", "--leaves=96"]), chart(&["swell"]), report].map(|it| it.replace('\n', " "))
    };
    for (hand, says) in [
        (&[][..], "No hand was named: predicted for a hand new to the book."),
        (&["--hand=Ann"], "Predicted for the hand of Ann."),
        (&["--hand="], "Predicted for the hand of the trials without a name."),
        (&["--hand=-"], "No hand was named: predicted for a hand new to the book."),
    ] {
        for said in drawn(hand) {
            assert!(said.contains(says), "{hand:?}: {said}");
        }
    }
    let bo = [&["--book", "tour", "predict"], &book[..], &own, &["--hand=Bo"]].concat();
    folder.run(&bo).ends(3).complains_of(&[
        "it holds Ann (or '' for trials without a name, or - for a hand new to the book)",
    ]);
}

const NEW: &str = "paper=new,caliper=0.1mm,hardness=hard,thread=flax 25/3,sections=8,sheets=4";
const KELP: &str = "paper=Kelp mould,thread=flax 25/3,sections=8,sheets=4";

/// Plans of the tour's book, and what would narrow their predictions.
const ADVICE: [(&[&str], Option<&str>); 4] = [
    (
        &["--paper=new", "--caliper=0.1mm", "--hardness=hard", "--sections=24"],
        Some("sew a first trial block of new."),
    ),
    (
        &["--run", NEW, "--run", KELP, "--run", NEW],
        Some("sew a trial block each of new and Kelp mould."),
    ),
    (&["--paper=Alder bond", "--sections=24"], Some("measure part-way through the sewing")),
    // A book of one section cannot be measured part-way.
    (&["--paper=Alder bond", "--sections=1"], None),
];

#[test]
fn what_narrows_a_prediction_can_be_done() {
    let folder = Folder::toured();
    for (plan, wanted) in ADVICE {
        let rest: &[&str] =
            if plan[0] == "--run" { &[] } else { &["--thread=flax 25/3", "--sheets=4"] };
        let predict = [&["predict"], plan, rest].concat();
        let text = folder.on_tour(&predict).ends(0).out.replace('\n', " ");
        let advice = text.split("To narrow the range, ").nth(1).unwrap_or_default();
        match wanted {
            Some(wanted) => assert!(advice.starts_with(wanted), "{plan:?}: {text}"),
            None => assert!(!text.contains("part-way"), "{plan:?}: {text}"),
        }
    }
}

/// The shares add up to 100 % also if some of them are negative, because their errors offset those
/// of others.
#[test]
fn what_makes_a_prediction_uncertain_adds_up_to_all_of_it() {
    let folder = Folder::toured();
    let book = ["predict", "--paper", "Alder bond", "--thread", "flax 25/3", "--sheets", "4"];
    let mut offset = 0;
    for sections in ["2", "8", "24", "48", "90"] {
        for state in ["sewn", "knocked"] {
            let plan = [&book[..], &["--sections", sections, "--state", state]].concat();
            let text = folder.on_tour(&plan).ends(0).out.replace('\n', " ");
            let parts = text.split("What makes this uncertain: ").nth(1).expect("the sources");
            let parts = parts.split('.').next().expect("one sentence");
            let figures: Vec<&str> = parts.split(' ').collect();
            let whole = |at: usize| figures[at - 1].parse::<i32>().expect("a whole number");
            let percents = (1..figures.len()).filter(|&at| figures[at].starts_with('%'));
            let signed = |at: usize| if figures[at - 2] == "less" { -whole(at) } else { whole(at) };
            assert_eq!(percents.map(signed).sum::<i32>(), 100, "{plan:?}: {parts}");
            offset += usize::from(parts.contains("less"));
        }
    }
    assert!(offset > 0, "no share was negative");
}

/// With two-on and three-on, `plan` leaves no sections over between the ends.
#[test]
fn every_way_of_plan_has_whole_traverses() {
    let folder = Folder::toured();
    for leaves in ["200", "150", "76"] {
        let plan = ["plan", "--paper", "Alder bond", "--leaves", leaves, "--target", "20..30"];
        let all = asked(&folder, &[&plan[..], &["--all"]].concat());
        for row in all["choices"].as_array().expect("choices") {
            let number = |key: &str| row[key].as_u64().expect("a whole number");
            let between = number("sections") - number("first_ends") - number("last_ends");
            assert_eq!(between % number("on"), 0, "{row}");
        }
    }
    let plan = ["plan", "--paper", "Alder bond", "--leaves", "200", "--target", "17..19"];
    let only = ["--sheets", "4", "--thread", "flax 25/3", "--all"];
    let all = folder.run(&[&["--book", "tour"], &plan[..], &only].concat()).ends(0).out;
    assert!(all.contains("two-on, ends 3+4"), "{all}");
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
