//! Prompts at a terminal, driven through a real pseudo-terminal.
#![cfg(unix)]

use crate::support::folder::{Folder, PROGRAM, trial};
use crate::support::terminal::Terminal;

fn taking_readings(folder: &Folder, more: &[&str]) -> Terminal {
    let args = ["record", "readings", "--trial", "T1", "--state", "sewn"];
    Terminal::run(folder, &[&args[..], more].concat())
}

#[track_caller]
fn assert_rows(folder: &Folder, starts: &[&str]) {
    let rows = folder.rows("readings.csv");
    assert_eq!(rows.len(), starts.len(), "{rows:#?}");
    for (row, start) in rows.iter().zip(starts) {
        assert!(row.starts_with(start), "{row} does not start with {start}");
    }
}

#[test]
fn a_gauge_types_values_in_all_its_forms() {
    let folder = Folder::with_trial();
    let mut terminal = taking_readings(&folder, &[]);
    terminal.expect("every spine first, then every fore-edge");
    terminal.converse(&[
        ("spine at 1> ", "11.0"),
        ("spine at 2> ", "+0011,10"),
        ("(2 so far, mean 11.05 mm, spread 0.10 mm)\r\nspine at 3> ", "0.44in"),
        ("11.18 mm", "done"),
        ("turn the block", "8.0 mm"),
        ("fore-edge at 2> ", "8050um"),
        ("fore-edge at 3> ", " 8.1<"),
        ("fore-edge at 4, or done> ", "done"),
    ]);
    let end = terminal.rest();
    assert!(end.contains("recorded 3 readings of T1"), "{end}");
    assert_rows(&folder, &["T1,sewn,1,11,8,", "T1,sewn,2,11.1,8.05,", "T1,sewn,3,11.176,8.1,"]);
    assert!(folder.rows("readings.csv")[2].contains("gauge sign < at the fore-edge"));
}

#[test]
fn a_burst_loses_nothing() {
    let folder = Folder::with_trial();
    let mut terminal = taking_readings(&folder, &[]);
    terminal.expect("spine at 1> ");
    terminal.send("11.0\n11.1\r11.2\t11.3\n11.4;11.5\ndone\n8.0\n8.1\n");
    terminal.send("8.2;8.3\n8.4\n8.5\ndone\n");
    let end = terminal.rest();
    assert!(end.contains("recorded 6 readings"), "{end}");
    assert_rows(
        &folder,
        &[
            "T1,sewn,1,11,8,",
            "T1,sewn,2,11.1,8.1,",
            "T1,sewn,3,11.2,8.2,",
            "T1,sewn,4,11.3,8.3,",
            "T1,sewn,5,11.4,8.4,",
            "T1,sewn,6,11.5,8.5,",
        ],
    );
}

#[test]
fn undo_skip_and_note_do_what_they_say() {
    let folder = Folder::with_trial();
    let mut terminal = taking_readings(&folder, &["--place", "head,middle,tail"]);
    terminal.converse(&[
        ("spine at head> ", "11.9"),
        ("11.90 mm", "undo"),
        ("undid 11.90 mm", "11.0"),
        ("spine at middle> ", "skip"),
        ("no spine reading at middle", "?"),
        ("undo the last reading", "11.2"),
        ("11.20 mm", "note near the kettle stitch"),
        ("noted with the spine at tail", "done"),
        ("fore-edge at head> ", "8.0"),
        ("fore-edge at middle> ", ""),
        ("fore-edge at middle> ", "8.1"),
        ("fore-edge at tail> ", "done"),
    ]);
    terminal.rest();
    assert_rows(&folder, &["T1,sewn,head,11,8,", "T1,sewn,middle,,8.1,", "T1,sewn,tail,11.2,,"]);
    assert!(folder.rows("readings.csv")[2].contains("near the kettle stitch"));
}

