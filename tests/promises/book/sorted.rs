//! A file that was sorted in a spreadsheet means what it meant, or every command says what may be
//! wrong until the file is accepted.

use crate::support::folder::Folder;
use swellbook::book::Book;

const SEWN: [&str; 9] = [
    "record",
    "readings",
    "T1",
    "--state",
    "sewn",
    "--spine",
    "12.11,12.63,12.36",
    "--fore-edge",
    "8.52,8.61,8.74",
];

/// Sorts the rows of a file by a column, as a spreadsheet does.
fn sort(folder: &Folder, name: &str, column: usize, downwards: bool) {
    let text = folder.read(name);
    let mut rows: Vec<&str> = text.lines().collect();
    let header = rows.remove(0);
    rows.sort_by_key(|row| row.split(',').nth(column).unwrap_or_default().to_owned());
    if downwards {
        rows.reverse();
    }
    folder.write(name, [&[header], &rows[..]].concat().join("\n") + "\n");
}

/// The spines of the readings that count, in order.
fn spines(folder: &Folder) -> Vec<String> {
    let book = Book::open(folder.path()).expect("a book");
    let spine = |reading: &swellbook::trade::Reading| {
        format!("{:?}", reading.edge(swellbook::trade::Edge::Spine).map(|spine| spine.mm()))
    };
    let mut spines: Vec<String> = book.readings().iter().map(spine).collect();
    spines.sort();
    spines
}

/// A book with a reading, a trial and a paper that were corrected, and a reading that was struck and
/// measured again.
fn corrected() -> Folder {
    let folder = Folder::with_trial();
    folder.run(&SEWN).ends(0);
    folder.run(&["correct", "reading", "T1/sewn/2", "--spine", "12.23"]).ends(0);
    folder.run(&["strike", "reading", "T1/sewn/3", "--reason", "not zeroed"]).ends(0);
    let again = ["record", "readings", "T1", "--state", "sewn", "--place", "3"];
    folder.run(&[&again[..], &["--spine", "12.2", "--fore-edge", "8.6"]].concat()).ends(0);
    folder.run(&["correct", "paper", "bond 80", "--caliper", "0.101mm"]).ends(0);
    folder.run(&["correct", "paper", "bond 80", "--caliper", "0.099mm"]).ends(0);
    folder.run(&["correct", "target", "rounded", "--high", "24"]).ends(0);
    folder
}

#[test]
fn a_corrected_entry_counts_wherever_a_spreadsheet_puts_its_row() {
    let folder = corrected();
    let whole = folder.holds();
    let book = |folder: &Folder| Book::open(folder.path()).expect("a book");
    let mut meant = book(&folder).entries().clone();
    let mut moved = 0;
    for name in ["readings.csv", "papers.csv", "targets.csv"] {
        let columns = folder.read(name).lines().next().unwrap().split(',').count();
        for (column, downwards) in (0..columns).flat_map(|at| [(at, false), (at, true)]) {
            folder.put(&whole);
            sort(&folder, name, column, downwards);
            moved += usize::from(folder.holds() != whole);
            let mut entries = book(&folder).entries().clone();
            for entries in [&mut meant, &mut entries] {
                entries.papers.sort_by_key(|it| it.name.clone());
                entries.targets.sort_by_key(|it| it.name.clone());
                entries.readings.sort_by_key(|it| it.place.as_str().to_owned());
            }
            assert_eq!(entries, meant, "{name} by column {column}");
            // What the next command writes makes no difference.
            folder.run(&["record", "paper", "wove", "--caliper", "0.12mm"]).ends(0);
            let knocked = ["record", "readings", "T1", "--state", "knocked"];
            let knocked = [&knocked[..], &["--spine", "11", "--fore-edge", "8.5"]].concat();
            let said = folder.run(&knocked).ends(0).err;
            assert!(!said.contains("counts as struck"), "{said}");
            assert_eq!(spines(&folder).len(), 4);
            assert!(spines(&folder).contains(&"Some(12.23)".to_owned()), "{name}");
        }
    }
    assert!(moved > 10, "{moved}");
}

