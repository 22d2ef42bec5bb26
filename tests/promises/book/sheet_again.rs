//! A sheet that changed since its last import brings in what is new, and what does not come in is
//! reported with the command that brings it in.
#![cfg(unix)]

use crate::support::folder::Folder;
use swellbook::book::{Book, reading_id};
use swellbook::trade::Reading;
use swellbook::units::Millimetres;

const HEADER: &str = "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,\
                      place,spine_mm,fore_edge_mm,note\n";

/// A row of block A1.
fn row(reading: &str) -> String {
    format!("A1,,bond,hard,0.12,linen,0.5,10,3,{reading}\n")
}

/// Two readings as sewn and one knocked down, with a place each or without.
fn block(places: [&str; 3]) -> String {
    let [one, two, three] = places;
    row(&format!("sewn,{one},11.2,7.6,"))
        + &row(&format!("sewn,{two},11.3,7.65,"))
        + &row(&format!("knocked,{three},10.4,7.6,"))
}

const NO_PLACES: [&str; 3] = [""; 3];

/// Imports rows and returns all that was said.
#[track_caller]
fn import(folder: &Folder, rows: &str, code: i32) -> String {
    folder.write("s.csv", format!("{HEADER}{rows}"));
    let run = folder.run(&["import", "s.csv"]).ends(code);
    run.err + &run.out
}

/// Runs the command that a message ends with, as a person would paste it.
#[track_caller]
fn paste(folder: &Folder, said: &str, behind: &str) {
    let command = said.split_once(behind).unwrap_or_else(|| panic!("no '{behind}' in {said}")).1;
    folder.paste(&command.lines().next().expect("a line").replace('…', "looked up"));
}

/// The readings that count: id, spine and fore-edge.
fn readings(folder: &Folder) -> Vec<String> {
    let book = Book::open(folder.path()).expect("a book");
    let mm = |edge: Option<Millimetres>| edge.map_or(0.0, Millimetres::mm);
    let of = |it: &Reading| format!("{} {} {}", reading_id(it), mm(it.spine()), mm(it.fore_edge()));
    let mut all: Vec<String> = book.readings().iter().map(of).collect();
    all.sort();
    all
}

#[track_caller]
fn imported(rows: &str) -> Folder {
    let folder = Folder::with_book();
    import(&folder, rows, 0);
    folder
}

/// A correction strikes too. Once it is undone, its strike says nothing about the sheet.
#[test]
fn what_was_corrected_before_an_undo_comes_in_again() {
    for correction in [
        &["correct", "thread", "linen", "--name", "flax"][..],
        &["correct", "trial", "A1", "--sections", "11"],
        &["correct", "reading", "A1/sewn/1", "--spine", "11.25"],
        &["strike", "trial", "A1", "--reason", "a slip"],
    ] {
        let folder = imported(&block(NO_PLACES));
        let before = readings(&folder);
        for args in [correction, &["undo"], &["undo"]] {
            folder.run(args).ends(0);
        }
        assert!(readings(&folder).is_empty(), "{correction:?}");
        import(&folder, &block(NO_PLACES), 0);
        assert_eq!(readings(&folder), before, "{correction:?}");
    }
}

/// What is in force after turns back and forth decides, not the strike that was written last.
#[test]
fn what_is_struck_or_corrected_stays_so_after_a_later_change_was_undone() {
    let (rows, strike) = (block(NO_PLACES), ["strike", "reading", "A1/sewn/2", "--reason", "x"]);
    let restore = ["restore", "reading", "A1/sewn/2"];
    let correct = |mm| ["correct", "reading", "A1/sewn/2", "--spine", mm];
    let (undo, redo) = (&["undo"][..], &["undo", "--redo"][..]);
    for turns in [
        &[&strike[..], undo, redo][..],
        &[&strike, &restore, undo],
        &[&strike, &restore, undo, redo, undo],
        &[&correct("11.31mm"), &correct("11.32mm"), undo],
        &[&correct("11.31mm"), undo, redo],
    ] {
        let folder = imported(&rows);
        turns.iter().for_each(|turn| _ = folder.run(turn).ends(0));
        let (before, said) = (readings(&folder), import(&folder, &rows, 0));
        assert_eq!(readings(&folder), before, "{turns:?}: {said}");
        assert!(said.contains("is not added again"), "{turns:?}: {said}");
    }
}