#[test]
fn input_that_is_not_a_reading_rings_the_bell_and_is_explained() {
    let folder = Folder::with_trial();
    let mut terminal = taking_readings(&folder, &[]);
    terminal.converse(&[
        ("spine at 1> ", "ERR6"),
        ("\u{7}  the gauge reports an error (ERR6)", "1e3"),
        ("\u{7}  '1e3' is not a plain number", "1.234,56"),
        ("1234.56 or as 1.23456", "105"),
        ("was it typed in tenths? (type yes to take 10.50 mm)", "yes"),
        ("spine at 1: 10.50 mm", "&&:é("),
        ("another keyboard layout, meaning 11.25", "yes"),
        ("so far apart that one is wrong", "y"),
        ("spine at 2: 11.25 mm", "3"),
        ("far from the others'", "y"),
        ("spine at 4> ", "done"),
        ("fore-edge at 1> ", "8.0"),
        ("fore-edge at 2> ", "8.0"),
        ("fore-edge at 3> ", "8.0"),
        ("thinner than half the fore-edge", "done"),
        ("was one left out?", "done"),
    ]);
    terminal.rest();
    assert_rows(&folder, &["T1,sewn,1,10.5,8,", "T1,sewn,2,11.25,8,", "T1,sewn,3,3,,"]);
}

#[test]
fn the_end_of_input_keeps_what_is_complete_and_an_interrupt_keeps_nothing() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let mut terminal = taking_readings(&folder, &[]);
    terminal.converse(&[("spine at 1> ", "11.0"), ("spine at 2> ", "11.1")]);
    terminal.expect("spine at 3> ");
    terminal.send_control('c');
    terminal.rest();
    assert_eq!(folder.bytes(), before);
    let mut terminal = taking_readings(&folder, &[]);
    terminal.converse(&[("spine at 1> ", "11.0"), ("spine at 2> ", "11.1")]);
    terminal.expect("spine at 3> ");
    terminal.send_control('d');
    let end = terminal.rest();
    assert!(end.contains("recorded 2 readings"), "{end}");
    assert_rows(&folder, &["T1,sewn,1,11,,", "T1,sewn,2,11.1,,"]);
}

#[test]
fn a_trial_is_asked_for_with_choices_from_the_book() {
    let folder = Folder::with_trial();
    let more = ["record", "paper", "laid 120", "--caliper", "0.155", "--hardness", "soft"];
    folder.run(&more).ends(0);
    let mut terminal = Terminal::run(&folder, &["record", "trial", "--note", "first of the year"]);
    terminal.converse(&[
        ("name of the trial [T2]: ", "T1"),
        ("already holds a trial 'T1'", ""),
        ("day it was sewn [today]: ", ""),
        ("[block]: ", "bok"),
        ("'bok' is not one of block, book", "book"),
    ]);
    terminal.converse(&[
        (" 1  bond 80\r\n   2  laid 120\r\npaper (number or name): ", "laid 102"),
        ("did you mean 'laid 120'?", "2"),
        ("thread (number or name) [linen 25]: ", ""),
        ("sections: ", "0"),
        ("0 is outside 1..500", "12"),
        ("folded sheets in a section: ", "3"),
        ("sections in one traverse (1 all along, 2 two-on) [1]: ", "2"),
        ("sections at each end sewn all along (3+4 if they differ) [0]: ", "7"),
        ("7 at each end is too many", "2+4"),
        ("folds boned down: yes or no [no]: ", "y"),
        ("build-up of repairs at the fold [0]: ", ""),
    ]);
    let end = terminal.rest();
    assert!(end.contains("recorded trial T2 (book of 2026-03-01)"), "{end}");
    let row = folder.read("trials.csv").lines().last().unwrap().to_owned();
    assert!(row.starts_with("T2,2026-03-01,book,laid 120,linen 25,12,3,2,2+4,"), "{row}");
    assert!(row.ends_with("first of the year"), "{row}");
}

/// Two benches are offered the same name, and the first to answer has it.
#[test]
fn an_offered_name_that_was_taken_meanwhile_gives_way_to_the_next() {
    let folder = Folder::with_trial();
    let mut terminal = Terminal::run_wide(&folder, &["record", "trial", "--paper", "bond 80"]);
    terminal.converse(&[
        ("name of the trial [T2]: ", ""),
        ("day it was sewn [today]: ", ""),
        ("[block]: ", ""),
        ("thread (number or name) [linen 25]: ", ""),
        ("sections: ", "10"),
    ]);
    folder.run(&crate::support::folder::trial("T2")).ends(0);
    terminal.converse(&[
        ("folded sheets in a section: ", "4"),
        ("2 two-on) [1]: ", ""),
        ("folds boned down: yes or no [no]: ", ""),
        ("build-up of repairs at the fold [0]: ", ""),
    ]);
    let end = terminal.rest();
    assert!(end.contains("recorded trial T3") && end.contains("offered as T2; that name"), "{end}");
}

