//! The flat sheet that `export --sheet` writes imports again unchanged.

use crate::support::assert_contains;
use crate::support::folder::Folder;
use crate::support::random_books::{Size, entries, on_disk};
use std::time::{Duration, Instant};
use swellbook::book::{Book, Config, Entries, SheetOptions, init, read_sheet, written_sheet};
use swellbook::trade::Reading;

fn imported(book: &Book, sheet: &[u8]) -> Entries {
    let sheet = read_sheet(sheet, "the sheet", &SheetOptions::default()).unwrap();
    book.plan_import(&sheet).unwrap().entries
}

/// The part of a book that a flat sheet can hold, as a new book keeps it, with papers and threads in
/// order of name.
fn in_sheet(book: &Entries) -> Entries {
    let mut held = book.clone();
    held.trials.retain(|trial| book.readings.iter().any(|it| it.trial == trial.name));
    held.trials.iter_mut().for_each(|trial| trial.sewing = trial.sewing.as_recorded());
    held.papers.retain(|it| held.trials.iter().any(|trial| trial.paper == it.name));
    held.threads.retain(|it| held.trials.iter().any(|trial| trial.thread == it.name));
    held.papers.sort_by(|one, other| one.name.cmp(&other.name));
    held.threads.sort_by(|one, other| one.name.cmp(&other.name));
    Entries { targets: Vec::new(), ..held }
}

#[test]
fn any_book_comes_back_from_its_sheet_and_the_sheet_adds_nothing_to_it() {
    let dir = tempfile::tempdir().unwrap();
    let empty = init(&dir.path().join("empty"), &Config::default()).unwrap();
    for seed in 0..40 {
        let size = Size { hands: 3, ..Size::ANY };
        let (_dir, book) = on_disk(&Config::default(), entries(seed, size));
        let book = Book::open(book.dir()).unwrap();
        if book.readings().is_empty() {
            continue;
        }
        let sheet = written_sheet(&book).bytes;
        assert!(imported(&book, &sheet).is_empty(), "seed {seed}: it adds to its own book");
        assert_eq!(in_sheet(&imported(&empty, &sheet)), in_sheet(book.entries()), "seed {seed}");
    }
}

/// The files hold more digits than the program writes, and texts with every character that has a
/// meaning in a table.
#[test]
fn every_figure_and_text_is_in_the_new_book_as_in_the_old() {
    let folder = Folder::with_trial();
    let name = "a \"quoted\", half; |barred| <b>name</b> 'n é";
    folder.run(&["record", "paper", name, "--caliper", "0.1234567mm", "--hardness=soft"]).ends(0);
    let sewing = ["--thread", "linen 25", "--sections", "10", "--sheets", "4", "--hand", "O'Hara"];
    folder.run(&[&["record", "trial", "=1", "--paper", name], &sewing[..]].concat()).ends(3);
    folder.run(&[&["record", "trial", "T/2", "--paper", name], &sewing[..]].concat()).ends(0);
    let rows = "T1,sewn,head,11.0123456789012345,8.1,2026-03-02,\"by lamp, \"\"late\"\"\"\n\
                T1,sewn,1,,8.05,,\nT/2,knocked,1,12.3000000001,,yesterday,1/2 - so\n";
    folder.write("readings.csv", folder.read("readings.csv") + rows);
    folder.run(&["export", "--sheet", "--out", "out.csv"]).ends(0);
    folder.run(&["import", "out.csv"]).ends(0);
    assert_eq!(Book::open(folder.path()).unwrap().readings().len(), 3);
    folder.run(&["init", "other"]).ends(0);
    folder.run(&["--book", "other", "import", "out.csv"]).ends(0);
    let (old, new) = (Book::open(folder.path()).unwrap(), folder.path().join("other"));
    let new = Book::open(&new).unwrap();
    // Compare to a millionth of a millimetre, the precision of the files.
    let sheet = String::from_utf8(written_sheet(&old).bytes).unwrap();
    assert!(sheet.contains(",11.012345678901234,") && sheet.contains(",12.3000000001,"), "{sheet}");
    let held = |book: &Book| {
        let reading = |it: &Reading| {
            let mm = |length: Option<swellbook::units::Millimetres>| {
                length.map(|length| (length.mm() * 1e6).round())
            };
            let texts = (it.place.to_string(), it.taken.to_string(), it.note.to_string());
            (it.trial.to_string(), it.state, mm(it.spine()), mm(it.fore_edge()), texts)
        };
        book.readings().iter().map(reading).collect::<Vec<_>>()
    };
    assert_eq!(held(&new), held(&old));
    let but_readings = |book: &Book| Entries { readings: Vec::new(), ..in_sheet(book.entries()) };
    assert_eq!(but_readings(&new), but_readings(&old));
}

