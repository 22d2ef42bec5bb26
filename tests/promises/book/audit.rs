//! The audit names possible but suspect entries of a book with their place, and no sound ones.

use super::book_files::new_book;
use crate::support::folder::{Folder, put};
use jiff::civil::date;
use swellbook::book::{Book, Severity, audit};

/// A sound book of an invented bindery, by file.
const SOUND: [(&str, &str); 4] = [
    (
        "papers.csv",
        "paper,grammage_gsm,caliper_mm,hardness,note\nbond 80,80,0.1,hard,\nsoft \
         120,120,0.155,soft,\n",
    ),
    (
        "threads.csv",
        "thread,material,count,laid_mm,note\nfine,linen,lea 25/3,0.46,\nthick,linen,lea 18/3,,\n",
    ),
    (
        "trials.csv",
        "trial,date,kind,paper,thread,sections,sheets,on,ends,boned,guards_mm,hand,note\n\
         A1,2026-03-14,block,bond 80,fine,10,4,1,0,no,0,Ines,\n\
         A2,2026-03-15,block,soft 120,thick,10,3,1,0,no,0,Ines,\n",
    ),
    (
        "readings.csv",
        "trial,state,place,spine_mm,fore_edge_mm,taken,note\n\
         A1,sewn,1,11.0,8.1,,\n\
         A1,sewn,2,11.1,8.15,,\n\
         A1,knocked,1,10.1,8.1,,\n\
         A1,knocked,2,10.2,8.1,,\n\
         A2,unsewn,1,9.6,9.7,,\n\
         A2,unsewn,2,9.7,9.7,,\n\
         A2,sewn,1,12.9,9.5,,\n\
         A2,sewn,2,12.8,9.5,,\n\
         A2,sewn,3,12.85,9.5,,\n",
    ),
];

/// The findings in the sound book after one change.
fn found(change: Option<(&str, &str)>) -> Vec<(Severity, String)> {
    let (_dir, book) = new_book();
    let mut changed = false;
    for (file, text) in SOUND {
        let mended = change.map_or(text.to_owned(), |(from, to)| text.replacen(from, to, 1));
        changed |= mended != text;
        put(&book.dir().join(file), mended);
    }
    assert_eq!(changed, change.is_some(), "{change:?}");
    let mut book = Book::open(book.dir()).unwrap_or_else(|error| panic!("{error}"));
    // Accept the edits, so that files written by hand are not a finding.
    book.accept_edits().unwrap();
    let book = Book::open(book.dir()).unwrap();
    let findings = audit(&book, date(2026, 4, 1));
    findings.iter().map(|finding| (finding.severity(), finding.to_string())).collect()
}

#[test]
fn a_sound_book_has_no_findings() {
    assert_eq!(found(None), []);
}

#[test]
fn each_doubt_is_found_by_itself_and_with_its_place() {
    use Severity::{Check, Note};
    let cases = [
        (
            "11.0,8.1,",
            "8.0,8.1,",
            Check,
            "readings.csv:2: A1 as sewn: place 1 has a spine of 8 mm, thinner",
        ),
        (
            "A1,sewn,2,11.1,8.15",
            "A1,sewn,2,13.0,8.15",
            Check,
            "readings.csv:3: A1 as sewn: place 2 has a spine of 13 mm, far from the others' \
             11.00 mm",
        ),
        (
            "bond 80,80,0.1,",
            "bond 80,80,0.14,",
            Check,
            "readings.csv:2: A1 as sewn: the fore-edge is 8.12 mm, but the leaves make 11.20 mm",
        ),
        (
            "A1,knocked,1,10.1,8.1,,\nA1,knocked,2,10.2",
            "A1,knocked,1,11.4,8.1,,\nA1,knocked,2,11.4",
            Check,
            "readings.csv:4: A1 knocked down: the swell is 3.30 mm, more than 2.9",
        ),
        (
            "12.8,9.5,,\nA2,sewn,3,12.85",
            "12.9,9.5,,\nA2,sewn,3,12.9",
            Note,
            "readings.csv:8: A2 as sewn: all 3 places read the same",
        ),
        (
            "A1,sewn,1,11.0,8.1,,\nA1,sewn,2,11.1,8.15",
            "A1,sewn,1,11.0,,,\nA1,sewn,2,11.1,",
            Check,
            "readings.csv:2: A1 as sewn: only the spine was measured",
        ),
        ("A1,knocked,2,10.2,8.1,,\n", "", Note, "readings.csv:4: A1 knocked down: one place only"),
        (
            "bond 80,80,",
            "bond 80,30,",
            Check,
            "papers.csv:2: paper 'bond 80' has a bulk of 3.33 cm\u{b3}/g",
        ),
        (
            "fine,linen,lea 25/3,0.46",
            "fine,linen,lea 25/3,0.7",
            Check,
            "threads.csv:2: thread 'fine' has a laid diameter of 0.7 mm, but its count gives \
             0.46 mm",
        ),
        (
            "0.155,soft,\n",
            "0.155,soft,\nrag,,0.2,soft,\n",
            Note,
            "papers.csv:4: paper 'rag' is not used in any trial",
        ),
        (
            "lea 18/3,,\n",
            "lea 18/3,,\nsilk,silk,Td 840,,\n",
            Note,
            "threads.csv:4: thread 'silk' is not used in any trial",
        ),
        (
            "A1,2026-03-14",
            "A1,2026-05-14",
            Check,
            "trials.csv:2: trial 'A1' is dated 2026-05-14, which is in the future",
        ),
        ("A1,2026-03-14", "A1,", Note, "trials.csv:2: trial 'A1' has no date"),
        ("no,0,Ines,\n", "no,0,,\n", Note, "trials.csv:2: trial 'A1' does not say whose hand"),
        (
            "A2,2026-03-15",
            "A9,2026-03-15,block,bond 80,fine,10,4,1,0,no,0,Ines,\nA2,2026-03-15",
            Note,
            "trials.csv:3: trial 'A9' has no readings yet",
        ),
        ("A1,knocked,1", "\nA1,knocked,1", Note, "readings.csv:4: an empty row was skipped"),
        ("taken,note\n", "taken,note,mood\n", Note, "readings.csv:1: column 'mood' is not read"),
    ];
    for (from, to, severity, expected) in cases {
        let found = found(Some((from, to)));
        let fits = |(of, text): &&(Severity, String)| *of == severity && text.starts_with(expected);
        assert_eq!(found.iter().filter(fits).count(), 1, "{expected}\n{found:#?}");
        // A wrong reading may cause several findings; a wrong entry causes only one.
        let sides = if expected.starts_with("readings") { 4 } else { 1 };
        assert!(found.len() <= sides, "{expected}\n{found:#?}");
    }
}