#[test]
fn readings_follow_a_trial_that_was_renamed_meanwhile() {
    let rename = ["correct", "trial", "T1", "--name", "A"];
    let strike = ["strike", "trial", "T1", "--reason", "cut apart"];
    let followed = "recorded 1 reading of A, as sewn, at 1 (T1 is A now)";
    let refused = "trial 'T1' was struck meanwhile, and another trial has its name now";
    for (changes, says) in [
        (&[&rename[..]][..], followed),
        (&[&rename, &trial("T1")], followed),
        (&[&strike, &trial("T1")], refused),
    ] {
        let folder = Folder::with_trial();
        let mut terminal = taking_readings(&folder, &[]);
        terminal.converse(&[("spine at 1> ", "11.0"), ("spine at 2> ", "done")]);
        terminal.converse(&[("fore-edge at 1> ", "8.05")]);
        changes.iter().for_each(|change| _ = folder.run(change).ends(0));
        terminal.send_line("done");
        let end = terminal.rest();
        assert!(end.contains(says), "{end}");
        assert!(says == followed || end.contains("were not written"), "{end}");
    }
}

#[test]
fn a_trial_that_is_measured_while_the_reason_is_typed_is_not_struck() {
    let folder = Folder::with_trial();
    let mut terminal = Terminal::run(&folder, &["strike", "trial", "T1"]);
    terminal.expect("reason: ");
    folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.1");
    terminal.send_line("cut apart");
    let end = terminal.rest();
    assert!(end.contains("were added, corrected or struck meanwhile"), "{end}");
    assert!(folder.rows("struck.csv").is_empty());
}

#[test]
fn papers_and_threads_are_asked_for_too() {
    let folder = Folder::with_book();
    let mut terminal = Terminal::run(&folder, &["record", "paper"]);
    terminal.converse(&[
        ("name of the paper: ", "wove 90"),
        ("weight in g/m", "90 gsm"),
        ("(1 for a single leaf) [10]: ", ""),
        ("reading over the stack: ", "+001.17mm"),
        ("hardness: hard, medium or soft [medium]: ", ""),
    ]);
    let end = terminal.rest();
    assert!(end.contains("caliper 0.117 mm"), "{end}");
    let mut terminal = Terminal::run(&folder, &["record", "thread", "linen 18"]);
    terminal.converse(&[
        ("[linen]: ", ""),
        ("count, such as lea 25/3 [leave out]: ", "lea 18/3"),
        ("diameter as laid, measured [leave out]: ", ""),
    ]);
    let end = terminal.rest();
    assert!(end.contains("275.6 tex"), "{end}");
    assert!(folder.read("threads.csv").contains("linen 18,linen,lea 18/3,,"));
}

#[test]
fn nothing_is_asked_when_nothing_is_missing_or_input_is_unwanted() {
    let folder = Folder::with_trial();
    let mut terminal = Terminal::run(&folder, &["record", "target", "limp", "2..10"]);
    let end = terminal.rest();
    assert!(end.contains("recorded target limp: 2 to 10 %"), "{end}");
    let mut terminal = Terminal::run(&folder, &["--no-input", "record", "target", "half"]);
    let end = terminal.rest();
    assert!(end.contains("missing --low, --high"), "{end}");
}

#[test]
fn a_reason_is_asked_for_and_the_entry_chosen_from_a_list() {
    let folder = Folder::with_trial();
    let mut terminal = Terminal::run(&folder, &["strike", "trial"]);
    terminal.converse(&[("trial (number or name): ", "1"), ("reason: ", "wrong thread")]);
    let end = terminal.rest();
    assert!(end.contains("struck trial T1 and its readings: wrong thread"), "{end}");
}

#[test]
fn what_to_bring_back_is_chosen_from_lists() {
    let folder = Folder::with_trial();
    folder.run(&["strike", "trial", "T1", "--reason", "a slip"]).ends(0);
    let mut terminal = Terminal::run(&folder, &["restore"]);
    terminal.converse(&[("what to bring back (number or name): ", "trial")]);
    terminal.converse(&[("struck trial (number or name): ", "1")]);
    let end = terminal.rest();
    assert!(end.contains("brought back trial T1"), "{end}");
}