#[test]
fn what_an_undo_struck_comes_in_again_corrected_or_not() {
    let rows = block(NO_PLACES);
    for again in [
        rows.clone(),
        rows.replace("0.12", "0.13"),
        rows.replace("A1,,", "A1,2026-01-05,"),
        rows.replace("11.", "12."),
    ] {
        let folder = imported(&rows);
        folder.run(&["undo"]).ends(0);
        let said = import(&folder, &again, 0);
        assert!(said.contains("added 1 paper, 1 thread, 1 trial, 3 readings"), "{said}");
    }
    let (folder, longer) = (imported(&rows), rows + &row("sewn,,11.4,7.7,"));
    import(&folder, &longer, 0);
    folder.run(&["undo"]).ends(0);
    let said = import(&folder, &longer, 0);
    assert!(said.contains("added 1 reading from s.csv; 3 readings already in the book"), "{said}");
}

#[test]
fn a_struck_block_stays_out_until_it_is_brought_back_and_keeps_out_no_other() {
    let rows = block(NO_PLACES);
    let folder = imported(&rows);
    folder.run(&["strike", "trial", "A1", "--reason", "thrown away"]).ends(0);
    for same in [rows.clone(), rows.replace("A1,,", "A1,2026-01-05,") + &row("sewn,,11.4,7.7,")] {
        let said = import(&folder, &same, 0);
        assert!(said.contains("s.csv:2: trial 'A1' was struck from the book"), "{said}");
        assert!(said.contains("if this is another block, give it another name"), "{said}");
        assert!(said.contains("nothing was added"), "{said}");
    }
    let said = import(&folder, &rows, 0).replace("; if this is another", "\n");
    paste(&folder, &said, "to bring it back: ");
    assert!(import(&folder, &rows, 0).contains("3 readings already in the book"));
    folder.run(&["strike", "trial", "A1", "--reason", "thrown away"]).ends(0);
    for other in [rows.replace("11.", "12.").replace("10.4", "11.4"), rows.replace("10,3", "11,3")]
    {
        let said = import(&folder, &other, 0);
        assert!(said.contains("added 1 trial, 3 readings"), "{said}");
        folder.run(&["undo"]).ends(0);
    }
    let dated = imported(&rows.replace("A1,,", "A1,2026-01-05,"));
    dated.run(&["strike", "trial", "A1", "--reason", "thrown away"]).ends(0);
    import(&dated, &rows.replace("A1,,", "A1,2026-11-22,"), 0);
    assert_eq!(readings(&dated).len(), 3);
}

#[test]
fn a_struck_reading_is_brought_back_by_the_command_that_is_printed() {
    let rows = block(NO_PLACES);
    let folder = imported(&rows);
    folder.run(&["strike", "reading", "A1/sewn/2", "--reason", "misread"]).ends(0);
    let said = import(&folder, &rows, 0);
    paste(&folder, &said, "is not added again; to bring it back: ");
    assert_eq!(readings(&folder), readings(&imported(&rows)));
    // A corrected reading stays corrected.
    folder.run(&["correct", "reading", "A1/sewn/2", "--spine", "11.36mm"]).ends(0);
    let said = import(&folder, &rows, 0);
    assert!(said.contains("the book has A1/sewn/2 with spine 11.36 mm"), "{said}");
    folder.run(&["strike", "reading", "A1/sewn/2", "--reason", "not zeroed"]).ends(0);
    let said = import(&folder, &rows, 0);
    paste(&folder, &said, "to bring it back: ");
    assert_eq!(readings(&folder), readings(&imported(&rows)));
}

