//! A folder is read-only or gone, or a file is open in a spreadsheet or was edited. The command
//! fails and the book stays as it was, or the edit is respected.
#![cfg(target_os = "linux")]

use crate::support::folder::{Folder, PROGRAM, SEWN, put as put_one};
use crate::support::kept::kept;
use crate::support::mounted::{Mounted, finished};
use crate::support::terminal::{Terminal, plain};
use std::os::unix::fs::{FileTypeExt, MetadataExt, PermissionsExt};
use std::path::Path;
use std::process::Command;

const READINGS: [&str; 8] =
    ["record", "readings", "T1", "--state", "sewn", "--spine", "11.0,11.1", "--fore-edge=8.0,8.05"];
const STRIKE: [&str; 5] = ["strike", "trial", "T1", "--reason", "the wrong thread"];

/// Copies the files of a book to `dir`.
fn put(book: &Folder, dir: &Path) {
    for (path, bytes) in book.bytes() {
        put_one(&dir.join(path.file_name().unwrap()), bytes);
    }
    std::fs::write(dir.join("book.lock"), "").unwrap();
}

#[test]
fn a_read_only_disk_is_reported_and_can_still_be_read() {
    let Some(mut mounted) = Mounted::new(256) else { return };
    put(&Folder::with_trial(), mounted.path());
    let before = kept(mounted.path());
    mounted.set_read_only(true);
    for args in [&READINGS[..], &STRIKE] {
        mounted.run(args).ends(1).complains_of(&["book.lock", "make the disk writable"]);
    }
    mounted.run(&["audit"]).ends(0);
    mounted.run(&["fit"]).ends(4);
    assert_eq!(kept(mounted.path()), before);
    mounted.set_read_only(false);
    mounted.run(&READINGS).ends(0);
}

/// Permissions do not bind root, so tests run by root run the program as nobody.
#[test]
fn a_folder_or_file_that_may_not_be_written_is_reported() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let mode = |name: &str, mode: u32| {
        let path = folder.path().join(name);
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    let names = ["book.lock", "book.journal", "book.digests", "readings.csv", "changes.csv"];
    mode("", 0o777);
    for (denied, allowed) in [("book.lock", 0o666), ("readings.csv", 0o666), ("", 0o777)] {
        names.iter().for_each(|name| mode(name, 0o666));
        mode(denied, if denied.is_empty() { 0o555 } else { 0o444 });
        let run = finished(as_anybody(folder.path(), &READINGS));
        if run.code == 126 || run.code == 127 {
            eprintln!("not tested without leave to write: {}", run.err.trim());
            return;
        }
        run.ends(1).complains_of(&["ermission denied", "check that you may write"]);
        assert_eq!(folder.bytes(), before, "without leave to write to '{denied}'");
        mode(denied, allowed);
    }
    finished(as_anybody(folder.path(), &READINGS)).ends(0);
}