/// The log does not say which of several rows of one change was which.
fn measured_again() -> Folder {
    let folder = Folder::with_trial();
    folder.run(&SEWN).ends(0);
    let strike = ["strike", "reading", "T1/sewn", "--reason", "not zeroed"];
    folder.run(&strike).ends(0);
    let mut again = SEWN;
    again[6] = "12.01,12.53,12.26";
    folder.run(&[&again[..], &["--place", "1,2,3"]].concat()).ends(0);
    folder
}

#[test]
fn where_the_log_does_not_say_which_row_counts_every_command_does() {
    let folder = measured_again();
    let says = |says: bool| {
        for args in [&["show", "T1"][..], &["fit"], &["audit"]] {
            let run = folder.run(args);
            let said = [run.out, run.err].concat().split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(said.contains("counts as struck"), says, "{args:?}: {said}");
            if says {
                for part in [
                    "counts as reading 'T1/sewn/1', with spine_mm 12.11, and row ",
                    " counts as struck, with 12.01; the file was changed outside swellbook, so it \
                     may be the other way round, and so may 2 other entries of this file",
                ] {
                    assert!(said.contains(part), "{said}");
                }
            }
        }
    };
    says(false);
    let whole = folder.holds();
    sort(&folder, "readings.csv", 3, false);
    says(true);
    // A write does not end the doubt; sorting back does.
    let knocked = ["record", "readings", "T1", "--state", "knocked"];
    let knocked = [&knocked[..], &["--spine", "11", "--fore-edge", "8.5"]].concat();
    folder.run(&knocked).ends(0);
    says(true);
    let added = folder.read("readings.csv").lines().last().unwrap().to_owned();
    let before = whole.iter().find(|(name, _)| name.ends_with("readings.csv")).unwrap().1;
    folder.write("readings.csv", String::from_utf8(before.clone()).unwrap() + &added + "\n");
    says(false);
    sort(&folder, "readings.csv", 3, false);
    says(true);
    folder.run(&["audit", "--accept"]).ends(0);
    says(false);
}

#[test]
fn a_line_added_or_edited_by_hand_puts_nothing_in_doubt() {
    let struck = Folder::with_trial();
    struck.run(&SEWN).ends(0);
    struck.run(&["strike", "reading", "T1/sewn/2", "--reason", "not zeroed"]).ends(0);
    for (folder, from, to) in [
        (corrected(), "\nT1,sewn,1", "\nT1,knocked,1,11,8.5,,by hand\nT1,sewn,1"),
        (measured_again(), "T1,sewn,3,12.26", "T1,knocked,1,11,8.5,,by hand\nT1,sewn,3,12.26"),
        (measured_again(), "T1,sewn,3,12.26", "T1,sewn,3,12.27"),
        (struck, ",8.74,2026-03-01,\n", ",8.74,2026-03-01,\nT1,sewn,2,12.23,8.61,,by hand\n"),
    ] {
        let text = folder.read("readings.csv");
        let edited = text.replace(from, to);
        assert_ne!(edited, text);
        folder.write("readings.csv", edited);
        let run = folder.run(&["audit"]).ends(0);
        assert!(!run.out.contains("counts as struck"), "{}", run.out);
        assert!(run.out.contains("changed outside swellbook"), "{}", run.out);
    }
}

#[test]
fn a_sorted_file_of_forecasts_is_in_doubt_where_one_of_a_name_was_struck() {
    let folder = Folder::with_trial();
    for sections in ["8", "12"] {
        let plan = ["predict", "--paper", "bond 80", "--thread", "linen 25", "--sheets", "4"];
        folder.run(&[&plan[..], &["--sections", sections, "--keep", "K"]].concat()).ends(0);
    }
    folder.run(&["strike", "forecast", "K", "--reason", "another plan"]).ends(0);
    assert!(folder.run(&["show", "forecasts"]).ends(0).err.is_empty());
    let text = folder.read("forecasts.csv");
    let rows: Vec<&str> = text.lines().collect();
    folder.write("forecasts.csv", [rows[0], rows[2], rows[1]].join("\n") + "\n");
    let said = folder.run(&["show", "forecasts"]).ends(0).err;
    assert!(said.contains("this row counts as forecast 'K/2', with plan "), "{said}");
}
