//! What was written can be undone, what was struck can be restored, and what is wrong can be
//! corrected. Each is one step that is done completely or not at all.
#![cfg(unix)]

use crate::support::folder::{Folder, SEWING, trial};
use crate::support::random_books::Random;
use std::collections::BTreeMap;
use swellbook::book::{Book, Entries, reading_id};

/// The entries that count. They are sorted, because restored entries are at the end of their file.
fn counting(folder: &Folder) -> Vec<String> {
    let book = Book::open(folder.path()).expect("a book");
    let Entries { papers, threads, targets, trials, readings, forecasts, plans, headings, .. } =
        book.entries();
    fn shown<T: std::fmt::Debug>(all: &[T]) -> Vec<String> {
        all.iter().map(|it| format!("{it:?}")).collect()
    }
    let mut all = [shown(papers), shown(threads), shown(targets), shown(trials)].concat();
    all.extend([shown(readings), shown(forecasts), shown(plans)].concat());
    // The last row of a heading counts, and `?` says that the heading is not known.
    let meant: BTreeMap<&str, &str> =
        headings.iter().map(|own| (&*own.heading, &*own.column)).collect();
    let known = meant.iter().filter(|(_, column)| **column != "?");
    all.extend(known.map(|own| format!("{own:?}")));
    all.sort();
    all
}

fn readings(folder: &Folder) -> Vec<String> {
    let book = Book::open(folder.path()).expect("a book");
    let mut ids: Vec<String> = book.readings().iter().map(reading_id).collect();
    ids.sort();
    ids
}

/// A trial with two readings.
fn measured() -> Folder {
    let folder = Folder::with_trial();
    folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.05");
    folder
}

const SHEET: &str = "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,\
                     place,spine_mm,fore_edge_mm\n\
                     N1,2026-03-01,\"laid; 'x'\",soft,0.12,flax,0.5,10,4,sewn,1,13.0,9.7\n\
                     T1,2026-03-01,bond 80,hard,0.1,linen 25,,10,4,knocked,1,10.4,8.0\n";

/// A sheet under headings of its own.
const OWN: &str = "Block,paper,caliper_mm,thread,laid_mm,sections,sheets,state,spine_mm,fore_edge_mm,\
                   Price\nO1,wove,0.12,silk,0.3,10,4,sewn,13.0,9.7,5\n";

/// Every kind of change, one after the other. To add one: its words.
const CHANGES: &[&[&str]] = &[
    &["record", "paper", "wove", "--caliper", "0.12mm", "--grammage", "80", "--note", "a, \"b\""],
    &["record", "thread", "silk", "--material", "silk", "--laid", "0.3mm"],
    &["record", "target", "limp", "2..10"],
    &["record", "trial", "T/2", "--paper=wove", "--thread=silk", "--sections=6", "--sheets=4"],
    &["record", "readings", "T/2", "--state=sewn", "--spine=7.0,7.1", "--fore-edge=5.8,5.9"],
    &["import", "sheet.csv"],
    &["predict", "--paper=wove", "--thread=silk", "--sections=6", "--sheets=4", "--keep=B1"],
    &["predict", "--paper=wove", "--thread=silk", "--sections=8", "--sheets=4", "--keep=B1"],
    &["predict", "--paper=wove", "--thread=silk", "--sections=8", "--sheets=4", "--save=quarto"],
    &["predict", "--plan=quarto", "--sections=9", "--save=quarto", "--replace"],
    &["import", "own.csv", "--heading", "Block=trial", "--heading", "Price="],
    &["import", "own.csv", "--heading", "Price=note"],
    &["strike", "plan", "quarto", "--reason", "never bound"],
    &["restore", "plan", "quarto"],
    &["strike", "forecast", "B1", "--reason", "another paper"],
    &["restore", "forecast", "B1"],
    &["strike", "reading", "T1/sewn/1", "--reason", "not, zeroed"],
    &["correct", "reading", "T1/sewn/2", "--spine", "11.2mm"],
    &["strike", "trial", "T1", "--reason", "the wrong thread"],
    &["restore", "trial", "T1"],
    &["restore", "reading", "T1/sewn/1"],
    &["correct", "trial", "T1", "--boned", "--note", "pressed overnight"],
    &["correct", "trial", "T/2", "--name", "T3"],
    &["correct", "paper", "wove", "--name", "wove 80", "--hardness", "hard"],
    &["correct", "thread", "silk", "--laid", "0.31mm"],
    &["correct", "target", "limp", "--high", "12"],
    &["strike", "target", "limp", "--reason", "not used"],
    &["record", "target", "wanted", "12..22"],
    &["predict", "--plan=quarto", "--target=wanted", "--keep=B2"],
    &["correct", "target", "wanted", "--low=-2"],
    &["predict", "--plan=quarto", "--target=wanted", "--keep=B2"],
];