#[test]
fn a_row_that_may_correct_a_reading_is_reported_with_that_reading() {
    let rows = block(NO_PLACES);
    let corrected = rows.replace("11.3,", "11.36,");
    let folder = imported(&rows);
    let said = import(&folder, &corrected, 0);
    let parts = "s.csv:3: this is a new reading of A1 as sewn, but the book also has A1/sewn/2 with \
                 spine 11.3 mm and fore-edge 7.65 mm, which the sheet lacks";
    assert!(said.contains(parts), "{said}");
    paste(&folder, &said, "strike the old one: ");
    assert_eq!(readings(&folder).len(), 3);
    assert!(import(&folder, &corrected, 0).contains("3 readings already in the book"));
    // A sheet of later readings alone corrects nothing.
    let said = import(&folder, &row("sewn,,11.5,7.7,"), 0);
    assert!(!said.contains("lacks"), "{said}");
    assert!(
        !import(&imported(&rows), &(rows.clone() + &row("sewn,,11.5,7.7,")), 0).contains("lacks")
    );
}

#[test]
fn numbers_that_depend_on_the_order_of_imports_do_not_tell_readings_apart() {
    let rows = block(NO_PLACES);
    let longer = row("sewn,,11.1,7.5,") + &rows;
    let (grown, at_once) = (imported(&rows), imported(&longer));
    import(&grown, &longer, 0);
    assert_ne!(readings(&grown), readings(&at_once));
    for (from, into) in [(&grown, &at_once), (&at_once, &grown)] {
        let sheet = from.run(&["export", "--sheet"]).ends(0).out;
        into.write("other.csv", sheet);
        let said = into.run(&["import", "other.csv"]).ends(0).out;
        assert!(said.contains("nothing was added from other.csv; 4 readings already"), "{said}");
    }
    // What one of them has more comes in once.
    let (short, sheet) = (imported(&rows), at_once.run(&["export", "--sheet"]).ends(0).out);
    short.write("other.csv", sheet);
    short.run(&["import", "other.csv"]).ends(0);
    assert_eq!(readings(&short), readings(&grown));
    assert!(short.run(&["import", "other.csv"]).ends(0).out.contains("nothing was added"));
    // Readings that differ are not taken for renumbered ones, and named places stay what they are.
    let one = imported(&row("sewn,1,11.2,7.6,"));
    import(&one, &row("sewn,1,11.3,7.6,"), 3);
    let named = imported(&block(["head", "tail", "head"]));
    import(&named, &block(["tail", "head", "head"]), 3);
}

#[test]
fn another_value_at_a_place_is_taken_over_by_the_command_that_is_printed() {
    for (first, later) in [("11.2,7.6", "11.3,7.6"), ("11.2,", "11.2,7.6"), ("11.2,7.6", ",7.6")] {
        let folder = imported(&row(&format!("sewn,1,{first},")));
        // Another machine corrects the reading, and later takes that back.
        for value in [later, first] {
            let rows = row(&format!("sewn,1,{value},"));
            paste(&folder, &import(&folder, &rows, 3), "if the book is wrong: ");
            assert!(import(&folder, &rows, 0).contains("1 reading already in the book"));
        }
    }
}

