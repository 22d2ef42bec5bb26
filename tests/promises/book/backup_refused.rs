//! A backup that is not exactly as written is refused, and nothing is created.

use super::backup::digest;
use crate::support::folder::Folder;
use std::path::Path;
use swellbook::book::{Book, restore};

/// The backup of a small book.
fn backup() -> (Folder, Vec<u8>) {
    let folder = Folder::with_trial();
    folder.run(&["backup", "kept.tar"]).ends(0);
    let bytes = std::fs::read(folder.path().join("kept.tar")).unwrap();
    (folder, bytes)
}

/// The error with which the library refuses a backup. Nothing may be created.
#[track_caller]
fn refused(bytes: &[u8], what: &str) -> String {
    let folder = Folder::new();
    let dir = folder.path().join("again");
    match restore(bytes, Path::new("kept.tar"), &dir) {
        Ok(_) => panic!("restored: {what}"),
        Err(error) => {
            assert!(!dir.exists(), "{what}: something was made");
            error.to_string()
        }
    }
}

#[test]
fn no_byte_of_a_backup_can_change_unnoticed() {
    let (_folder, whole) = backup();
    let mut bytes = whole.clone();
    for at in 0..whole.len() {
        // Every bit is flipped somewhere, and most often the lowest, which turns a digit into
        // another.
        bytes[at] ^= if at % 3 == 0 { 1 << (at / 3 % 8) } else { 1 };
        refused(&bytes, &format!("byte {at} of {} changed", whole.len()));
        bytes[at] = whole[at];
    }
    assert_eq!(bytes, whole);
}

#[test]
fn a_backup_that_is_cut_off_anywhere_or_longer_is_refused() {
    let (_folder, whole) = backup();
    for length in 0..whole.len() {
        refused(&whole[..length], &format!("cut to {length} of {}", whole.len()));
    }
    for more in [&b"x"[..], &[0], &[0; 512], &whole] {
        refused(&[&whole, more].concat(), "longer");
    }
}

/// A tar archive of these members with their kinds, built without the program (POSIX.1-2024, `pax`,
/// ustar interchange format).
fn tar(members: &[(&str, &[u8], char)]) -> Vec<u8> {
    let mut archive = Vec::new();
    for (name, bytes, kind) in members {
        let mut header = vec![0_u8; 512];
        let size = format!("{:011o}\0", bytes.len());
        let kind = kind.to_string();
        for (at, text) in [
            (0, *name),
            (100, "0000644\0"),
            (108, "0000000\0"),
            (116, "0000000\0"),
            (124, &size),
            (136, "00000000000\0"),
            (148, "        "),
            (156, &kind),
            (257, "ustar\x0000"),
            (329, "0000000\0"),
            (337, "0000000\0"),
        ] {
            header[at..at + text.len()].copy_from_slice(text.as_bytes());
        }
        let sum: u32 = header.iter().map(|byte| u32::from(*byte)).sum();
        header[148..156].copy_from_slice(format!("{sum:06o}\0 ").as_bytes());
        archive.extend(header);
        archive.extend_from_slice(bytes);
        archive.resize(archive.len().next_multiple_of(512), 0);
    }
    archive.resize(archive.len() + 1024, 0);
    archive
}

/// A backup of these members with the right digests.
fn made(about: &str, members: &[(&str, &[u8], char)]) -> Vec<u8> {
    let all = [&[("BACKUP.txt", about.as_bytes(), '0')], members].concat();
    let line = |name: &str, bytes: &[u8]| format!("{}  {name}\n", digest(bytes));
    let manifest: String = all.iter().map(|(name, bytes, _)| line(name, bytes)).collect();
    let seal = line("MANIFEST.sha256", manifest.as_bytes());
    let ends =
        [("MANIFEST.sha256", manifest.as_bytes(), '0'), ("MANIFEST.digest", seal.as_bytes(), '0')];
    tar(&[&all[..], &ends].concat())
}

const ABOUT: &str = "swellbook backup 1\n\nmade by hand\n";

fn of_new_book() -> Vec<(String, Vec<u8>)> {
    let folder = Folder::with_book();
    let files = folder.holds().into_iter();
    let files = files.map(|(path, bytes)| (format!("book/{}", path.display()), bytes));
    files.filter(|(name, _)| name != "book/book.lock").collect()
}

fn members(files: &[(String, Vec<u8>)]) -> Vec<(&str, &[u8], char)> {
    files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice(), '0')).collect()
}