#[test]
fn names_that_differ_only_in_case_or_spaces_are_found() {
    let found = found(Some(("0.155,soft,\n", "0.155,soft,\nBond80,80,0.1,hard,\n")));
    assert_eq!(found.len(), 2);
    let expected = "papers.csv:4: paper 'Bond80' differs from 'bond 80' only in capitals or spaces";
    assert!(found.iter().any(|(_, text)| text.starts_with(expected)), "{found:#?}");
}

#[test]
fn a_book_in_which_nobody_names_a_hand_is_sound() {
    let (_dir, book) = new_book();
    for (file, text) in SOUND {
        put(&book.dir().join(file), text.replace("Ines", ""));
    }
    Book::open(book.dir()).unwrap().accept_edits().unwrap();
    assert_eq!(audit(&Book::open(book.dir()).unwrap(), date(2026, 4, 1)), []);
}

/// The findings about readings that do not count.
fn uncounted(folder: &Folder) -> Vec<String> {
    let found = folder.run(&["audit", "--json"]).json();
    let messages = found["findings"].as_array().unwrap().iter().map(|it| it["message"].as_str());
    let messages = messages.map(|message| message.unwrap().to_owned());
    messages.filter(|message| message.contains("not count")).collect()
}

#[test]
fn rows_added_under_a_name_that_a_trial_no_longer_has_are_found() {
    let folder = Folder::with_trial();
    folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.05");
    folder.run(&["strike", "reading", "T1/sewn/2", "--reason", "misread"]).ends(0);
    let (before, added) = (folder.bytes(), "T1,sewn,3,11.2,8.1,,\nT1,knocked,1,10.1,8.0,,\n");
    let add = |rows: &str| folder.write("readings.csv", folder.read("readings.csv") + rows);
    folder.run(&["correct", "trial", "T1", "--name", "T1 b"]).ends(0);
    assert!(uncounted(&folder).is_empty());
    // A row that repeats what went with the old name adds nothing.
    add("T1,sewn,1,11.0,8.0,2026-03-01,\n");
    assert!(uncounted(&folder).is_empty());
    add(added);
    let words = "readings.csv:6: trial 'T1' is 'T1 b' in this book now, so 2 readings added to the \
                 file under its old name do not count; in readings.csv write 'T1 b' as their trial, \
                 or remove the rows";
    assert_eq!(uncounted(&folder), [words]);
    folder.run(&["audit", "--accept"]).ends(0);
    folder.run(&["audit", "--strict"]).ends(3);
    let told = &["write 'T1 b' as its trial there"];
    folder.run(&["restore", "reading", "T1/sewn/3"]).ends(3).complains_of(told);
    let renamed = added.replace("T1,", "T1 b,");
    folder.write("readings.csv", folder.read("readings.csv").replace(added, &renamed));
    assert!(uncounted(&folder).is_empty());
    assert_eq!(Book::open(folder.path()).unwrap().readings().len(), 3);
    // Of a trial that was struck.
    folder.put(&before);
    folder.run(&["strike", "trial", "T1", "--reason", "thrown away"]).ends(0);
    assert!(uncounted(&folder).is_empty());
    add("T1,sewn,3,11.2,8.1,,\n");
    let words = "readings.csv:4: trial 'T1' is struck, so a reading added to the file since then does \
                 not count; bring the trial back with `swellbook restore trial`, or remove the row";
    assert_eq!(uncounted(&folder), [words]);
    folder.run(&["restore", "trial", "T1"]).ends(0);
    assert_eq!(Book::open(folder.path()).unwrap().readings().len(), 2);
    assert!(uncounted(&folder).is_empty());
    // Readings that went with a trial struck by hand were there before.
    folder.put(&before);
    folder.write("struck.csv", folder.read("struck.csv") + "trial,T1,by hand,2026-02-01\n");
    assert!(Book::open(folder.path()).unwrap().readings().is_empty());
    assert!(uncounted(&folder).is_empty());
}
