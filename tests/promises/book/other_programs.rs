//! What other programs do to the folder of a book (a spreadsheet, a service that synchronises, a
//! copy that lost a file) is reported with the file and what to do there.

use crate::support::folder::Folder;

/// A book whose paper was corrected, with two trials and readings of the second.
fn book() -> Folder {
    let folder = Folder::with_trial();
    folder.run(&["correct", "paper", "bond 80", "--caliper", "0.101mm"]).ends(0);
    let trial = ["record", "trial", "T2", "--paper", "bond 80", "--thread", "linen 25"];
    folder.run(&[&trial[..], &["--sections", "10", "--sheets", "4"]].concat()).ends(0);
    let sewn = ["record", "readings", "T2", "--state", "sewn"];
    folder.run(&[&sewn[..], &["--spine", "11,11.1", "--fore-edge", "8,8.1"]].concat()).ends(0);
    folder
}

/// Removes a line, counted as in a spreadsheet.
fn remove(folder: &Folder, name: &str, line: usize) {
    let text = folder.read(name);
    let rows = text.lines().enumerate().filter(|(at, _)| at + 1 != line);
    folder.write(name, rows.map(|(_, row)| format!("{row}\n")).collect::<String>());
}

/// A file and its lost line, and what every command says then.
const LOST: [(&str, usize, &[&str]); 3] = [
    (
        "struck.csv",
        2,
        &[
            "papers.csv:3: paper 'bond 80' already exists (papers.csv:2); edit papers.csv: remove one \
             of the two rows or change its name; or bring back the row of struck.csv that struck one",
            "struck.csv: fewer lines than when swellbook last wrote to it (2 → 1)",
        ],
    ),
    (
        "papers.csv",
        2,
        &[
            "struck.csv:2: paper 'bond 80' is struck but trials use it: T1, T2; edit struck.csv: \
             remove this row; or bring back the row of papers.csv",
            "papers.csv: fewer lines than when swellbook last wrote to it (3 → 2); if another program \
             brought back an older copy, bring back the newer one",
        ],
    ),
    (
        "trials.csv",
        3,
        &[
            "readings.csv:2, column trial: reading T2/sewn/1: trial 'T2' is not in the book; is it \
             'T1'? Then edit this row; otherwise bring back the row of trials.csv",
            "trials.csv: fewer lines than when swellbook last wrote to it (3 → 2)",
        ],
    ),
];

#[test]
fn a_line_that_another_program_lost_is_named_with_what_to_do_in_the_file() {
    for (name, line, says) in LOST {
        let folder = book();
        let whole = folder.read(name);
        remove(&folder, name, line);
        for args in [&["show"][..], &["undo"], &["strike", "trial", "T1", "--reason", "x"]] {
            folder.run(args).ends(3).complains_of(says);
        }
        let audit = folder.run(&["audit"]).ends(3).out;
        let audit = audit.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(audit.contains(says[0]) && audit.contains("1 line removed"), "{audit}");
        assert!(
            !audit.contains("choose another name") && !audit.contains("fewer lines"),
            "{audit}"
        );
        folder.write(name, whole);
        folder.run(&["show"]).ends(0);
    }
}

#[test]
fn a_missing_file_of_strikes_is_not_replaced_by_an_empty_one_unwarned() {
    let folder = book();
    std::fs::remove_file(folder.path().join("struck.csv")).unwrap();
    folder.run(&["show"]).ends(6).complains_of(&[
        "struck.csv: the file is missing; bring it back from a copy or a backup",
        "every struck entry would count again",
    ]);
    let folder = book();
    std::fs::remove_file(folder.path().join("readings.csv")).unwrap();
    folder
        .run(&["show"])
        .ends(6)
        .complains_of(&["restore it from a copy, or make one with the line"]);
}

#[test]
fn an_audit_without_digests_says_that_it_cannot_know_of_edits() {
    let folder = book();
    let note = |folder: &Folder| {
        let out = folder.run(&["audit"]).ends(0).out;
        let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
        let note = out.find("book.digests: missing or incomplete, so edits of ");
        note.map(|at| out[at..].to_owned())
    };
    assert_eq!(note(&folder), None);
    let digests = folder.read("book.digests");
    std::fs::remove_file(folder.path().join("book.digests")).unwrap();
    remove(&folder, "readings.csv", 3);
    let said = note(&folder).expect("a note");
    assert!(said.contains("readings.csv, struck.csv"), "{said}");
    folder.write("book.digests", digests.replace("trials.csv,", "trials.csv?"));
    let said = note(&folder).expect("a note");
    assert!(said.contains("edits of trials.csv by other programs"), "{said}");
    folder.run(&["audit", "--accept"]).ends(0);
    assert_eq!(note(&folder), None);
}

#[test]
fn an_audit_names_the_copies_that_a_service_left_in_the_folder() {
    let folder = book();
    for (name, of) in [
        ("readings (conflicted copy).csv", "readings.csv"),
        ("struck.sync-conflict-20260314-101112-ABCDEFG.csv", "struck.csv"),
        ("trials (1).csv", "trials.csv"),
        ("my notes (1).csv", ""),
    ] {
        folder.write(name, "trial\n");
        let out = folder.run(&["audit"]).ends(0).out;
        let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
        let said = format!("{name}: this looks like a copy of {of}, as programs make");
        assert_eq!(out.contains(&said), !of.is_empty(), "{out}");
        std::fs::remove_file(folder.path().join(name)).unwrap();
    }
}