#[test]
fn every_change_is_undone_step_by_step_and_brought_back() {
    let folder = measured();
    folder.write("sheet.csv", SHEET);
    folder.write("own.csv", OWN);
    let mut states = vec![counting(&folder)];
    for change in CHANGES {
        folder.run(change).ends(0);
        states.push(counting(&folder));
        assert_ne!(
            states[states.len() - 1],
            states[states.len() - 2],
            "{change:?} changes nothing"
        );
    }
    let mut undone = Vec::new();
    for (change, before) in CHANGES.iter().zip(&states).rev() {
        let said = folder.run(&["undo"]).ends(0).out;
        undone.push(said.strip_prefix("undid: ").expect("what was undone").to_owned());
        assert!(said.contains("(to redo: swellbook undo --redo)"), "{said}");
        assert_eq!(&counting(&folder), before, "{change:?}: {said}");
    }
    for (change, after) in CHANGES.iter().zip(&states[1..]) {
        let said = folder.run(&["undo", "--redo"]).ends(0).out;
        // It says once what it did.
        let did = said.strip_prefix("redid: ").and_then(|said| said.split_once(" (to undo: "));
        let did = did.expect("what was redone").0;
        assert!(undone.pop().expect("undone").starts_with(&format!("{did}; ")), "{said}");
        assert_eq!(&counting(&folder), after, "{change:?}: {said}");
    }
    // A redone change is undone like any other.
    for before in states[..CHANGES.len()].iter().rev().take(4) {
        folder.run(&["undo"]).ends(0);
        assert_eq!(&counting(&folder), before);
    }
    folder.run(&["audit"]).ends(0);
}

/// Small changes that affect each other, because they use the same names.
const SMALL: &[&[&str]] = &[
    &["record", "target", "limp", "2..10"],
    &["strike", "target", "limp", "--reason", "a slip"],
    &["restore", "target", "limp"],
    &["correct", "target", "limp", "--low", "3"],
    &[
        "record",
        "trial",
        "T2",
        "--paper=bond 80",
        "--thread=linen 25",
        "--sections=10",
        "--sheets=4",
    ],
    &["strike", "trial", "T2", "--reason", "a slip"],
    &["restore", "trial", "T2"],
    &["correct", "trial", "T2", "--boned"],
    &["correct", "trial", "T2", "--not-boned"],
    &["record", "readings", "T2", "--state=sewn", "--spine=11.0", "--fore-edge=8.0"],
    &["strike", "reading", "T2/sewn/1", "--reason", "a slip"],
    &["restore", "reading", "T2/sewn/1"],
    &["correct", "paper", "bond 80", "--name", "bond"],
    &["correct", "paper", "bond", "--name", "bond 80"],
    &["undo"],
    &["undo", "--redo"],
];

#[test]
fn any_changes_are_undone_down_to_the_empty_start() {
    for seed in 1..=3 {
        let (folder, mut dice) = (Folder::with_book(), Random::new(seed));
        // What counted before each change in force, and after each undone change.
        let (mut before, mut taken) = (Vec::new(), Vec::new());
        let stock = [
            &["record", "paper", "bond 80", "--caliper=0.1mm"][..],
            &["record", "thread", "linen 25", "--count=lea 25/3"],
        ];
        let chosen = (0..24).map(|_| *dice.pick(SMALL));
        for change in stock.into_iter().chain(chosen) {
            let was = counting(&folder);
            match (change, folder.run(change).code) {
                (["undo"], 0) => {
                    assert_eq!(Some(counting(&folder)), before.pop(), "seed {seed}");
                    taken.push(was);
                }
                (["undo", "--redo"], 0) => {
                    before.push(was);
                    assert_eq!(Some(counting(&folder)), taken.pop(), "seed {seed}");
                }
                (_, 0) => {
                    before.push(was);
                    taken.clear();
                }
                _ => assert_eq!(counting(&folder), was, "{change:?} was refused"),
            }
        }
        let empty = before[0].clone();
        while let Some(was) = before.pop() {
            folder.run(&["undo"]).ends(0);
            assert_eq!(counting(&folder), was, "seed {seed}");
        }
        assert_eq!(counting(&folder), empty, "seed {seed}");
        folder.run(&["undo"]).ends(3).complains_of(&["nothing left to undo"]);
    }
}

