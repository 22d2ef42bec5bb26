//! A backup is the whole book in one file. Other programs can open it, and it restores the same
//! book.

use crate::support::folder::{Files, Folder, Run};
use sha2::Digest;
use std::path::PathBuf;
use std::process::Command;
use swellbook::book::Book;

/// A book in `bench` with an entry of every kind, something struck and something set aside.
fn bench() -> Folder {
    let folder = Folder::with_trial();
    folder.measure("T1", "sewn", "11.0,11.1", "8.0,8.05");
    folder.run(&["record", "target", "it's \"mine\"", "2..10", "--note", "a, \"b\""]).ends(0);
    folder.run(&["strike", "reading", "T1/sewn/2", "--reason", "misread"]).ends(0);
    let plan = ["--paper", "bond 80", "--thread", "linen 25", "--sections", "20", "--sheets", "4"];
    folder.run(&[&["predict"], &plan[..], &["--keep", "B1"]].concat()).ends(0);
    folder.write("papers.csv", folder.read("papers.csv") + "cut off,,0.1");
    folder.run(&["record", "thread", "silk", "--laid", "0.3mm"]).ends(0);
    let bench = Folder::new();
    let inside = |(path, bytes)| (PathBuf::from("bench").join(path), bytes);
    bench.put(&folder.holds().into_iter().map(inside).collect());
    bench
}

fn backup(folder: &Folder, rest: &[&str]) -> Run {
    folder.run(&[&["--book", "bench", "backup"], rest].concat())
}

/// The files of a book without the lock, which belongs to its folder.
fn files(folder: &Folder, book: &str) -> Files {
    let all = folder.holds().into_iter();
    let inside =
        |(path, bytes): (PathBuf, Vec<u8>)| Some((path.strip_prefix(book).ok()?.to_owned(), bytes));
    all.filter_map(inside).filter(|(path, _)| !path.ends_with("book.lock")).collect()
}

#[test]
fn a_backup_makes_the_same_book_again_byte_for_byte() {
    let folder = bench();
    let before = folder.holds();
    let out = backup(&folder, &["kept.tar"]).ends(0).out;
    let holds =
        "1 paper, 2 threads, 7 targets, 1 trial, 1 reading, 1 kept forecast, 1 struck entry";
    let restore = "(to restore: swellbook restore --from kept.tar DIR)";
    assert!(out.contains(holds) && out.contains(restore), "{out}");
    let mut after = folder.holds();
    after.remove(&PathBuf::from("kept.tar"));
    assert_eq!(after, before, "a backup only reads");
    let run = folder.run(&["restore", "--from", "kept.tar", "new/again"]).ends(0);
    assert!(run.out.contains(holds) && run.err.contains("--book new/again audit"), "{run:?}");
    let (made, kept) = (files(&folder, "new/again"), files(&folder, "bench"));
    assert!(made.contains_key(&PathBuf::from("papers.set-aside.csv")), "{:?}", made.keys());
    assert_eq!(made, kept);
    // The restored book continues where the other stopped, and nothing in it looks edited.
    let paper = ["--book", "new/again", "record", "paper", "laid", "--caliper", "0.13mm"];
    let run = folder.run(&paper).ends(0);
    assert!(!run.err.contains("changed outside"), "{}", run.err);
}

#[test]
fn the_same_book_gives_the_same_backup_which_replaces_itself_only() {
    let folder = bench();
    backup(&folder, &["kept.tar"]).ends(0);
    let first = std::fs::read(folder.path().join("kept.tar")).unwrap();
    backup(&folder, &["kept.tar"]).ends(0);
    assert_eq!(std::fs::read(folder.path().join("kept.tar")).unwrap(), first);
    folder.write("theirs.tar", "somebody else's");
    let refused = backup(&folder, &["theirs.tar"]).ends(3);
    refused
        .complains_of(&["FILE: 'theirs.tar' already exists, and swellbook may not have made it"]);
    assert_eq!(folder.read("theirs.tar"), "somebody else's");
    backup(&folder, &["theirs.tar", "--replace"]).ends(0);
    for (name, part) in [
        ("bench/papers.csv", "belongs to a book"),
        ("kept.zip", "does not end in .tar"),
        ("-", "name a file that ends in .tar"),
    ] {
        backup(&folder, &[name, "--replace"]).ends(3).complains_of(&["FILE: ", part]);
    }
    backup(&folder, &["none/kept.tar"]).ends(1).complains_of(&["its folder does not exist"]);
    let inside = backup(&folder, &["bench/kept.tar"]).ends(0);
    assert!(inside.err.contains("copy the file to another disk"), "{}", inside.err);
    assert_eq!(std::fs::read(folder.path().join("bench/kept.tar")).unwrap(), first);
}

