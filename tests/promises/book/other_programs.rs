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
fn copies_that_other_programs_left_are_mentioned_by_a_command_and_named_by_an_audit() {
    let folder = book();
    let rows = folder.read("readings.csv");
    for (name, text, of) in [
        ("readings (conflicted copy).csv", "trial\n", "readings.csv"),
        ("struck.sync-conflict-20260314-101112-ABCDEFG.csv", "trial\n", "struck.csv"),
        ("trials (1).csv", "trial\n", "trials.csv"),
        ("readings 2.csv", &*rows, "readings.csv"),
        ("readings - Kopie.csv", &*rows, "readings.csv"),
        ("readings.csv.orig", &*rows, "readings.csv"),
        ("readings of May.csv", "trial\n", ""),
        ("my notes (1).csv", "trial\n", ""),
    ] {
        folder.write(name, text);
        let out = folder.run(&["audit"]).ends(0).out;
        let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
        let said = format!("{name}: this looks like a copy of {of}");
        assert_eq!(out.contains(&format!("{said}, as programs make")), !of.is_empty(), "{out}");
        let note = folder.run(&["show"]).ends(0).err;
        assert_eq!(
            note.contains(&format!("note: {said} and is not read")),
            !of.is_empty(),
            "{note}"
        );
        assert_eq!(note.matches("note: ").count(), usize::from(!of.is_empty()), "{note}");
        std::fs::remove_file(folder.path().join(name)).unwrap();
    }
}

/// A folder that is half synchronised looks like a book that never had the rows.
#[test]
fn rows_that_a_file_has_lost_are_reported_by_every_command() {
    let folder = book();
    folder.run(&["strike", "reading", "T2/sewn/2", "--reason", "misread"]).ends(0);
    for (name, line) in [("readings.csv", 3), ("struck.csv", 3), ("changes.csv", 2)] {
        let folder = if name == "readings.csv" { book() } else { Folder::with(&folder.holds()) };
        remove(&folder, name, line);
        for args in [&["show"][..], &["export", "--readings"], &["fit", "--json"], &[]] {
            let err = folder.run(args).err;
            assert!(err.contains(&format!("note: {name}: changed outside")), "{args:?}: {err}");
            assert!(err.contains("bring back the newer file"), "{args:?}: {err}");
        }
        let accepted = folder.run(&["audit", "--accept"]).ends(0).err;
        assert!(accepted.contains("1 line removed") && !accepted.contains("; if"), "{accepted}");
        assert!(!folder.run(&["show"]).err.contains(name));
    }
}

#[test]
fn an_older_file_of_changes_undoes_nothing() {
    let folder = book();
    let older = folder.read("changes.csv");
    folder.run(&["record", "paper", "laid", "--caliper", "0.13mm"]).ends(0);
    let newer = folder.read("changes.csv");
    folder.write("changes.csv", older);
    let before = folder.bytes();
    folder.run(&["undo"]).ends(3).complains_of(&["changes.csv has fewer rows", "the newer file"]);
    assert_eq!(folder.bytes(), before);
    folder.write("changes.csv", newer);
    assert!(folder.run(&["undo"]).ends(0).out.contains("recorded paper laid"));
}

#[test]
fn a_day_that_was_cut_off_is_not_read_as_another_day() {
    let folder = book();
    let whole = folder.read("struck.csv");
    // Only the line end.
    folder.write("struck.csv", whole.trim_end());
    folder.run(&["show"]).ends(0);
    for cut in [2, 4] {
        folder.write("struck.csv", &whole[..whole.len() - cut]);
        let err = folder.run(&["audit", "--strict"]).out;
        assert!(err.contains("struck.csv:2"), "{err}");
        let shown = folder.run(&["show"]);
        // The strike does not count, so the paper that it struck is there twice.
        shown.ends(3).complains_of(&["bond 80", "bring back the row of struck.csv"]);
    }
}

#[test]
fn settings_missing_beside_the_other_files_are_named_with_the_way_back() {
    let folder = book();
    let settings = folder.read("book.toml");
    std::fs::remove_file(folder.path().join("book.toml")).unwrap();
    for args in [&["show"][..], &["--book", ".", "audit"], &["init", "."]] {
        folder.run(args).ends(6).complains_of(&[
            "book.toml: the file is missing beside the other files of a book",
            "make one with the line format = 1",
        ]);
    }
    folder.write("book.toml", "format = 1\n");
    folder.run(&["show"]).ends(0);
    folder.write("book.toml", settings);
    assert_eq!(folder.run(&["show"]).ends(0).err, "");
}

#[test]
fn an_unfinished_merge_and_a_strike_of_both_sides_are_one_fault_each() {
    let folder = book();
    for name in ["struck.csv", "book.toml"] {
        let whole = folder.read(name);
        let merge = "<<<<<<< HEAD\na,b\n=======\nc,d\n>>>>>>> other\n";
        folder.write(name, format!("{whole}{merge}"));
        let run = folder.run(&["show"]).ends(3);
        run.complains_of(&[name, "an unfinished merge of git; keep the rows of both sides"]);
        assert_eq!(run.err.trim_end().lines().count(), 1, "{}", run.err);
        folder.write(name, whole);
    }
    folder.run(&["strike", "reading", "T2/sewn/2", "--reason", "misread"]).ends(0);
    let rows = folder.read("struck.csv");
    let last = rows.lines().last().unwrap();
    folder.write("struck.csv", format!("{rows}{last}\n"));
    let said = "struck.csv:4: reading 'T2/sewn/2' is already struck in row 3; remove this row";
    folder.run(&["show"]).ends(3).complains_of(&[said]);
}