#[test]
fn undoing_rows_that_have_changed_is_refused_with_what_to_do() {
    let folder = measured();
    let sorted = folder.read("readings.csv").replace("T1,sewn,1,11,", "T1,sewn,1,11.05,");
    folder.write("readings.csv", &sorted);
    let before = folder.bytes();
    let told = &["recorded 2 readings of T1, as sewn", "edited or sorted", "swellbook strike"];
    folder.run(&["undo"]).ends(3).complains_of(told);
    folder.run(&["undo", "--redo"]).ends(3).complains_of(&["nothing to redo"]);
    assert_eq!(folder.bytes(), before);
    // Rows added by hand belong to no recorded change.
    let folder = Folder::with_trial();
    folder.write("readings.csv", folder.read("readings.csv") + "T1,sewn,1,11.0,8.0,,\n");
    folder.run(&["undo"]).ends(3).complains_of(&["trial 'T1' has readings", "did not add"]);
}

#[test]
fn nothing_is_redone_after_another_change() {
    let folder = measured();
    folder.run(&["undo"]).ends(0);
    folder.run(&["record", "target", "limp", "2..10"]).ends(0);
    folder.run(&["undo", "--redo"]).ends(3).complains_of(&["nothing to redo"]);
    assert_eq!(readings(&folder).len(), 0);
}

#[test]
fn the_list_of_changes_says_which_count() {
    let folder = measured();
    folder.run(&["undo"]).ends(0);
    let list = folder.run(&["undo", "--list"]).ends(0).out;
    let lines: Vec<&str> = list.lines().collect();
    assert_eq!(lines[0], "2026-03-01  undid: recorded 2 readings of T1, as sewn");
    assert_eq!(lines[1], "2026-03-01  recorded 2 readings of T1, as sewn (undone)");
    assert_eq!(lines[2], "2026-03-01  recorded trial T1");
    assert_eq!(lines.len(), 5);
}

#[test]
fn a_trial_is_restored_with_the_readings_that_went_with_it() {
    let folder = measured();
    let before = counting(&folder);
    folder.run(&["strike", "reading", "T1/sewn/1", "--reason", "misread"]).ends(0);
    let with_one = counting(&folder);
    let said = folder.run(&["strike", "trial", "T1", "--reason", "misread"]).ends(0).out;
    assert!(said.contains("to undo: swellbook restore trial T1)"), "{said}");
    folder
        .run(&["restore", "reading", "T1/sewn/1"])
        .ends(3)
        .complains_of(&["its trial is struck; first: swellbook restore trial T1"]);
    folder.run(&["restore", "trial", "T1"]).ends(0);
    assert_eq!(counting(&folder), with_one);
    let told = &["trial 'T1' is in the book; only an earlier version of it is struck"];
    folder.run(&["restore", "trial", "T1"]).ends(3).complains_of(told);
    folder.run(&["restore", "target", "rounded"]).ends(3).complains_of(&["'rounded' is not"]);
    folder.run(&["restore", "reading", "T1/sewn"]).ends(0);
    assert_eq!(counting(&folder), before);
    let says = "the readings 'T1/sewn' are in the book; only earlier versions of them are struck; \
                to give a reading its earlier values again, correct it";
    folder.run(&["restore", "reading", "T1/sewn"]).ends(3).complains_of(&[says]);
    folder.run(&["restore", "reading"]).ends(2).complains_of(&["ID"]);
    folder.run(&["restore"]).ends(2).complains_of(&["KIND"]);
}

/// A second block beside T1, measured at other thicknesses.
fn two_blocks() -> Folder {
    let folder = measured();
    folder.run(&trial("T2")).ends(0);
    folder.measure("T2", "sewn", "12.0", "8.4");
    folder
}