#[test]
fn a_backup_made_to_write_elsewhere_or_more_is_refused() {
    let files = of_new_book();
    let own = members(&files);
    let folder = Folder::new();
    let whole = restore(&made(ABOUT, &own), Path::new("x"), &folder.path().join("again"));
    assert!(whole.is_ok(), "what is made here is as the program makes it: {whole:?}");
    for name in [
        "../papers.csv",
        "/tmp/papers.csv",
        "book/../papers.csv",
        "book//papers.csv",
        "book/more/papers.csv",
        "book/.bashrc",
        "book/book.lock",
        "book/Papers.csv",
        "papers.csv",
        "book/",
        "",
    ] {
        let more = [&own[..], &[(name, b"x", '0')]].concat();
        let said = refused(&made(ABOUT, &more), name);
        assert!(said.contains("not a file of a book"), "{name}: {said}");
    }
    for kind in ['1', '2', '3', '5', '6', 'x', 'L', '\0'] {
        let more = [&own[..], &[("book/sent.csv", b"", kind)]].concat();
        let said = refused(&made(ABOUT, &more), "a link");
        assert!(said.contains("not a plain file"), "{kind}: {said}");
    }
}

#[test]
fn a_backup_with_a_file_twice_or_without_one_is_refused() {
    let files = of_new_book();
    let own = members(&files);
    let twice = [&own[..], &own[own.len() - 1..]].concat();
    assert!(refused(&made(ABOUT, &twice), "twice").contains("twice"));
    for (at, (name, ..)) in own.iter().enumerate() {
        if !name.ends_with(".csv") && !name.ends_with(".toml") {
            continue;
        }
        let mut fewer = own.clone();
        fewer.remove(at);
        let said = refused(&made(ABOUT, &fewer), name);
        assert!(said.contains("not a whole book") && said.contains(&name[5..]), "{said}");
    }
}

#[test]
fn another_file_or_a_newer_backup_is_refused_with_the_reason() {
    let files = of_new_book();
    let own = members(&files);
    let newer = refused(&made("swellbook backup 2\n", &own), "newer");
    assert!(newer.contains("made by a newer swellbook"), "{newer}");
    for other in ["", "trial,state\n", "PK\u{3}\u{4}"] {
        let said = refused(other.as_bytes(), other);
        assert!(said.contains("kept.tar: not a backup"), "{said}");
    }
    let said = refused(&tar(&own), "another archive");
    assert!(said.contains("not a backup"), "{said}");
}

/// All its digests are right, but the book in it cannot be opened.
#[test]
fn a_backup_of_a_book_that_cannot_be_opened_leaves_nothing_behind() {
    let mut files = of_new_book();
    for (name, bytes) in &mut files {
        if name == "book/papers.csv" {
            bytes.extend_from_slice(b"bond,,thick,hard,\n");
        }
    }
    let folder = Folder::new();
    let dir = folder.path().join("again");
    let error = restore(&made(ABOUT, &members(&files)), Path::new("x"), &dir).unwrap_err();
    assert!(error.to_string().contains("papers.csv"), "{error}");
    assert!(folder.bytes().is_empty(), "{:?}", folder.bytes().keys());
}

#[test]
fn only_a_new_or_empty_folder_becomes_the_book() {
    let (folder, whole) = backup();
    let before = folder.holds();
    folder.run(&["restore", "--from", "kept.tar", "."]).ends(1).complains_of(&["already holds"]);
    assert_eq!(folder.holds(), before);
    folder.run(&["restore", "--from", "none.tar", "x"]).ends(1).complains_of(&["does not exist"]);
    folder.run(&["restore", "--from", ".", "x"]).ends(1).complains_of(&["this is a folder"]);
    let other = Folder::new();
    other.write("kept.tar", &whole);
    std::fs::create_dir(other.path().join("other")).unwrap();
    other.write("other/notes.txt", "mine");
    let refused = other.run(&["restore", "--from", "kept.tar", "other"]).ends(3);
    refused.complains_of(&["not empty", "'notes.txt'", "name a new or an empty folder"]);
    other.run_with(&["restore", "--from", "-", "piped"], &whole).ends(0);
    assert_eq!(Book::open(&other.path().join("piped")).unwrap().trials().len(), 1);
    other.write("cut.tar", &whole[..5000]);
    let cut = other.run(&["restore", "--from", "cut.tar", "new"]).ends(6);
    cut.complains_of(&["cut.tar: cut off after 5000 bytes; copy the file again"]);
    assert!(!other.path().join("new").exists());
}
