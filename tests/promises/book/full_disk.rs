//! A full disk gives an error that says so, and leaves the book byte for byte as it was. The same
//! command works once there is room.
#![cfg(target_os = "linux")]

use crate::support::folder::{Folder, PROGRAM, Run, SEWING, put as put_one, trial};
use crate::support::kept::kept;
use crate::support::mounted::{Mounted, finished, run_on};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

/// The size of a page, the unit in which a tmpfs gives room.
const PAGE: u64 = 4096;

const READINGS: [&str; 8] =
    ["record", "readings", "T1", "--state", "knocked", "--spine", "10.4,10.5,10.6", "--note=full"];
const STRIKE: [&str; 5] = ["strike", "trial", "T1", "--reason", "the wrong thread"];

/// A sheet with more rows than fit in a page.
fn sheet() -> tempfile::NamedTempFile {
    let mut text = String::from(
        "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,spine_mm,fore_edge_mm,note\n",
    );
    for row in 0..60 {
        let note = "n".repeat(40 + row);
        text.push_str(&format!(
            "A1,2026-02-14,wove,hard,0.1,flax,0.46,10,4,sewn,11.0,8.1,{note}\n"
        ));
    }
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), text).unwrap();
    file
}

/// A book whose readings end `before_page` bytes before the end of a page. If no page is left, the
/// next row is cut there.
fn book(before_page: usize) -> BTreeMap<String, Vec<u8>> {
    let folder = Folder::with_trial();
    let mut text = folder.read("readings.csv");
    let row = |place: usize, note: usize| format!("T1,sewn,{place},11,8,,{}\n", "x".repeat(note));
    let wanted = 2 * PAGE as usize - before_page;
    let mut place = 1;
    while wanted - text.len() > 700 {
        text.push_str(&row(place, 400));
        place += 1;
    }
    let last = row(place, 0).len();
    let (first, second) = ((wanted - text.len()) / 2, (wanted - text.len()).div_ceil(2));
    text.push_str(&row(place, first - last));
    text.push_str(&row(place + 1, second - row(place + 1, 0).len()));
    assert_eq!(text.len(), wanted);
    folder.write("readings.csv", text);
    files(folder.path())
}

/// Every file with its bytes, except the lock.
fn files(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(dir).unwrap().map(|entry| entry.unwrap().file_name());
    let names = entries.map(|name| name.to_string_lossy().into_owned());
    let names = names.filter(|name| name != "book.lock");
    names.map(|name| (name.clone(), std::fs::read(dir.join(&name)).unwrap())).collect()
}

/// Puts these files into a folder and removes all others.
fn put(dir: &Path, files: &BTreeMap<String, Vec<u8>>) {
    for entry in std::fs::read_dir(dir).unwrap() {
        std::fs::remove_file(entry.unwrap().path()).unwrap();
    }
    for (name, bytes) in files {
        put_one(&dir.join(name), bytes);
    }
}

/// What the book holds after the command ran with enough room.
fn complete(book: &BTreeMap<String, Vec<u8>>, args: &[&str]) -> Vec<String> {
    let folder = Folder::new();
    put(folder.path(), book);
    run_on(folder.path(), args).ends(0);
    kept(folder.path())
}

/// How often a command failed for lack of room, and how often it had enough.
#[derive(Default)]
struct Seen {
    full: usize,
    enough: usize,
}

impl Seen {
    /// Checks the book after a run with little room, and that a failure was reported.
    #[track_caller]
    fn look(
        &mut self,
        dir: &Path,
        run: &Run,
        before: &BTreeMap<String, Vec<u8>>,
        complete: &[String],
    ) {
        if run.code == 0 {
            self.enough += 1;
            assert_eq!(kept(dir), complete);
            return;
        }
        self.full += 1;
        assert_eq!(run.code, 1, "{}", run.err);
        assert!(run.out.is_empty(), "{}", run.out);
        // A limit on the size of files is not a full disk.
        let told = run.err.contains("free some space") || run.err.contains("File too large");
        assert!(told, "{}", run.err);
        let now = files(dir);
        for name in now.keys().chain(before.keys()) {
            assert!(now.get(name) == before.get(name), "{name} has changed: {}", run.err);
        }
    }
}