fn rename(folder: &Folder, kind: &str, from: &str, to: &str) {
    folder.run(&["correct", kind, from, "--name", to]).ends(0);
}

#[test]
fn a_struck_reading_stays_with_its_block_whatever_that_is_called() {
    let folder = two_blocks();
    folder.run(&["strike", "reading", "T1/sewn/2", "--reason", "slip"]).ends(0);
    for (from, to) in [("T1", "x"), ("T2", "T1"), ("x", "T2")] {
        rename(&folder, "trial", from, to);
    }
    let own = folder.run(&["show", "T2", "--struck"]).ends(0).out;
    assert!(own.contains("reading T1/sewn/2: spine 11.10 mm"), "{own}");
    // The command that the strike printed, and the present name.
    for typed in ["T1/sewn/2", "T2/sewn/2", "T2/sewn", "T1/sewn/2"] {
        let said = folder.run(&["restore", "reading", typed]).ends(0).out;
        assert!(said.contains("brought back 1 reading of T2, as sewn"), "{said}");
        assert_eq!(readings(&folder), ["T1/sewn/1", "T2/sewn/1", "T2/sewn/2"]);
        folder.run(&["undo"]).ends(0);
    }
}

#[test]
fn a_reading_whose_place_was_renamed_does_not_come_back_under_the_old_place() {
    let folder = two_blocks();
    folder.run(&["correct", "reading", "T1/sewn/1", "--place", "head"]).ends(0);
    let refused = |typed: &str, told: &str| {
        let before = folder.bytes();
        folder.run(&["restore", "reading", typed]).ends(3).complains_of(&[told]);
        assert_eq!(folder.bytes(), before);
    };
    let words = "reading 'T1/sewn/1' is in the book as 'T1/sewn/head'; to give its place the old name \
                 again: swellbook correct reading T1/sewn/head --place 1";
    refused("T1/sewn/1", words);
    refused("T1/sewn", words);
    // Also if the reading and its trial were corrected since, or turned back and forth.
    folder.run(&["correct", "reading", "T1/sewn/head", "--spine", "11.05mm"]).ends(0);
    [&["undo"][..], &["undo", "--redo"]].iter().for_each(|turn| _ = folder.run(turn).ends(0));
    rename(&folder, "trial", "T1", "A");
    rename(&folder, "trial", "T2", "T1");
    refused("A/sewn/1", "reading 'A/sewn/1' is in the book as 'A/sewn/head'");
    folder.run(&["correct", "reading", "A/sewn/head", "--place", "tail"]).ends(0);
    refused("A/sewn/1", "'A/sewn/1' is in the book as 'A/sewn/tail'");
    refused("A/sewn/head", "'A/sewn/head' is in the book as 'A/sewn/tail'");
    // Without it, either place can come back, but not both.
    folder.run(&["strike", "reading", "A/sewn/tail", "--reason", "a slip"]).ends(0);
    folder.run(&["restore", "reading", "A/sewn/tail"]).ends(0);
    refused("A/sewn/1", "'A/sewn/1' is in the book as 'A/sewn/tail'");
    // Another reading at the old place is struck and comes back like any other.
    folder.run(&["record", "readings", "A", "--state=sewn", "--place=1", "--spine=11.2"]).ends(0);
    folder.run(&["strike", "reading", "A/sewn/1", "--reason", "a slip"]).ends(0);
    folder.run(&["restore", "reading", "A/sewn/1"]).ends(0);
    assert_eq!(readings(&folder), ["A/sewn/1", "A/sewn/2", "A/sewn/tail", "T1/sewn/1"]);
}

/// The block that has the name by now may get another one first, or be struck under it.
#[test]
fn a_block_comes_back_although_its_name_was_used_again_in_between() {
    for also_struck in [false, true] {
        let folder = two_blocks();
        let before = counting(&folder);
        folder.run(&["strike", "trial", "T1", "--reason", "fell apart"]).ends(0);
        folder.run(&[&trial("T1")[..], &["--hand", "Ann"]].concat()).ends(0);
        folder.measure("T1", "sewn", "11.5", "8.1");
        folder
            .run(&["restore", "trial", "T1"])
            .ends(3)
            .complains_of(&["only an earlier version of it is struck"]);
        rename(&folder, "trial", "T1", "A6");
        if also_struck {
            folder.run(&["strike", "trial", "A6", "--reason", "another"]).ends(0);
        }
        folder.run(&["restore", "trial", "T1"]).ends(0);
        if also_struck {
            assert_eq!(counting(&folder), before);
            folder.run(&["restore", "trial", "A6"]).ends(0);
        }
        assert_eq!(readings(&folder), ["A6/sewn/1", "T1/sewn/1", "T1/sewn/2", "T2/sewn/1"]);
        let trials = Book::open(folder.path()).expect("a book").trials().to_vec();
        let hand = |name| trials.iter().find(|it| it.name.as_str() == name).unwrap().hand.is_some();
        assert_eq!(["T1", "A6"].map(hand), [false, true]);
    }
}

