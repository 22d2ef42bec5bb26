//! Each call of a command on its book fails once, fails from then on with all of its kind, or is
//! the last before a crash. Afterwards the book is as it was or complete, and what was said is
//! true.
#![cfg(target_os = "linux")]

use crate::support::breaking::{Deed, assert_none, copy};
use crate::support::folder::PROGRAM;
use crate::support::shim::{
    ALL, CUTS, EACCES, EIO, ENOSPC, EVERY, Fault, How, LIBRARY, NAMES, SYNCS, WRITES, WRITING, run,
};
use crate::support::writing::{
    ALL_DEEDS, PREDICT, accept, choose, correct, forecast, measured, new_book, paper, readings,
    restored, sheet, strike, strike_reading, trial, undo,
};
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

fn every_writing_call_fails(deed: &Deed) -> Vec<String> {
    let hows = [How::Fail(EIO), How::Fail(ENOSPC), How::From(EIO)];
    let failing = hows.into_iter().flat_map(|how| deed.each(EVERY, how));
    failing.chain(deed.each(WRITES, How::Short)).collect()
}

fn a_crash_at_every_writing_call(deed: &Deed) -> Vec<String> {
    [deed.each(EVERY, How::Kill), deed.each(WRITES, How::Half)].concat()
}

fn breaks_at_any_call(deed: &Deed) -> Vec<String> {
    [every_writing_call_fails(deed), a_crash_at_every_writing_call(deed)].concat()
}

#[test]
fn readings_are_kept_whole_or_not_at_all_whatever_call_fails() {
    assert_none(every_writing_call_fails(&readings()));
    assert_none(readings().each_of(ALL, EVERY, How::Fail(EACCES)));
}

#[test]
fn readings_are_kept_whole_or_not_at_all_wherever_the_program_is_killed() {
    assert_none(a_crash_at_every_writing_call(&readings()));
}

#[test]
fn a_sheet_is_imported_whole_or_not_at_all_whatever_call_fails() {
    assert_none(every_writing_call_fails(&sheet()));
}

#[test]
fn a_sheet_is_imported_whole_or_not_at_all_wherever_the_program_is_killed() {
    assert_none(a_crash_at_every_writing_call(&sheet()));
}

#[test]
fn a_trial_a_paper_a_strike_an_undo_or_a_correction_is_whole_or_not_there_wherever_it_breaks() {
    let deeds = [trial(), paper(), strike(), strike_reading(), undo(), correct()];
    assert_none(deeds.iter().flat_map(breaks_at_any_call));
}

#[test]
fn a_forecast_is_kept_whole_or_not_at_all_wherever_it_breaks() {
    assert_none(breaks_at_any_call(&forecast()));
}

#[test]
fn edits_are_accepted_all_or_none_wherever_it_breaks() {
    assert_none(breaks_at_any_call(&accept()));
}

#[test]
fn beliefs_are_those_of_one_pool_or_the_other_wherever_their_choice_breaks() {
    assert_none(breaks_at_any_call(&choose()));
}

#[test]
fn a_new_book_is_whole_or_not_there_wherever_its_making_breaks() {
    assert_none(breaks_at_any_call(&new_book()));
}

#[test]
fn a_restored_book_is_whole_or_not_there_wherever_its_making_breaks() {
    assert_none(breaks_at_any_call(&restored()));
}

#[test]
fn a_backup_is_whole_or_not_there_wherever_its_writing_breaks() {
    let before = measured();
    let whole = copy(&before);
    whole.run(&["backup", "kept.tar"]).ends(0);
    let whole = std::fs::read(whole.path().join("kept.tar")).expect("the backup");
    for how in [How::Kill, How::Fail(EIO), How::From(ENOSPC)] {
        for at in 1.. {
            let folder = copy(&before);
            let traced =
                run(&folder, &["backup", "kept.tar"], WRITING, &[Fault::new(EVERY, at, how)]);
            let there = std::fs::read(folder.path().join("kept.tar")).ok();
            assert!(there.as_ref().is_none_or(|there| *there == whole), "{how:?} at {at}: half");
            assert!(traced.code() != Some(0) || there.is_some(), "{how:?} at {at}: it said done");
            let mut files = folder.holds();
            // A killed program leaves its temporary file.
            files.retain(|path, _| !path.to_string_lossy().contains("kept.tar"));
            assert_eq!(files, before.holds(), "{how:?} at {at}: the book was changed");
            if traced.numbers_of(EVERY).len() < at {
                break;
            }
        }
    }
}