/// To add a column: its heading, and a value in the book and in the sheet.
#[test]
fn another_fact_is_taken_over_by_the_command_that_is_printed() {
    let facts = [
        ("date", ["2026-01-05", "2026-01-06"]),
        ("kind", ["block", "book"]),
        ("hardness", ["hard", "soft"]),
        ("grammage_gsm", ["80", "81"]),
        ("caliper_mm", ["0.12", "0.121"]),
        ("material", ["linen", "silk"]),
        ("count", ["lea 18/3", "lea 25/3"]),
        ("laid_mm", ["0.5", "0.51"]),
        ("sections", ["10", "11"]),
        ("sheets", ["3", "4"]),
        ("on", ["1", "2"]),
        ("ends", ["0", "1"]),
        ("boned", ["yes", "no"]),
        ("guards_mm", ["0", "0.1"]),
        ("hand", ["Ann", "Bob"]),
    ];
    let folder = Folder::with_book();
    let sheet = |which: usize| {
        let headings = facts.map(|(heading, _)| heading).join(",");
        let values = facts.map(|(_, values)| values[which]).join(",");
        let rest = "trial,paper,thread,state,spine_mm,fore_edge_mm";
        folder
            .write("s.csv", format!("{headings},{rest}\n{values},A 1,bond,linen,sewn,11.2,7.6\n"));
        folder.run(&["import", "s.csv"])
    };
    sheet(0).ends(0);
    let said = sheet(1).ends(3).err;
    for (heading, _) in facts {
        let at = said.find(&format!("column {heading}: ")).expect(heading);
        paste(&folder, &said[at..], "if the book is wrong: ");
    }
    assert!(sheet(1).ends(0).out.contains("1 reading already in the book"));
}

#[test]
fn a_sheet_with_the_old_name_of_a_trial_or_a_paper_is_told_the_new_one() {
    let longer = block(NO_PLACES) + &row("sewn,,11.4,7.7,");
    for (kind, old, new) in [("trial", "A1", "A1 b"), ("paper", "bond", "bond 80")] {
        let folder = imported(&block(NO_PLACES));
        folder.run(&["correct", kind, old, "--name", new]).ends(0);
        let said = import(&folder, &longer, 3);
        let words =
            format!("{kind} '{old}' is '{new}' in this book now; change its name in the sheet");
        assert!(said.contains(&words), "{said}");
        let said = import(&folder, &longer.replace(&format!("{old},"), &format!("{new},")), 0);
        assert!(said.contains("added 1 reading from s.csv; 3 readings already"), "{said}");
    }
}

/// The other copy of a book may have another name for it.
#[test]
fn a_paper_or_a_thread_of_a_new_name_is_renamed_by_the_command_that_is_printed() {
    for (kind, old, new) in [("paper", "bond", "bond 80"), ("thread", "linen", "li'nen")] {
        let (folder, renamed) = (imported(&block(NO_PLACES)), block(NO_PLACES));
        let renamed = renamed.replace(&format!("{old},"), &format!("{new},"));
        let said = import(&folder, &renamed, 3);
        let first = said.replace("; if another", "\n");
        paste(&folder, &first, &format!("if that {kind} has a new name: "));
        let again = import(&folder, &renamed, 0);
        assert!(again.contains("3 readings already in the book"), "{again}");
        folder.run(&["undo"]).ends(0);
        // Or it is another one. Then it has to be in the book first.
        assert!(said.contains(&format!("if another {kind} was used, first: swellbook record")));
        match kind {
            "paper" => folder.run(&["record", kind, new, "--caliper=0.12mm", "--hardness=hard"]),
            _ => folder.run(&["record", kind, new, "--laid=0.5mm"]),
        }
        .ends(0);
        paste(&folder, &said, "; then: ");
        assert!(import(&folder, &renamed, 0).contains("3 readings already in the book"));
    }
}