/// By a strike, and by a correction.
#[test]
fn a_saved_plan_of_a_hand_that_left_is_named_and_can_be_used_without_it() {
    let folder = two_blocks();
    folder.run(&["correct", "trial", "T1", "--hand", "Ann"]).ends(0);
    folder.run(&["correct", "trial", "T2", "--hand", "Ben"]).ends(0);
    folder.run(&[&["predict", "--save=ledger", "--hand=Ben"][..], &SEWING].concat()).ends(0);
    let says = "plan 'ledger' names the hand 'Ben', which no trial has any more; to predict from it, \
                choose another hand, or - for none";
    for change in
        [&["strike", "trial", "T2", "--reason=left"][..], &["correct", "trial", "T2", "--hand=Ann"]]
    {
        let changed = folder.run(change).ends(0);
        assert!(changed.err.contains(&format!("note: {says}")), "{}", changed.err);
        let audit = folder.run(&["audit"]).ends(0).out.replace("\n    ", " ");
        assert!(audit.contains(&format!("plans.csv:2: {says}")), "{audit}");
        let remedy = "no hand 'Ben' in the book; it holds Ann (or - to name none)";
        folder.run(&["predict", "--plan=ledger"]).ends(3).complains_of(&[remedy]);
        folder.run(&["predict", "--plan=ledger", "--hand=-", "--save=free"]).ends(0);
        let plans = folder.read("plans.csv");
        let saved = plans.lines().find(|row| row.starts_with("free,")).expect("a plan");
        assert!(!saved.contains("hand"), "{saved}");
        folder.run(&["undo"]).ends(0);
        folder.run(&["undo"]).ends(0);
        assert!(!folder.run(&["audit"]).ends(0).out.contains("ledger"));
    }
}

#[test]
fn a_strike_says_which_saved_plan_names_the_entry() {
    let folder = two_blocks();
    folder.run(&["record", "paper", "wove", "--caliper", "0.12mm", "--hardness", "soft"]).ends(0);
    let plan = ["predict", "--paper", "wove", "--save", "ledger"];
    folder.run(&[&plan[..], &SEWING[2..]].concat()).ends(0);
    let struck = folder.run(&["strike", "paper", "wove", "--reason", "sold out"]).ends(0);
    let says = "plan 'ledger' names paper 'wove', which is struck, and predicts nothing without it";
    assert!(struck.err.contains(&format!("note: {says}")), "{}", struck.err);
    // The audit says so, and so does the return of the plan.
    let audit = folder.run(&["audit"]).ends(0).out.replace("\n    ", " ");
    assert!(audit.contains(&format!("plans.csv:2: {says}")), "{audit}");
    folder.run(&["strike", "plan", "ledger", "--reason", "a slip"]).ends(0);
    assert!(!folder.run(&["audit"]).ends(0).out.contains("ledger"));
    let back = folder.run(&["restore", "plan", "ledger"]).ends(0);
    assert!(back.err.contains(says), "{}", back.err);
    folder.run(&["restore", "paper", "wove"]).ends(0);
    assert!(!folder.run(&["audit"]).ends(0).out.contains("ledger"));
    // So does an undo that strikes the paper, and not one that brings it back.
    let undone = folder.run(&["undo"]).ends(0);
    assert!(undone.err.contains(&format!("note: {says}")), "{}", undone.err);
    assert_eq!(folder.run(&["undo", "--redo"]).ends(0).err, "");
    // A plan with the size of its paper needs no paper of the book.
    let sized =
        ["predict", "--caliper=0.12mm", "--hardness=soft", "--save=sized", "--paper=wove 2"];
    folder.run(&[&sized[..], &SEWING[2..]].concat()).ends(0);
    folder.run(&["record", "paper", "wove 2", "--caliper=0.12mm", "--hardness=soft"]).ends(0);
    assert_eq!(folder.run(&["strike", "paper", "wove 2", "--reason", "sold"]).ends(0).err, "");
    folder.run(&["strike", "plan", "ledger", "--reason", "done"]).ends(0);
    assert_eq!(folder.run(&["strike", "paper", "wove", "--reason", "sold"]).ends(0).err, "");
    // Nor does one whose first run has the size, which holds for the others.
    let run = |more| format!("--run=paper=wove{more},thread=linen 25,sections=5,sheets=4");
    let (first, second) = (run(",caliper=0.1mm,hardness=soft"), run(""));
    folder.run(&["predict", &first, &second, "--save=mixed"]).ends(0);
    assert!(!folder.run(&["audit"]).ends(0).out.contains("mixed"));
    folder.run(&["predict", "--plan=mixed"]).ends(0);
}