/// A disk on which one kind of call fails from some point on, while everything else works.
#[track_caller]
fn from_each_on(calls: &'static str) {
    let both = |deed: Deed| [EIO, ENOSPC].map(|errno| deed.each(calls, How::From(errno))).concat();
    assert_none(ALL_DEEDS.iter().flat_map(|deed| both(deed())));
}

#[test]
fn a_disk_that_no_longer_syncs_leaves_all_or_nothing_and_the_program_says_which() {
    from_each_on(SYNCS);
}

#[test]
fn a_disk_that_no_longer_cuts_leaves_all_or_nothing_and_the_program_says_which() {
    from_each_on(CUTS);
}

#[test]
fn a_disk_that_no_longer_writes_leaves_all_or_nothing_and_the_program_says_which() {
    from_each_on(WRITES);
}

#[test]
fn a_disk_that_no_longer_renames_leaves_all_or_nothing_and_the_program_says_which() {
    from_each_on(NAMES);
}

/// Calls that can change or replace a file (`man 2 syscalls`, named as in the C library).
const CHANGING: [&str; 34] = [
    "copy_file_range",
    "creat",
    "creat64",
    "fallocate",
    "fallocate64",
    "fdatasync",
    "fsync",
    "ftruncate",
    "ftruncate64",
    "link",
    "linkat",
    "mkdir",
    "mkdirat",
    "open",
    "open64",
    "openat",
    "openat64",
    "posix_fallocate",
    "posix_fallocate64",
    "pwrite",
    "pwrite64",
    "pwritev",
    "pwritev64",
    "rename",
    "renameat",
    "renameat2",
    "rmdir",
    "sendfile",
    "sendfile64",
    "symlink",
    "truncate",
    "truncate64",
    "unlink",
    "unlinkat",
];

/// Otherwise a change could bypass the injected faults.
#[test]
fn every_call_that_could_change_a_file_can_be_made_to_fail() {
    let (called, caught) =
        (symbols("--undefined-only", PROGRAM.as_ref()), symbols("--defined-only", &LIBRARY));
    let passes = |name: &&str| called.contains(*name) && !caught.contains(*name);
    let passed: Vec<&str> = CHANGING.into_iter().filter(passes).collect();
    assert!(called.contains("write") && passed.is_empty(), "{passed:?} of {called:?}");
}

/// The names in a program or library, without their versions.
fn symbols(which: &str, file: &Path) -> BTreeSet<String> {
    let output = Command::new("nm").args(["-D", which]).arg(file).output().expect("nm");
    let lines = String::from_utf8(output.stdout).expect("text");
    let name = |line: &str| Some(line.split_whitespace().last()?.split('@').next()?.to_owned());
    lines.lines().filter_map(name).collect()
}

/// The program reports only after every sync, so what it reports is on the disk.
#[test]
fn everything_written_is_synced_before_it_is_reported() {
    for deed in ALL_DEEDS.map(|deed| deed()) {
        let traced = deed.healthy(WRITING);
        let said = traced.calls.iter().position(|call| call.starts_with('-')).expect("it says so");
        let calls: Vec<[&str; 3]> = traced.calls[..said].iter().map(|call| words(call)).collect();
        let mut changes = 0;
        for (index, [_, call, name]) in calls.iter().enumerate() {
            let on = match *call {
                // The lock holds nothing that must last.
                _ if *name == "book.lock" => continue,
                "write" | "ftruncate64" => name,
                "create" | "rename" | "unlink" => ".",
                _ => continue,
            };
            changes += 1;
            let synced = |[_, call, name]: &[&str; 3]| call.ends_with("sync") && *name == on;
            let later = calls[index..].iter().any(synced);
            assert!(later, "{:?}: {call} {name} is not synced:\n{calls:#?}", deed.args());
        }
        assert!(changes > 0, "{:?} wrote nothing", deed.args());
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
        let traced = run(&folder, args, "w", &[]);
        assert_eq!(traced.code(), Some(0), "{args:?}: {}", traced.err());
        assert!(traced.numbered().is_empty(), "{args:?}: {:#?}", traced.calls);
        assert_eq!(folder.bytes(), before, "{args:?}");
    }
}

/// A command that reads changes nothing even if a killed command left work to finish.
#[test]
fn a_command_that_only_reads_leaves_the_finishing_to_those_that_write() {
    let deed = sheet();
    for number in 1..=deed.healthy(WRITING).numbered().len() {
        let folder = copy(&deed.before);
        run(&folder, &deed.args(), WRITING, &[Fault::new(EVERY, number, How::Half)]);
        let before = folder.bytes();
        let traced = run(&folder, &["audit"], "w", &[]);
        assert!(traced.numbered().is_empty(), "{:#?}", traced.calls);
        assert_eq!(folder.bytes(), before, "after a crash at call {number}");
    }
}