#[test]
fn a_reading_whose_place_was_renamed_is_there_under_its_old_place_too() {
    let rows = block(["1", "2", "1"]);
    let folder = imported(&rows);
    folder.run(&["correct", "reading", "A1/sewn/1", "--place", "head"]).ends(0);
    let before = readings(&folder);
    let said = import(&folder, &rows, 0);
    assert!(said.contains("3 readings already in the book"), "{said}");
    let words =
        "s.csv:2, column place: the book has reading 'A1/sewn/1' as 'A1/sewn/head'; it is kept";
    assert!(said.contains(words), "{said}");
    // Also after the correction was undone and done again, and without a place in the sheet.
    [&["undo"][..], &["undo", "--redo"]].iter().for_each(|turn| _ = folder.run(turn).ends(0));
    assert!(import(&folder, &rows, 0).contains("3 readings already in the book"));
    assert!(import(&folder, &block(NO_PLACES), 0).contains("3 readings already in the book"));
    assert_eq!(readings(&folder), before);
    let said = import(&folder, &rows.replace("11.2,", "11.25,"), 3);
    assert!(said.contains("A1/sewn/1 is A1/sewn/head in this book now: the book has A1/sewn/head"));
    paste(&folder, &said, "if the book is wrong: ");
    assert!(import(&folder, &rows, 3).contains("the book has A1/sewn/head with spine 11.25 mm"));
    // A sheet that has both places has two readings.
    let both = rows.clone() + &row("sewn,head,11.25,7.6,");
    assert!(import(&folder, &both, 0).contains("a reading of A1 as sewn with spine 11.2 mm"));
    let said = import(&folder, &both.replace("sewn,1,11.2,", "sewn,1,11.5,"), 0);
    assert!(said.contains("added 1 reading from s.csv; 3 readings already"), "{said}");
    let said = import(&imported(&rows), &rows, 0);
    assert!(!said.contains("column place"), "{said}");
}

#[test]
fn a_struck_reading_stays_out_under_the_new_name_of_its_trial_too() {
    let folder = imported(&block(NO_PLACES));
    folder.run(&["strike", "reading", "A1/sewn/2", "--reason", "misread"]).ends(0);
    folder.run(&["correct", "trial", "A1", "--name", "B1"]).ends(0);
    let said = import(&folder, &block(NO_PLACES).replace("A1,", "B1,"), 0);
    assert!(said.contains("nothing was added"), "{said}");
    paste(&folder, &said, "is not added again; to bring it back: ");
    let ids = readings(&folder).into_iter().map(|line| line.split(' ').next().unwrap().to_owned());
    assert_eq!(ids.collect::<Vec<_>>(), ["B1/knocked/1", "B1/sewn/1", "B1/sewn/2"]);
}

/// To add a way of writing a day: the cell, and what the book holds of it.
#[test]
fn a_day_of_measuring_is_read_like_any_day_and_another_text_stays() {
    let days = [
        ("14.01.2026", "2026-01-14"),
        ("03.02.2026", "2026-02-03"),
        ("46036", "2026-01-14"),
        ("2026-01-14T00:00:00", "2026-01-14"),
        ("14 Jan 2026", "2026-01-14"),
        ("2026-01-14", "2026-01-14"),
        ("14.01.2026 10:30", "14.01.2026 10:30"),
        ("by lamp", "by lamp"),
        ("31.02.2026", "31.02.2026"),
    ];
    let header = HEADER.replace("note\n", "taken\n");
    let of = |cells: &[&str]| {
        let row = |(at, cell): (usize, &&str)| row(&format!("sewn,{at},11.2,7.6,{cell}"));
        header.clone() + &cells.iter().enumerate().map(row).collect::<String>()
    };
    let folder = Folder::with_book();
    let import = |sheet: String, more: &[&str], code| {
        folder.write("s.csv", sheet);
        let run = folder.run(&[&["import", "s.csv"], more].concat()).ends(code);
        run.err + &run.out
    };
    let sheet = of(&days.map(|(cell, _)| cell));
    let said = import(sheet.clone(), &[], 0);
    assert!(said.contains("column taken: '46036' is read as a spreadsheet's day number"), "{said}");
    let held = Book::open(folder.path()).expect("a book");
    let held: Vec<&str> = held.readings().iter().map(|it| &*it.taken).collect();
    assert_eq!(held, days.map(|(_, held)| held));
    // The same days, and days that an older program kept as they were written.
    for again in [sheet, of(&days.map(|(_, held)| held))] {
        assert!(!import(again, &[], 0).contains("another day"));
    }
    let text = folder.read("readings.csv");
    folder.write("readings.csv", text.replace(",2026-02-03,", ",03.02.2026,"));
    assert!(!import(of(&["14.01.2026", "3.2.2026"]), &[], 0).contains("another day"));
    let other = import(of(&["14.01.2026", "04.02.2026"]), &[], 0);
    assert!(other.contains("another day of reading 'A1/sewn/1'"), "{other}");
    let way = "swellbook correct reading A1/sewn/1 --taken 2026-02-04";
    assert!(other.contains(way), "{other}");
    let two = import(of(&["03.02.2026"]), &[], 3);
    assert!(two.contains("s.csv:2, column taken: '03.02.2026' can be 2026-02-03"), "{two}");
    import(of(&["14.01.2026", "03.02.2026"]), &["--date-order", "dmy"], 0);
}