#[test]
fn an_entry_comes_back_only_under_its_last_name_with_all_that_was_changed_since() {
    for change in [
        &["correct", "reading", "B/sewn/1", "--spine", "9.4"][..],
        &["strike", "reading", "B/sewn/1", "--reason", "slipped"],
        &["record", "readings", "B", "--state=knocked", "--spine=10.9"],
        &["correct", "trial", "B", "--sections", "12"],
    ] {
        let folder = measured();
        rename(&folder, "trial", "T1", "B");
        folder.run(change).ends(0);
        let before = counting(&folder);
        folder.run(&["strike", "trial", "B", "--reason", "y"]).ends(0);
        let struck = folder.bytes();
        for typed in [&["T1"][..], &["T1", "B"], &["B", "T1"]] {
            let says = "trial 'T1' was called 'B' when it was struck, and comes back under that \
                        name: swellbook restore trial B";
            folder.run(&[&["restore", "trial"], typed].concat()).ends(3).complains_of(&[says]);
            assert_eq!(folder.bytes(), struck);
        }
        folder.run(&["restore", "trial", "B"]).ends(0);
        assert_eq!(counting(&folder), before, "{change:?}");
        folder.run(&["undo"]).ends(0);
        folder.run(&["restore", "trial", "T1"]).ends(3);
        folder.run(&["restore", "trial", "B"]).ends(0);
        assert_eq!(counting(&folder), before, "{change:?}");
    }
    let folder = Folder::with_book();
    folder.run(&["record", "paper", "wove", "--caliper=0.12mm", "--hardness=soft"]).ends(0);
    rename(&folder, "paper", "wove", "laid");
    folder.run(&["strike", "paper", "laid", "--reason", "sold out"]).ends(0);
    folder.run(&["restore", "paper", "laid", "wove"]).ends(3).complains_of(&["called 'laid'"]);
    folder.run(&["restore", "paper", "laid"]).ends(0);
}

#[test]
fn a_forecast_that_followed_its_trial_comes_back_once() {
    let folder = two_blocks();
    folder.run(&[&["predict"], &SEWING[..], &["--keep", "K"]].concat()).ends(0);
    folder.run(&trial("K")).ends(0);
    rename(&folder, "trial", "K", "L");
    folder.run(&["strike", "forecast", "L", "--reason", "a slip"]).ends(0);
    folder.run(&["restore", "forecast", "K"]).ends(3);
    folder.run(&["restore", "forecast", "L"]).ends(0);
    folder.run(&["restore", "forecast", "K"]).ends(3);
    let book = Book::open(folder.path()).expect("a book");
    let names: Vec<&str> = book.forecasts().iter().map(|it| it.name.as_str()).collect();
    assert_eq!(names, ["L"]);
    // Nor does it without the trial that it followed.
    folder.run(&["strike", "trial", "L", "--reason", "a slip"]).ends(0);
    folder.run(&["restore", "forecast", "K"]).ends(3);
}