/// A book that may not be read is not a missing book.
#[test]
fn a_folder_or_a_file_without_leave_to_read_is_told() {
    let folder = Folder::with_trial();
    let mode = |name: &str, mode: u32| {
        let path = folder.path().join(name);
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    for (denied, allowed) in [("readings.csv", 0o644), ("book.toml", 0o644), ("", 0o755)] {
        mode("", 0o755);
        mode(denied, 0o000);
        for args in [&["show"][..], &[]] {
            let run = finished(as_anybody(folder.path(), args));
            if run.code == 126 || run.code == 127 {
                eprintln!("not tested without leave to read: {}", run.err.trim());
                mode(denied, allowed);
                return;
            }
            let says = ["ermission denied", "check that you may read it"];
            assert!(!run.err.contains("init"), "{}", run.err);
            run.ends(1).complains_of(&says);
        }
        mode(denied, allowed);
    }
}

/// The program as a user whom permissions bind.
fn as_anybody(dir: &Path, args: &[&str]) -> Command {
    let root = std::fs::metadata("/proc/self").is_ok_and(|own| own.uid() == 0);
    let mut command = Command::new(if root { "setpriv" } else { PROGRAM });
    if root {
        command.args(["--reuid=65534", "--regid=65534", "--clear-groups", PROGRAM]);
    }
    command.arg("--book").arg(dir).args(args);
    command
}

/// A recording session in which one reading was taken at each edge.
fn at_the_bench(folder: &Folder, more: &[&str]) -> Terminal {
    let book = folder.path().to_string_lossy();
    let mut command = plain(folder, &[&["--book", &*book], &SEWN[..], more].concat());
    // The program must not run inside a folder that will vanish.
    command.current_dir("/");
    let mut bench = Terminal::start(command);
    bench.expect("spine at 1> ");
    bench.send_line("11.0\ndone\n8.0");
    bench.expect(" done");
    bench
}

fn done(mut bench: Terminal) -> String {
    bench.send_line("done");
    bench.rest()
}

/// Whether the screen shows the reading, so that it can be copied.
fn shows_reading(said: &str) -> bool {
    said.lines().any(|line| line.trim() == "T1,sewn,1,11,8")
}

#[test]
fn readings_of_a_folder_that_vanished_stay_on_the_screen() {
    let folder = Folder::with_trial();
    let bench = at_the_bench(&folder, &[]);
    let elsewhere = Folder::new();
    let moved = elsewhere.path().join("moved");
    std::fs::rename(folder.path(), &moved).unwrap();
    let said = done(bench);
    assert!(shows_reading(&said) && said.contains("error: "), "{said}");
    assert!(!folder.path().exists(), "the folder was made again");
    std::fs::rename(&moved, folder.path()).unwrap();
    assert!(kept(folder.path()).iter().all(|line| !line.starts_with("reading")));
}

#[test]
fn an_edit_made_while_readings_are_taken_is_respected() {
    let folder = Folder::with_trial();
    folder.run(&READINGS).ends(0);
    folder.run(&["strike", "reading", "T1/sewn/1", "T1/sewn/2", "--reason", "a try"]).ends(0);
    // A row was removed and another added, in a file that a spreadsheet replaces.
    let bench = at_the_bench(&folder, &[]);
    let header = folder.read("readings.csv").lines().next().unwrap().to_owned();
    let edited = format!("{header}\nT1,unsewn,edge,9.5,9.4,,by hand\n");
    folder.write("struck.csv", "what,id,reason,date\n");
    folder.write("readings.new", &edited);
    let path = |name: &str| folder.path().join(name);
    std::fs::rename(path("readings.new"), path("readings.csv")).unwrap();
    let said = done(bench);
    assert!(said.contains("recorded 1 reading of T1"), "{said}");
    assert_eq!(folder.read("readings.csv"), format!("{edited}T1,sewn,1,11,8,2026-03-01,\n"));
}

#[test]
fn an_edit_that_takes_the_same_number_moves_the_reading_up() {
    let folder = Folder::with_trial();
    let bench = at_the_bench(&folder, &[]);
    let edited = format!("{}T1,sewn,1,11.2,8.1,,by hand\n", folder.read("readings.csv"));
    folder.write("readings.csv", &edited);
    let said = done(bench);
    let moved = "at 2 (shown as 1 onward; those numbers were taken meanwhile)";
    assert!(said.contains(moved) && said.contains("strike reading T1/sewn/2 "), "{said}");
    assert_eq!(folder.read("readings.csv"), format!("{edited}T1,sewn,2,11,8,2026-03-01,\n"));
}

#[test]
fn an_edit_that_takes_the_same_place_is_not_doubled() {
    let folder = Folder::with_trial();
    let bench = at_the_bench(&folder, &["--place", "1"]);
    let edited = format!("{}T1,sewn,1,11.2,8.1,,by hand\n", folder.read("readings.csv"));
    folder.write("readings.csv", &edited);
    let said = done(bench);
    assert!(said.contains("error: ") && shows_reading(&said), "{said}");
    assert_eq!(folder.read("readings.csv"), edited);
}

#[test]
fn a_file_that_a_spreadsheet_has_open_is_not_written() {
    let folder = Folder::with_trial();
    let mark = ".~lock.readings.csv#";
    folder.write(mark, ",ada,bench,14.03.2026 09:12,file:///home/ada/.config/office/4;");
    let before = folder.bytes();
    folder.run(&READINGS).ends(5).complains_of(&["readings.csv", "ada", mark, "remove"]);
    assert_eq!(folder.bytes(), before);
    // Other files can be written, and the book can be read.
    folder.run(&["record", "target", "limp", "2..10"]).ends(0);
    folder.run(&["audit"]).ends(0);
    std::fs::remove_file(folder.path().join(mark)).unwrap();
    folder.run(&READINGS).ends(0);
}

#[test]
fn a_file_edited_in_another_style_keeps_it() {
    let folder = Folder::with_trial();
    let edited = "\u{feff}note;fore_edge_mm;spine_mm;place;state;trial;taken;mine\r\n\
                  by hand;8,05;11,2;head;unsewn;T1;;kept\r\n";
    folder.write("readings.csv", edited);
    folder.run(&READINGS).ends(0);
    let added = folder.read("readings.csv");
    let added = added.strip_prefix(edited).expect("what was there is as it was");
    assert_eq!(added, ";8;11;1;sewn;T1;2026-03-01;\r\n;8,05;11,1;2;sewn;T1;2026-03-01;\r\n");
}

#[test]
fn a_picture_or_a_page_goes_to_a_device_and_never_in_its_place() {
    let folder = Folder::with_trial();
    let run = folder.run(&["report", "--out", "/dev/full"]);
    run.ends(1).complains_of(&["/dev/full", "No space left"]);
    folder.run(&["report", "--out", "/dev/null"]).ends(0);
    for device in ["/dev/full", "/dev/null"] {
        let kind = std::fs::metadata(device).unwrap().file_type();
        assert!(kind.is_char_device(), "{device} was replaced by a file");
    }
    folder.write("real.html", "");
    std::os::unix::fs::symlink("real.html", folder.path().join("link.html")).unwrap();
    folder.run(&["report", "--out", "link.html"]).ends(0);
    assert!(folder.path().join("link.html").is_symlink() && folder.read("real.html").len() > 100);
}