#[test]
fn a_number_that_is_also_the_name_of_another_entry_is_asked_again() {
    let folder = Folder::with_trial();
    for name in ["3", "1", "2"] {
        folder.run(&crate::support::folder::trial(name)).ends(0);
    }
    let mut terminal = Terminal::run_wide(&folder, &["strike", "trial", "--reason", "a slip"]);
    terminal.converse(&[
        ("trial (number or name): ", "3"),
        ("is the name of one trial and the number of '1'; type 'name 3' or 'number 3'", "number 3"),
    ]);
    let end = terminal.rest();
    assert!(end.contains("struck trial 1 and its readings: a slip"), "{end}");
}

#[test]
fn readings_that_cannot_be_written_stay_on_the_screen() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let mut terminal = taking_readings(&folder, &[]);
    terminal.converse(&[("spine at 1> ", "11.0"), ("spine at 2> ", "done")]);
    terminal.converse(&[("fore-edge at 1> ", "8.05")]);
    terminal.expect("fore-edge at 2, or done> ");
    let lock = std::fs::File::open(folder.path().join("book.lock")).unwrap();
    lock.lock().unwrap();
    terminal.send_line("done");
    let end = terminal.rest();
    assert!(end.contains("T1,sewn,1,11,8.05") && end.contains("in use"), "{end}");
    assert_eq!(folder.bytes(), before);
}

#[test]
fn an_edge_that_was_left_out_is_added_at_its_places() {
    let spines = ["--state", "knocked", "--spine", "10.78,10.71,10.80", "--taken", "unknown"];
    let audited = |folder: &Folder| {
        let said = folder.run(&["audit"]).out;
        assert!(!said.contains("only the spine") && !said.contains("was one left out"), "{said}");
        let show = folder.run(&["show", "T1"]).ends(0).out;
        assert!(show.contains("10.78") && show.contains("8.04"), "{show}");
    };
    let folder = Folder::with_trial();
    folder.run(&[&["record", "readings", "T1"], &spines[..]].concat()).ends(0);
    let knocked = ["record", "readings", "T1", "--state", "knocked"];
    let args = [&knocked[..], &["--place", "1,2,3", "--fore-edge", "8.04,8.00,8.05"]].concat();
    let done = folder.run(&args).ends(0).out;
    assert!(done.contains("completed 3 readings of T1, knocked down, at 1, 2, 3"), "{done}");
    audited(&folder);
    // A second time, no edge is missing.
    let again = folder.run(&args).ends(3).err;
    assert!(again.contains("to change it: swellbook correct reading T1/knocked/1"), "{again}");
    folder.run(&["undo"]).ends(0);
    let mut terminal = Terminal::run_wide(&folder, &knocked);
    terminal.expect("the fore-edge is still missing at 1, 2, 3; measure it there");
    terminal.converse(&[
        ("fore-edge at 1> ", "undo"),
        ("there is nothing to undo", "8.04"),
        ("fore-edge at 2> ", "8.00"),
        ("fore-edge at 3> ", "8.05"),
        ("all places taken, done?> ", "done"),
    ]);
    let end = terminal.rest();
    assert!(end.contains("completed 3 readings of T1, knocked down, at 1, 2, 3"), "{end}");
    audited(&folder);
}

/// A question that goes into a file, or nowhere, is not seen.
#[test]
fn nobody_is_asked_where_questions_cannot_be_seen() {
    for away in ["2>said.txt", "2>&-", "2>/dev/null"] {
        let folder = Folder::with_trial();
        let before = folder.bytes();
        let mut command = folder.command("/bin/sh");
        let line = format!("{PROGRAM} record paper wove {away}; echo ended $?");
        command.args(["-c", &line]).env("NO_COLOR", "1").env("TERM", "xterm");
        let mut terminal = Terminal::start(command);
        terminal.expect("ended 2");
        terminal.rest();
        let mut after = folder.bytes();
        after.remove(&folder.path().join("said.txt"));
        assert_eq!(after, before, "{away}");
    }
}