#[test]
fn a_struck_reading_never_goes_to_another_block_of_its_name() {
    let folder = two_blocks();
    folder.run(&["strike", "reading", "T1/sewn/2", "--reason", "slip"]).ends(0);
    folder.run(&["strike", "trial", "T1", "--reason", "fell apart"]).ends(0);
    folder.run(&trial("T1")).ends(0);
    let told = &["reading 'T1/sewn/2' is of another trial 'T1', which is struck"];
    folder.run(&["restore", "reading", "T1/sewn/2"]).ends(3).complains_of(told);
    // Here the same one is there again, and later under another name.
    let folder = two_blocks();
    folder.run(&["strike", "reading", "T1/sewn/2", "--reason", "slip"]).ends(0);
    folder.run(&["strike", "trial", "T1", "--reason", "fell apart"]).ends(0);
    folder.run(&["restore", "trial", "T1"]).ends(0);
    folder.run(&["correct", "trial", "T1", "--name", "A", "--note", "the first"]).ends(0);
    folder.run(&["undo"]).ends(0);
    folder.run(&["undo", "--redo"]).ends(0);
    folder.run(&["restore", "reading", "T1/sewn/2"]).ends(0);
    assert_eq!(readings(&folder), ["A/sewn/1", "A/sewn/2", "T2/sewn/1"]);
}

#[test]
fn a_set_of_readings_comes_back_without_those_struck_before_for_their_own_reason() {
    let folder = measured();
    folder.run(&["strike", "reading", "T1/sewn/2", "--reason", "slip"]).ends(0);
    folder.run(&["strike", "reading", "T1/sewn", "--reason", "not zeroed"]).ends(0);
    let said = folder.run(&["restore", "reading", "T1/sewn"]).ends(0).err;
    assert!(said.contains("T1/sewn/2 stays struck, because it was struck separately: slip"));
    assert_eq!(readings(&folder), ["T1/sewn/1"]);
    folder.run(&["restore", "reading", "T1/sewn"]).ends(0);
    assert_eq!(readings(&folder), ["T1/sewn/1", "T1/sewn/2"]);
}

#[test]
fn what_is_brought_back_has_the_present_names_of_what_it_belongs_to() {
    let folder = two_blocks();
    let plan = ["predict", "--paper=bond 80", "--thread=linen 25", "--sections=8", "--sheets=4"];
    folder.run(&[&plan[..], &["--target=rounded", "--save=pl", "--keep=K"]].concat()).ends(0);
    folder.run(&trial("K")).ends(0);
    for (kind, id) in [("plan", "pl"), ("forecast", "K"), ("trial", "T2")] {
        folder.run(&["strike", kind, id, "--reason", "a slip"]).ends(0);
    }
    let names = [
        ("paper", "bond 80", "bond"),
        ("thread", "linen 25", "flax"),
        ("target", "rounded", "round"),
        ("trial", "K", "K 1"),
    ];
    for (kind, from, to) in names {
        rename(&folder, kind, from, to);
    }
    for (kind, id) in [("plan", "pl"), ("forecast", "K"), ("trial", "T2")] {
        folder.run(&["restore", kind, id]).ends(0);
    }
    folder.run(&["predict", "--plan", "pl"]).ends(0);
    let book = Book::open(folder.path()).expect("a book");
    assert_eq!(book.forecasts()[0].name.as_str(), "K 1");
    let back = book.trials().iter().find(|trial| trial.name.as_str() == "T2").expect("T2");
    assert_eq!((back.paper.as_str(), back.thread.as_str()), ("bond", "flax"));
    assert_eq!((book.papers().len(), readings(&folder).len()), (1, 3));
}

#[test]
fn a_trial_whose_paper_is_struck_names_the_command_that_comes_first() {
    let folder = measured();
    let before = counting(&folder);
    folder.run(&["strike", "trial", "T1", "--reason", "a slip"]).ends(0);
    folder.run(&["strike", "paper", "bond 80", "--reason", "a slip"]).ends(0);
    let told = &["'T1'", "'bond 80'", "swellbook restore paper"];
    folder.run(&["restore", "trial", "T1"]).ends(3).complains_of(told);
    folder.run(&["restore", "paper", "bond 80"]).ends(0);
    folder.run(&["restore", "trial", "T1"]).ends(0);
    assert_eq!(counting(&folder), before);
}

