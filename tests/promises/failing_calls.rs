//! Every call that a command makes on its book fails once, or is the last before a crash: the book
//! is then as it was or complete, and what was said is true.
#![cfg(target_os = "linux")]

use crate::folder::{Folder, TRIAL};
use crate::kept::kept;
use crate::shim::{ALL, EACCES, EIO, ENOSPC, How, Traced, WRITING, run};
use std::path::Path;

/// A command, and the book before and after it.
struct Deed {
    args: Vec<String>,
    before: Folder,
    /// What the book holds when the command has done all it says.
    complete: Vec<String>,
}

impl Deed {
    fn new(before: Folder, args: &[&str]) -> Self {
        let after = copy(&before);
        after.run(args).ends(0);
        let args = args.iter().map(|&arg| arg.to_owned()).collect();
        Self { args, before, complete: kept(after.path()) }
    }

    fn args(&self) -> Vec<&str> {
        self.args.iter().map(String::as_str).collect()
    }

    /// The command with nothing failing, and what it calls.
    fn healthy(&self, classes: &str) -> Traced {
        run(&copy(&self.before), &self.args(), classes, None)
    }

    /// Lets something happen to each call in turn until the command no longer makes so many.
    /// Returns how many runs that took.
    fn breaks_nowhere(&self, classes: &str, how: How) -> usize {
        let only_writes = matches!(how, How::Short | How::Half);
        let healthy = self.healthy(classes);
        let calls = healthy.numbered();
        for number in 1.. {
            let call = calls.get(number - 1);
            if only_writes && call.is_some_and(|call| !call.starts_with("w write")) {
                continue;
            }
            let folder = copy(&self.before);
            let traced = run(&folder, &self.args(), classes, Some((number, how)));
            let at = format!("{:?}, {how:?} at call {number} ({call:?})", self.args);
            self.assert_whole(&folder, &traced, &at);
            if traced.numbered().len() < number {
                assert_eq!(traced.code(), Some(0), "{at}: {}", traced.err());
                return number;
            }
        }
        unreachable!("a command makes a finite number of calls")
    }

    /// The book is as it was or complete, what was said of it is true, and the next command works.
    fn assert_whole(&self, folder: &Folder, traced: &Traced, at: &str) {
        let err = traced.err();
        assert!(!err.contains("panicked"), "{at}: {err}");
        let now = state(folder.path());
        let (unchanged, complete) =
            (now == state(self.before.path()), now.as_ref() == Some(&self.complete));
        assert!(unchanged || complete, "{at}: half of it is there: {now:#?}\n{err}");
        match traced.code() {
            Some(0) => assert!(complete, "{at}: it said that it was done and nothing is there"),
            Some(_) => {
                assert!(
                    err.lines().any(|line| line.starts_with("error: ")),
                    "{at}: no error is told: {err}"
                );
                assert!(traced.output.stdout.is_empty(), "{at}: it failed and said it was done");
                let denied =
                    err.contains("nothing was kept") || err.contains("nothing was written");
                assert!(unchanged || !denied, "{at}: it is there, against {err}");
            }
            None => {}
        }
        if unchanged {
            folder.run(&self.args()).ends(0);
            assert_eq!(kept(folder.path()), self.complete, "{at}: done again");
        } else {
            folder.run(&["record", "target", "next", "1..2"]).ends(0);
        }
    }
}

/// What a folder holds; nothing where there is no book.
fn state(dir: &Path) -> Option<Vec<String>> {
    dir.join("book.toml").exists().then(|| kept(dir))
}

fn copy(from: &Folder) -> Folder {
    let to = Folder::in_memory();
    for (path, bytes) in from.bytes() {
        to.write(&path.file_name().unwrap().to_string_lossy(), bytes);
    }
    to
}

/// Papers, threads, a trial and readings at once.
const SHEET: &str = "\
trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,spine_mm,fore_edge_mm
A1,2026-02-14,laid 120,soft,120,0.155,linen 18,0.55,12,3,2,1,yes,sewn,14.5,11.5
A1,2026-02-14,laid 120,soft,120,0.155,linen 18,0.55,12,3,2,1,yes,knocked,13.5,11.4
";

const READINGS: [&str; 9] = [
    "record",
    "readings",
    "T1",
    "--state",
    "knocked",
    "--spine",
    "10.4,10.5",
    "--fore-edge",
    "8.0,8.05",
];
const PREDICT: [&str; 9] =
    ["predict", "--paper", "bond 80", "--thread", "linen 25", "--sections", "20", "--sheets", "4"];

/// A book with readings.
fn measured() -> Folder {
    let folder = Folder::with_trial();
    let sewn = ["record", "readings", "T1", "--state", "sewn", "--spine", "11.0,11.1"];
    folder.run(&[&sewn[..], &["--fore-edge", "8.0,8.05"]].concat()).ends(0);
    folder.write("sheet.csv", SHEET);
    folder
}

fn readings() -> Deed {
    Deed::new(measured(), &READINGS)
}

fn trial() -> Deed {
    let mut args = TRIAL;
    args[2] = "T2";
    Deed::new(measured(), &args)
}