#[test]
fn what_the_sheet_cannot_hold_is_reported() {
    let folder = Folder::with_trial();
    let nothing = folder.run(&["export", "--sheet"]).ends(0);
    assert_eq!(nothing.out.lines().count(), 1, "a header alone");
    let parts = ["1 trial without readings", "1 paper of no trial", "6 targets", "a backup has"];
    assert_contains(&nothing.err, &parts);
    folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.05");
    folder.run(&["strike", "reading", "T1/sewn/2", "--reason", "misread"]).ends(0);
    let run = folder.run(&["export", "--sheet", "--out", "out.csv"]).ends(0);
    assert_eq!(run.out, "wrote 1 reading: out.csv\n");
    assert!(run.err.contains("6 targets, 1 struck entry;"), "{}", run.err);
    assert_eq!(folder.read("out.csv").lines().count(), 2);
}

/// Only a file edited by hand can contain a formula.
#[test]
fn no_formula_leaves_the_book_and_names_that_import_refuses_are_reported() {
    let folder = Folder::with_trial();
    let rows = "T1,sewn,1,11,8.1,,=1+1\nT1,sewn,2,11.1,8.1,@x,fine\n";
    folder.write("readings.csv", folder.read("readings.csv") + rows);
    let run = folder.run(&["export", "--sheet", "--out", "out.csv"]).ends(0);
    assert!(run.err.contains("2 notes that import refuses"), "{}", run.err);
    assert!(!folder.read("out.csv").contains(['=', '@']));
    folder.run(&["import", "out.csv", "--dry-run"]).ends(0);
    folder.write("readings.csv", folder.read("readings.csv") + "T1,pressed,?,11,8.1,,\n");
    let run = folder.run(&["export", "--sheet"]).ends(0);
    assert!(run.err.contains("import does not take this sheet as it is"), "{}", run.err);
}

#[test]
fn a_sheet_is_csv_and_replaces_no_file_that_may_have_been_worked_on() {
    let folder = Folder::with_trial();
    folder.run(&["export", "--sheet", "--out", "out.csv"]).ends(0);
    let again = folder.run(&["export", "--sheet", "--out", "out.csv"]).ends(3);
    again.complains_of(&["out.csv", "--replace"]);
    folder.run(&["export", "--sheet", "--out", "out.csv", "--replace"]).ends(0);
    folder.run(&["export", "--sheet", "--out", "papers.csv"]).ends(3);
    folder.run(&["export", "--sheet", "--out", "out.json"]).ends(3).complains_of(&[".csv"]);
    folder.run(&["export", "--sheet", "--format", "json"]).ends(2);
}

#[test]
fn a_hundred_thousand_readings_take_about_as_long_as_reading_them_twice() {
    let folder = Folder::with_trial();
    let mut rows = folder.read("readings.csv");
    for place in 1..=100_000 {
        rows += &format!("T1,sewn,{place},11.{:03},8.3,,\n", place % 997);
    }
    folder.write("readings.csv", rows);
    let took = |work: &dyn Fn()| {
        let began = Instant::now();
        work();
        began.elapsed()
    };
    let read = took(&|| drop(Book::open(folder.path()).unwrap()));
    let export = took(&|| drop(folder.run(&["export", "--sheet", "--out", "out.csv"]).ends(0)));
    // The export reads the book, writes the sheet and tries to import it.
    assert!(export < 12 * read + Duration::from_secs(1), "{export:?} after {read:?}");
    assert_eq!(folder.read("out.csv").lines().count(), 100_001);
}
