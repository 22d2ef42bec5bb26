//! Readings that are recorded again under other places are questioned or noted, and found by an
//! audit. Ordinary blocks are not.
#![cfg(unix)]

use crate::support::folder::{Folder, SEWN, trial};
use crate::support::terminal::Terminal;
use serde_json::Value;

const TWO: [&str; 4] = ["--spine", "11.0,11.1", "--fore-edge", "8.0,8.05"];

/// The command that records readings of T1 as sewn.
fn sewn(more: &[&'static str]) -> Vec<&'static str> {
    [&SEWN[..], more].concat()
}

/// The findings of an audit about repeated readings.
fn repeated(folder: &Folder) -> Vec<Value> {
    let found = folder.run(&["audit", "--json"]).json();
    let about = |finding: &&Value| finding["message"].as_str().unwrap().contains(" repeat");
    found["findings"].as_array().unwrap().iter().filter(about).cloned().collect()
}

#[test]
fn a_script_gets_a_note_of_what_it_repeats_and_how_to_undo_it() {
    let folder = Folder::with_trial();
    let first = folder.run(&sewn(&TWO)).ends(0);
    assert!(first.err.is_empty(), "{}", first.err);
    let again = folder.run(&sewn(&TWO)).ends(0);
    assert!(again.out.starts_with("recorded 2 readings of T1, as sewn, at 3, 4 "), "{}", again.out);
    let note = "note: T1 as sewn: places 3, 4 repeat places 1, 2 reading for reading; were they \
                recorded twice? (to undo: swellbook strike reading T1/sewn/3 T1/sewn/4 ";
    assert!(again.err.starts_with(note), "{}", again.err);
    let found = repeated(&folder);
    let message = "readings.csv:4: T1 as sewn: places 3, 4 repeat places 1, 2 reading for reading; \
                   were they recorded twice?";
    assert_eq!(
        (found[0]["message"].as_str(), found[0]["severity"].as_str()),
        (Some(message), Some("check"))
    );
    assert_eq!((found.len(), found[0]["row"].as_u64()), (1, Some(4)));
    folder.run(&["audit", "--strict"]).ends(3);
    folder.run(&["strike", "reading", "T1/sewn/3", "T1/sewn/4", "--reason", "twice"]).ends(0);
    assert!(repeated(&folder).is_empty());
    folder.run(&["audit", "--strict"]).ends(0);
}

/// A value in inches is converted by the command, and read back rounded from the file.
#[test]
fn repeated_inches_are_found_as_repeated_millimetres_are() {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit", "in", "--resolution", "0.001in"]).ends(0);
    folder.run(&["record", "paper", "bond 80", "--caliper", "0.004", "--hardness", "hard"]).ends(0);
    folder.run(&["record", "thread", "linen 25", "--count", "lea 25/3"]).ends(0);
    folder.run(&trial("T1")).ends(0);
    for turn in 0..12 {
        let spines = format!("0.{},0.{}", 433 + turn, 447 + 3 * turn);
        let fore_edges = format!("0.{},0.{}", 317 + turn, 326 + 2 * turn);
        let args = [&SEWN[..], &["--spine", &spines, "--fore-edge", &fore_edges]].concat();
        let first = folder.run(&args).ends(0).err;
        assert!(!first.contains("recorded twice"), "{spines} {fore_edges}");
        let again = folder.run(&args).ends(0).err;
        assert!(
            again.contains("reading for reading; were they recorded twice?"),
            "{args:?} {again}"
        );
    }
    assert_eq!(repeated(&folder).len(), 12);
}

/// One place may equal the one before it by chance, so it is only mentioned.
/// Both sides of the comparison are what the files hold.
#[test]
fn a_trial_recorded_twice_in_fractions_of_an_inch_is_noted_at_once() {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit", "in"]).ends(0);
    folder.run(&["record", "paper", "bond 80", "--caliper", "0.004", "--hardness", "hard"]).ends(0);
    folder.run(&["record", "thread", "linen 25", "--count", "lea 25/3"]).ends(0);
    let edges =
        ["--spine", "55/128in;56/128in;57/128in", "--fore-edge", "41/128in;40/128in;42/128in"];
    for name in ["T1", "T2"] {
        folder.run(&trial(name)).ends(0);
        let args = [&["record", "readings", name, "--state", "sewn"], &edges[..]].concat();
        let said = folder.run(&args).ends(0).err;
        assert_eq!(said.contains("has the same 3 readings as 'T1'"), name == "T2", "{said}");
    }
}

/// Another copy of the book has the block under another name, and a fact of it was put right there.
#[test]
fn an_imported_block_with_the_readings_of_another_is_noted_at_once() {
    let folder = Folder::with_trial();
    let edges = ["--spine", "11.0,11.1,11.04,11.07", "--fore-edge", "8.0,8.05,8.02,8.03"];
    folder.run(&sewn(&edges)).ends(0);
    folder.run(&["export", "--sheet", "--out", "sheet.csv"]).ends(0);
    let sheet = folder.read("sheet.csv");
    let other = sheet.replace("T1,", "vellum,").replace(",no,block,", ",yes,block,");
    folder.write("other.csv", &other);
    let says = "trial 'vellum' has the same 4 readings as 'T1', although they differ in boning; was it \
                recorded twice?";
    let run = folder.run(&["import", "other.csv", "--dry-run"]).ends(0);
    assert!(run.err.contains(says), "{}", run.err);
    folder.run(&["import", "other.csv"]).ends(0);
    assert!(folder.run(&["audit", "--json"]).out.contains(says));
    // In yet another copy, one reading was corrected.
    let corrected = sheet.replace("T1,", "corrected,").replace(",11.07,", ",11.3,");
    folder.write("corrected.csv", &corrected);
    let run = folder.run(&["import", "corrected.csv", "--dry-run"]).ends(0);
    let says = "trial 'corrected' has 3 of 4 readings in common with 'T1'; was it recorded twice?";
    assert!(run.err.contains(says), "{}", run.err);
    // Two readings are too few to say so of blocks that differ.
    let few: Vec<&str> = other.lines().take(3).collect();
    folder.write("few.csv", few.join("\n").replace("vellum,", "few,").replace(",yes,", ",no,"));
    let run = folder.run(&["import", "few.csv", "--dry-run"]).ends(0);
    assert!(!run.err.contains("as 'vellum'"), "{}", run.err);
}

/// The trial has another name here, and its paper in the copy.
#[test]
fn a_block_whose_paper_has_another_name_in_a_copy_is_not_recorded_twice_in_silence() {
    let folder = Folder::with_trial();
    folder.run(&sewn(&TWO)).ends(0);
    folder.run(&["export", "--sheet", "--out", "sheet.csv"]).ends(0);
    folder.run(&["correct", "trial", "T1", "--name", "A"]).ends(0);
    let copy = folder.read("sheet.csv").replace(",bond 80,", ",bond,");
    folder.write("copy.csv", &copy);
    let twins = |day: &str| {
        folder.write("copy.csv", copy.replace(",2026-03-01,", &format!(",{day},")));
        folder.run(&["import", "copy.csv", "--dry-run"]).ends(0).err
    };
    let says = "trial 'T1' has the same 2 readings as 'A', although they differ in paper; was it";
    for day in ["2026-03-01", ""] {
        assert!(twins(day).contains(says), "{}", twins(day));
    }
    assert!(!twins("2026-02-27").contains("same 2 readings"), "{}", twins("2026-02-27"));
}

#[test]
fn imported_readings_of_other_places_are_noted_at_once() {
    let folder = Folder::with_trial();
    folder.run(&sewn(&TWO)).ends(0);
    folder.run(&["export", "--sheet", "--out", "sheet.csv"]).ends(0);
    let sheet = folder.read("sheet.csv");
    folder.write(
        "other.csv",
        sheet.replace(",sewn,1,", ",sewn,11,").replace(",sewn,2,", ",sewn,12,"),
    );
    let run = folder.run(&["import", "other.csv", "--dry-run"]).ends(0);
    let says = "T1 as sewn: places 11, 12 repeat places 1, 2 reading for reading; were they";
    assert!(run.err.contains(says), "{}", run.err);
}

#[test]
fn one_place_recorded_again_at_once_is_mentioned() {
    let folder = Folder::with_trial();
    let one = sewn(&["--spine", "11.0", "--fore-edge", "8.0"]);
    assert!(folder.run(&one).ends(0).err.is_empty());
    let again = folder.run(&one).ends(0);
    let note = "note: T1 as sewn: place 2 repeats place 1 at every edge measured; ";
    assert!(again.err.starts_with(note), "{}", again.err);
    let found = repeated(&folder);
    assert_eq!((found.len(), found[0]["severity"].as_str()), (1, Some("note")));
    folder.run(&["audit", "--strict"]).ends(0);
    // With another place in between, it is a measurement of its own.
    folder.run(&sewn(&["--spine", "11.1", "--fore-edge", "8.0"])).ends(0);
    assert!(folder.run(&one).ends(0).err.is_empty());
}

#[test]
fn other_places_days_and_states_are_other_measurements() {
    let folder = Folder::with_trial();
    folder.run(&sewn(&TWO)).ends(0);
    let quiet = |args: &[&str]| {
        let run = folder.run(args).ends(0);
        assert!(!run.err.contains("recorded twice"), "{args:?}: {}", run.err);
    };
    quiet(&sewn(&[&TWO[..], &["--taken", "2026-02-27"]].concat()));
    quiet(&[&["record", "readings", "T1", "--state", "knocked"][..], &TWO].concat());
    // The same values in another order, one place equal at both edges, two equal at one edge.
    quiet(&sewn(&["--spine", "11.1,11.0", "--fore-edge", "8.05,8.0"]));
    quiet(&sewn(&["--spine", "11.3", "--fore-edge", "8.2"]));
    quiet(&sewn(&["--spine", "11.1", "--fore-edge", "8.05"]));
    quiet(&sewn(&["--spine", "11.0,11.1"]));
    assert!(repeated(&folder).is_empty(), "{:?}", repeated(&folder));
    // Named places may repeat others too.
    let named = folder.run(&sewn(&[&TWO[..], &["--place", "head,tail"]].concat())).ends(0);
    assert!(named.err.contains("places head, tail repeat places 1, 2 "), "{}", named.err);
}

/// Readings of a block by a gauge of 0.01 mm: within a few hundredths of a millimetre, some equal.
#[test]
fn ordinary_blocks_do_not_repeat_themselves() {
    let folder = Folder::with_trial();
    let blocks = [
        "11.02,11.04,11.02,11.05,11.02 8.01,8.03,8.01,8.02,8.03",
        "11.00,11.00,11.00,11.00 8.00,8.00,8.00,8.00",
        "11.01,11.02,11.03,11.02,11.01,11.02 8.00,8.01,8.00,8.00,8.01,8.02",
        "11.2,11.2,11.3,11.2 8.1,8.1,8.1,8.2",
    ];
    for (block, state) in blocks.into_iter().zip(["sewn", "pressed", "knocked", "knocked+pressed"])
    {
        let (spine, fore_edge) = block.split_once(' ').unwrap();
        let args = ["record", "readings", "T1", "--state", state, "--spine", spine];
        let run = folder.run(&[&args[..], &["--fore-edge", fore_edge]].concat()).ends(0);
        assert!(run.err.is_empty(), "{}", run.err);
    }
    // The longer an even block is, the more of it repeats by chance.
    let even = "0002012110221020110120210021";
    let digits = |whole: &str| {
        even.chars().map(|last| format!("{whole}{last}")).collect::<Vec<_>>().join(",")
    };
    let args = ["record", "readings", "T1", "--state", "pressed", "--taken", "2026-02-20"];
    let (spine, fore_edge) = (digits("11.0"), digits("8.0"));
    folder.run(&[&args[..], &["--spine", &spine, "--fore-edge", &fore_edge]].concat()).ends(0);
    let only_notes = |found: &[Value]| found.iter().all(|one| one["severity"] == "note");
    assert!(only_notes(&repeated(&folder)), "{:?}", repeated(&folder));
    // The eighty blocks of the demonstration do not repeat either.
    let demo = Folder::with_book();
    let sheet = crate::support::repository("datasets/demonstration/trials.csv");
    demo.run(&["import", sheet.to_str().unwrap()]).ends(0);
    assert!(repeated(&demo).is_empty(), "{:?}", repeated(&demo));
}

#[test]
fn a_person_is_asked_and_no_is_the_default() {
    let folder = Folder::with_trial();
    folder.run(&sewn(&TWO)).ends(0);
    for (answer, said, expected) in [
        ("", "error: not recorded, because the answer was no", 2),
        ("no", "error: not recorded, because the answer was no", 2),
        ("yes", "recorded 2 readings of T1, as sewn, at 3, 4", 4),
    ] {
        let mut terminal = Terminal::run(&folder, &sewn(&TWO));
        terminal.expect("T1 as sewn: places 3, 4 repeat places 1, 2 reading for reading");
        terminal.expect("record them a second time: yes or no [no]: ");
        terminal.send_line(answer);
        let end = terminal.rest();
        assert!(end.contains(said), "{answer}: {end}");
        assert_eq!(folder.rows("readings.csv").len(), expected, "{answer}");
    }
    // With `--no-input`, a note replaces the question.
    let mut terminal = Terminal::run(&folder, &sewn(&[&TWO[..], &["--no-input"]].concat()));
    assert!(terminal.rest().contains("note: T1 as sewn: places 5, 6 repeat"));
    assert_eq!(folder.rows("readings.csv").len(), 6);
}

#[test]
fn a_bench_asks_too_and_shows_what_it_does_not_write() {
    let folder = Folder::with_trial();
    folder.run(&sewn(&TWO)).ends(0);
    let mut terminal = Terminal::run(&folder, &SEWN);
    terminal.expect("spine at 3> ");
    terminal.send_line("11.0\n11.1\ndone\n8.0\n8.05\ndone");
    terminal.expect("record them a second time: yes or no [no]: ");
    terminal.send_line("");
    let end = terminal.rest();
    assert!(
        end.contains("the readings were not written") && end.contains("T1,sewn,4,11.1,8.05"),
        "{end}"
    );
    assert_eq!(folder.rows("readings.csv").len(), 2);
}