/// The program only adds rows, so a book with fewer has lost some.
#[test]
fn a_backup_with_more_rows_is_not_replaced_unasked() {
    let folder = bench();
    backup(&folder, &["kept.tar"]).ends(0);
    let before = std::fs::read(folder.path().join("kept.tar")).unwrap();
    let rows = folder.read("bench/readings.csv");
    folder.write("bench/readings.csv", rows.lines().next().unwrap().to_owned() + "\n");
    folder.write("bench/struck.csv", folder.read("bench/struck.csv").lines().next().unwrap());
    let more = "FILE: 'kept.tar' is a backup with more rows: readings.csv has 3 lines there and 1";
    backup(&folder, &["kept.tar"]).ends(3).complains_of(&[more, "--replace"]);
    assert_eq!(std::fs::read(folder.path().join("kept.tar")).unwrap(), before);
    let written = backup(&folder, &["kept.tar", "--replace"]).ends(0);
    assert!(written.err.contains("readings.csv: changed outside"), "{}", written.err);
    backup(&folder, &["kept.tar"]).ends(0);
}

/// A copy that went its own way has what the book lacks, although it has no more rows.
#[test]
fn a_backup_of_another_book_is_not_replaced_unasked() {
    let folder = bench();
    backup(&folder, &["kept.tar"]).ends(0);
    folder.run(&["restore", "--from", "kept.tar", "copy"]).ends(0);
    let paper = |book, name| {
        let paper = ["record", "paper", name, "--caliper", "0.1mm", "--hardness", "soft"];
        folder.run(&[&["--book", book][..], &paper].concat()).ends(0);
    };
    paper("copy", "in the copy");
    folder.run(&["--book", "copy", "backup", "kept.tar"]).ends(0);
    let before = std::fs::read(folder.path().join("kept.tar")).unwrap();
    paper("bench", "in the book");
    let other = "FILE: 'kept.tar' is a backup of another book, or of a copy of this one";
    backup(&folder, &["kept.tar"]).ends(3).complains_of(&[other, "--replace"]);
    assert_eq!(std::fs::read(folder.path().join("kept.tar")).unwrap(), before);
    backup(&folder, &["kept.tar", "--replace"]).ends(0);
}

#[test]
fn a_file_with_a_name_too_long_for_a_backup_is_not_one_of_the_book() {
    let folder = bench();
    folder.write(&format!("bench/readings.backup-{}.csv", "1".repeat(90)), "");
    backup(&folder, &["kept.tar"]).ends(0);
    folder.run(&["restore", "--from", "kept.tar", "again"]).ends(0);
}

#[test]
fn json_says_what_is_in_it_and_its_digest() {
    let folder = bench();
    let document = backup(&folder, &["the copy.tar", "--json"]).json();
    let bytes = std::fs::read(folder.path().join("the copy.tar")).unwrap();
    assert_eq!(document["bytes"], bytes.len());
    assert_eq!(document["readings"], 1);
    assert_eq!(document["restore"], "swellbook restore --from \"the copy.tar\" DIR");
    assert_eq!(document["sha256"], digest(&bytes));
}

/// A SHA-256 digest as `sha256sum` writes it.
pub fn digest(bytes: &[u8]) -> String {
    sha2::Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The journal of an unfinished command that adds a row to the papers.
fn journal(before: &str, row: &str) -> String {
    let (length, sha256) = (before.len(), digest(before.as_bytes()));
    let body = format!("papers.csv {length} {sha256} {} -\n{row}\n", row.len());
    format!("swellbook journal 2 {}\n{body}", digest(body.as_bytes()))
}

/// A backup includes the unfinished work of a stopped command; the restored book completes it.
#[test]
fn unfinished_work_is_in_the_backup_and_is_finished_in_the_new_book() {
    let folder = bench();
    let (before, row) = (folder.read("bench/papers.csv"), "laid,,0.13,medium,\n");
    folder.write("bench/book.journal", journal(&before, row));
    let opened = Book::open(&folder.path().join("bench")).unwrap();
    assert_eq!(opened.papers().len(), 2, "the journal is as the program writes it");
    backup(&folder, &["kept.tar"]).ends(0);
    assert_eq!(folder.read("bench/papers.csv"), before, "a backup only reads");
    let run = folder.run(&["restore", "--from", "kept.tar", "again"]).ends(0);
    assert!(run.out.contains("2 papers") && run.err.contains("book.journal"), "{run:?}");
    folder.run(&["--book", "again", "record", "thread", "x", "--laid", "0.3mm"]).ends(0);
    assert_eq!(folder.read("again/papers.csv"), before + row);
}

fn has(program: &str) -> bool {
    let found = Command::new(program).arg("--version").output().is_ok();
    if !found {
        eprintln!("{program} is not installed: not tried with it");
    }
    found
}

/// The other programs: GNU tar or another tar, and sha256sum of GNU coreutils or another.
#[test]
fn other_programs_open_a_backup_and_check_it() {
    let folder = bench();
    backup(&folder, &["kept.tar"]).ends(0);
    if !has("tar") || !has("sha256sum") {
        return;
    }
    assert!(folder.command("tar").args(["-xf", "kept.tar"]).status().unwrap().success());
    for list in ["MANIFEST.sha256", "MANIFEST.digest"] {
        let checked = folder.command("sha256sum").args(["-c", list]).output().unwrap();
        assert!(checked.status.success(), "{checked:?}");
    }
    assert_eq!(files(&folder, "book"), files(&folder, "bench"));
    assert!(folder.read("BACKUP.txt").contains("swellbook restore --from"));
}