fn sheet() -> Deed {
    Deed::new(measured(), &["import", "sheet.csv"])
}

fn strike() -> Deed {
    Deed::new(measured(), &["strike", "trial", "T1", "--reason", "the wrong thread"])
}

fn forecast() -> Deed {
    Deed::new(measured(), &[&PREDICT[..], &["--keep", "B1"]].concat())
}

fn new_book() -> Deed {
    Deed::new(Folder::new(), &["init", "."])
}

fn every_writing_call_fails(deed: &Deed) {
    for how in [How::Fail(EIO), How::Fail(ENOSPC), How::From(EIO), How::Short] {
        deed.breaks_nowhere(WRITING, how);
    }
}

fn a_crash_at_every_writing_call(deed: &Deed) {
    for how in [How::Kill, How::Half] {
        deed.breaks_nowhere(WRITING, how);
    }
}

#[test]
fn readings_are_kept_whole_or_not_at_all_whatever_call_fails() {
    every_writing_call_fails(&readings());
    readings().breaks_nowhere(ALL, How::Fail(EACCES));
}

#[test]
fn readings_are_kept_whole_or_not_at_all_wherever_the_program_is_killed() {
    a_crash_at_every_writing_call(&readings());
}

#[test]
fn a_sheet_is_imported_whole_or_not_at_all_whatever_call_fails() {
    every_writing_call_fails(&sheet());
}

#[test]
fn a_sheet_is_imported_whole_or_not_at_all_wherever_the_program_is_killed() {
    a_crash_at_every_writing_call(&sheet());
}

#[test]
fn a_trial_or_a_strike_is_whole_or_not_there_wherever_it_breaks() {
    for deed in [trial(), strike()] {
        every_writing_call_fails(&deed);
        a_crash_at_every_writing_call(&deed);
    }
}

#[test]
fn a_forecast_is_kept_whole_or_not_at_all_wherever_it_breaks() {
    every_writing_call_fails(&forecast());
    a_crash_at_every_writing_call(&forecast());
}

#[test]
fn a_new_book_is_whole_or_not_there_wherever_its_making_breaks() {
    every_writing_call_fails(&new_book());
    a_crash_at_every_writing_call(&new_book());
}

/// The trace's last word comes after every sync: what was said to be there is on the disk.
#[test]
fn everything_written_is_synced_before_it_is_said() {
    for deed in [readings(), trial(), sheet(), strike(), forecast(), new_book()] {
        let traced = deed.healthy(WRITING);
        let said = traced.calls.iter().position(|call| call.starts_with('-')).expect("it says so");
        let calls: Vec<[&str; 3]> = traced.calls[..said].iter().map(|call| words(call)).collect();
        let mut changes = 0;
        for (index, [_, call, name]) in calls.iter().enumerate() {
            let on = match *call {
                // The lock holds nothing that is to last.
                _ if *name == "book.lock" => continue,
                "write" | "ftruncate64" => name,
                "create" | "rename" | "unlink" => ".",
                _ => continue,
            };
            changes += 1;
            let synced = |[_, call, name]: &[&str; 3]| call.ends_with("sync") && *name == on;
            let later = calls[index..].iter().any(synced);
            assert!(later, "{:?}: {call} {name} is not synced:\n{calls:#?}", deed.args);
        }
        assert!(changes > 0, "{:?} wrote nothing", deed.args);
    }
}

fn words(call: &str) -> [&str; 3] {
    let mut words = call.splitn(3, ' ');
    std::array::from_fn(|_| words.next().expect("three words"))
}

#[test]
fn a_command_that_only_reads_makes_no_call_that_could_change_the_book() {
    let folder = measured();
    let elsewhere = tempfile::tempdir().unwrap();
    let picture = elsewhere.path().join("history.svg").to_string_lossy().into_owned();
    let page = elsewhere.path().join("page.html").to_string_lossy().into_owned();
    let before = folder.bytes();
    for args in [
        &[][..],
        &["audit"],
        &["fit"],
        &PREDICT,
        &[&["plan"], &PREDICT[1..5], &["--leaves", "160", "--target", "rounded"]].concat(),
        &["chart", "knockdown", "--out", &picture],
        &["report", "--out", &page],
        &["import", "sheet.csv", "--dry-run"],
    ] {
        let traced = run(&folder, args, "w", None);
        assert_eq!(traced.code(), Some(0), "{args:?}: {}", traced.err());
        assert!(traced.numbered().is_empty(), "{args:?}: {:#?}", traced.calls);
        assert_eq!(folder.bytes(), before, "{args:?}");
    }
}

/// Nor does it where an earlier command was killed and left something to finish.
#[test]
fn a_command_that_only_reads_leaves_the_finishing_to_those_that_write() {
    let deed = sheet();
    for number in 1..=deed.healthy(WRITING).numbered().len() {
        let folder = copy(&deed.before);
        run(&folder, &deed.args(), WRITING, Some((number, How::Half)));
        let before = folder.bytes();
        let traced = run(&folder, &["audit"], "w", None);
        assert!(traced.numbered().is_empty(), "{:#?}", traced.calls);
        assert_eq!(folder.bytes(), before, "after a crash at call {number}");
    }
}