#[test]
fn a_note_or_a_day_that_was_filled_in_later_is_reported_with_how_to_add_it() {
    let (rows, folder) = (block(NO_PLACES), imported(&block(NO_PLACES)));
    let noted = rows.replace("A1,,", "A1,2026-01-05,").replace("7.6,\n", "7.6,looked up\n");
    let said = import(&folder, &noted, 0);
    let words = "s.csv:2, column note: the book has no note of reading 'A1/sewn/1'; it is kept as \
                 it is, and so is another of this column; ";
    assert!(said.contains(words), "{said}");
    for column in ["column date: ", "column note: "] {
        let at = said.find(column).expect(column);
        paste(&folder, &said[at..], "to write it into the book: ");
    }
    let said = import(&folder, &noted, 0);
    assert!(!said.contains("column date") && !said.contains("another of this"), "{said}");
    assert!(said.contains("the book has no note of reading 'A1/knocked/1'"), "{said}");
    let other = noted.replace("looked up", "by lamp");
    assert!(import(&folder, &other, 0).contains("another note of reading 'A1/sewn/1'"));
    for (taken, day) in [("2026-01-05", "2026-01-05"), ("by lamp", "YYYY-MM-DD")] {
        let (header, row) = (HEADER.replace("note\n", "taken\n"), row("sewn,1,11.2,7.6,"));
        folder.write("s.csv", header + &row.replace(",\n", &format!(",{taken}\n")));
        let said = folder.run(&["import", "s.csv"]).ends(0).err;
        let way = format!(
            "day of reading 'A1/sewn/1'; it is kept as it is; to write it into the book: swellbook \
             correct reading A1/sewn/1 --taken {day}"
        );
        assert!(said.contains(&way), "{said}");
    }
}

/// A block sewn all along has no separate ends, whatever the sheet has in that column.
#[test]
fn ends_of_a_block_sewn_all_along_are_the_same_in_every_sheet_and_in_the_book() {
    let header = HEADER.replace("sheets,", "sheets,on,ends,");
    let rows = |on: &str| block(NO_PLACES).replace("10,3,", &format!("10,3,{on},"));
    let folder = imported(&block(NO_PLACES));
    let import = |folder: &Folder, on: &str, code| {
        folder.write("s.csv", format!("{header}{}", rows(on)));
        let run = folder.run(&["import", "s.csv"]).ends(code);
        run.err + &run.out
    };
    for on in ["1,2", ",2"] {
        let said = import(&folder, on, 0);
        assert!(said.contains("3 readings already in the book"), "{on}: {said}");
        let new = Folder::with_book();
        import(&new, on, 0);
        assert!(new.read("trials.csv").contains(",10,3,1,0,"), "{}", new.read("trials.csv"));
    }
    // Older programs kept them.
    let older = folder.read("trials.csv").replace(",10,3,1,0,", ",10,3,1,2,");
    let kept = imported(&block(NO_PLACES));
    kept.write("trials.csv", older);
    assert!(import(&kept, "1,0", 0).contains("3 readings already in the book"));
    let said = import(&folder, "2,2", 3);
    for column in ["column on: ", "column ends: "] {
        let at = said.find(column).expect(column);
        paste(&folder, &said[at..], "if the book is wrong: ");
    }
    assert!(import(&folder, "2,2", 0).contains("3 readings already in the book"));
}