/// Runs the command on a tmpfs with ever more free pages, until it succeeds.
fn on_a_full_disk(mounted: &Mounted, before: &BTreeMap<String, Vec<u8>>, args: &[&str]) -> Seen {
    let (complete, mut seen) = (complete(before, args), Seen::default());
    for pages in 0..12 {
        put(mounted.path(), before);
        let filler = mounted.fill_but(pages * PAGE);
        let run = mounted.run(args);
        let there = std::fs::read(&filler).unwrap();
        std::fs::remove_file(&filler).unwrap();
        assert!(there.iter().all(|byte| *byte == 0), "the file that fills the disk was written to");
        seen.look(mounted.path(), &run, before, &complete);
        if run.code == 0 {
            break;
        }
        mounted.run(args).ends(0);
        assert_eq!(kept(mounted.path()), complete, "after there was room");
    }
    seen
}

#[test]
fn a_full_disk_is_reported_and_leaves_the_book_as_it_was() {
    let Some(mounted) = Mounted::new(256) else { return };
    let sheet = sheet();
    let import = ["import", &sheet.path().to_string_lossy()];
    let keep = [&["predict"], &SEWING[..], &["--keep", "B1"]].concat();
    for args in [&READINGS[..], &trial("T2"), &STRIKE, &keep, &import] {
        let seen = on_a_full_disk(&mounted, &book(0), args);
        assert!(seen.full > 0 && seen.enough > 0, "{args:?}: {} full", seen.full);
    }
}

/// The row has room for its first bytes but not for its last.
#[test]
fn a_row_that_a_full_disk_cuts_in_two_is_not_there() {
    let Some(mounted) = Mounted::new(256) else { return };
    for before_page in [1, 2, 13, 40, 60] {
        let seen = on_a_full_disk(&mounted, &book(before_page), &READINGS);
        assert!(seen.full > 0 && seen.enough > 0, "{before_page}: {} full", seen.full);
    }
}

#[test]
fn a_book_that_a_full_disk_has_no_room_for_is_not_begun() {
    let Some(mounted) = Mounted::new(128) else { return };
    let dir = mounted.path().join("new");
    let init = || {
        let mut command = Command::new(PROGRAM);
        command.arg("init").arg(&dir);
        finished(command)
    };
    for (full, pages) in (0..20).enumerate() {
        let filler = mounted.fill_but(pages * PAGE);
        let run = init();
        std::fs::remove_file(filler).unwrap();
        if run.code == 0 {
            assert!(full > 0 && !kept(&dir).is_empty());
            return;
        }
        run.ends(1).complains_of(&["free some space"]);
        assert!(!dir.exists() || files(&dir).is_empty(), "{:?}", files(&dir).keys());
    }
    panic!("a new book takes more than 20 pages");
}

/// A limit on the size of written files works everywhere. A write stops at the limit, and the next
/// one fails.
#[test]
fn a_limit_on_the_size_of_files_leaves_the_book_as_it_was() {
    let before = book(0);
    let longest = before.values().map(Vec::len).max().unwrap();
    let (complete, mut seen) = (complete(&before, &READINGS), Seen::default());
    let folder = Folder::new();
    let short = (0..900).step_by(75);
    for limit in short.chain(((longest - 4)..(longest + 200)).step_by(7)) {
        put(folder.path(), &before);
        let run = limited(folder.path(), limit, "trap '' XFSZ");
        seen.look(folder.path(), &run, &before, &complete);
    }
    assert!(seen.full > 0 && seen.enough > 0, "{} full, {} enough", seen.full, seen.enough);
}

/// The same limit, but the system ends a program that reaches it.
#[test]
fn a_program_ended_at_a_limit_of_size_leaves_all_or_nothing() {
    const SIGXFSZ: i32 = 25;
    let before = book(0);
    let longest = before.values().map(Vec::len).max().unwrap();
    let complete = complete(&before, &READINGS);
    let folder = Folder::new();
    let mut ended = 0;
    for limit in ((longest - 4)..(longest + 90)).step_by(9) {
        put(folder.path(), &before);
        let unchanged = kept(folder.path());
        let run = limited(folder.path(), limit, ":");
        let now = kept(folder.path());
        assert!(run.code == 0 || run.code == 128 + SIGXFSZ, "{run:?}");
        assert!(now == complete || (now == unchanged && run.code != 0), "{limit}: {now:#?}");
        ended += usize::from(run.code != 0);
    }
    assert!(ended > 0);
}

/// Records the readings while no file may be longer than `limit` bytes.
fn limited(dir: &Path, limit: usize, before: &str) -> Run {
    let mut command = Command::new("sh");
    let script = format!("{before}; exec prlimit --core=0 --fsize={limit} \"$@\"");
    command.args(["-c", &script, "sh", PROGRAM, "--book"]).arg(dir).args(READINGS);
    finished(command)
}