#[test]
fn a_correction_says_field_by_field_what_is_different_and_keeps_the_readings() {
    let folder = measured();
    let ids = readings(&folder);
    let args =
        ["correct", "trial", "T1", "--boned", "--date", "2026-02-27", "--reason", "looked up"];
    let said = folder.run(&args).ends(0).out;
    let wanted = "corrected trial T1: date 2026-03-01 → 2026-02-27, boned no → yes, with its 2 \
                  readings: looked up (the old entry is still readable in struck.csv; to undo: \
                  swellbook undo)";
    assert_eq!(said.trim(), wanted);
    assert_eq!(readings(&folder), ids);
    let said = folder.run(&["correct", "paper", "bond 80", "--name", "bond"]).ends(0).out;
    assert!(said.contains("paper bond 80: name bond 80 → bond, with its 1 trial"), "{said}");
    assert_eq!(readings(&folder), ids);
    // The caliper of a paper that trials use.
    let said = folder.run(&["correct", "paper", "bond", "--caliper", "0.101mm"]).ends(0).out;
    assert!(said.contains("caliper 0.100 mm → 0.101 mm: corrected"), "{said}");
    assert_eq!(readings(&folder), ids);
    folder.run(&["correct", "reading", "T1/sewn/2", "--fore-edge", ""]).ends(0);
    let rows = folder.read("readings.csv");
    assert!(rows.trim_end().ends_with("T1,sewn,2,11.1,,2026-03-01,"), "{rows}");
}

#[test]
fn a_correction_that_is_wrong_changes_nothing() {
    let folder = measured();
    let before = folder.bytes();
    for (args, code, told) in [
        (&["trial", "T1", "--sheets", "4"][..], 2, "already has these values"),
        (&["trial", "T1"], 2, "already has these values"),
        (&["trial", "T9", "--sheets", "4"], 3, "no trial 'T9' in the book"),
        (&["trial", "T1", "--paper", "laid"], 3, "no paper 'laid' in the book"),
        (&["trial", "T1", "--sections", "80"], 3, "sections 10 → 80 makes 2 readings of it"),
        (&["paper", "bond 80", "--caliper", "1.05mm"], 3, "look at the new value again"),
        (&["trial", "T1", "--name", ""], 3, "a name is missing"),
        (&["paper", "bond 80", "--caliper", "40mm"], 3, "--caliper"),
        (&["target", "rounded", "--name", "spring-back"], 3, "already holds a target"),
        (&["reading", "T1/sewn", "--spine", "11.0"], 3, "give the place of one too"),
        (&["reading", "T1/sewn/1", "--spine", "", "--fore-edge", ""], 3, "--spine"),
        (&["trial"], 2, "NAME"),
        (&["forecast", "B1"], 2, "forecast"),
    ] {
        let args = [&["correct"][..], args].concat();
        folder.run(&args).ends(code).complains_of(&[told]);
        assert_eq!(folder.bytes(), before, "{args:?}");
    }
}

#[test]
fn an_inch_book_is_corrected_in_inches() {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit", "inch"]).ends(0);
    folder.run(&["record", "paper", "wove", "--caliper", "0.0041"]).ends(0);
    let said = folder.run(&["correct", "paper", "wove", "--hardness", "soft"]).ends(0).out;
    assert!(said.starts_with("corrected paper wove: hardness medium → soft: "), "{said}");
    let said = folder.run(&["correct", "paper", "wove", "--caliper", "0.0042"]).ends(0).out;
    assert!(said.contains("caliper 0.00410 in → 0.00420 in"), "{said}");
}

#[test]
fn a_book_with_a_trial_is_undone_to_a_new_one() {
    let folder = Folder::with_trial();
    folder.run(&["undo"]).ends(0);
    folder.run(&trial("T1")).ends(0);
    for _ in 0..3 {
        folder.run(&["undo"]).ends(0);
    }
    assert_eq!(counting(&folder), counting(&Folder::with_book()));
}

#[test]
fn an_undone_import_says_which_headings_are_unknown_again() {
    let folder = measured();
    folder.run(&["record", "paper", "wove", "--caliper", "0.12mm", "--hardness", "hard"]).ends(0);
    folder.write("own.csv", OWN);
    for meant in ["Price=", "Price=note"] {
        let import = ["import", "own.csv", "--heading", "Block=trial", "--heading", meant];
        folder.run(&import).ends(0);
    }
    for (says, says_not) in
        [("put back heading Price", "forgot"), ("forgot 2 headings", "put back")]
    {
        let said = folder.run(&["undo"]).ends(0).out;
        assert!(said.contains(says) && !said.contains(says_not), "{said}");
    }
}
