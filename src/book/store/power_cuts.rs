//! Tests: a command is stopped by an error, a kill or a power cut at every single operation on the
//! folder. Afterwards the book has all of it or is as it was, and what was acknowledged is there.

use super::commit::commit;
use super::digests::{DIGESTS, first_digests};
use super::hands::{BY_HAND, there};
use super::journal::JOURNAL;
use super::open::{read, read_to_write};
use super::simulated::{Fault, Left, Simulated};
use crate::book::entries::contents::{FileBytes, Rows};
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use crate::book::notice::Notice;

const SETTINGS: &[u8] = b"format = 1\n";

pub(in crate::book) fn old() -> Rows {
    Rows::from([
        (BookFile::Papers, b"paper,note\nbond,\n".to_vec()),
        (BookFile::Trials, b"trial,note\nT1,\n".to_vec()),
        (BookFile::Readings, b"trial,state,place\nT1,sewn,1\n".to_vec()),
    ])
}

pub(in crate::book) fn tails() -> Rows {
    Rows::from([
        (BookFile::Trials, b"T2,a trial of its own\n".to_vec()),
        (BookFile::Readings, b"T2,sewn,1\nT2,sewn,2\n".to_vec()),
    ])
}

pub(in crate::book) fn new() -> Rows {
    with(old(), &tails())
}

fn with(mut rows: Rows, tails: &Rows) -> Rows {
    for (file, tail) in tails {
        rows.entry(*file).or_default().extend_from_slice(tail);
    }
    rows
}

/// A book on a disk; with `bare`, one from before the journal existed.
pub(in crate::book) fn disk(rows: &Rows, bare: bool) -> Simulated {
    let digests = first_digests(rows);
    let files = rows.iter().map(|(file, bytes)| (file.name(), bytes.as_slice()));
    let own = [(JOURNAL, &b""[..]), (DIGESTS, digests.as_slice())];
    Simulated::with(files.chain(own.into_iter().filter(|_| !bare)))
}

pub(in crate::book) fn files(disk: &Simulated) -> FileBytes {
    let bytes = |file: &BookFile| disk.bytes(file.name()).expect("a file of the book");
    let rows = old().keys().map(|file| (*file, bytes(file))).collect();
    FileBytes { settings: SETTINGS.to_vec(), rows, notices: Vec::new() }
}

/// Adds `tails` as a command does, and returns its notices.
pub(in crate::book) fn write(disk: &Simulated, tails: Rows) -> Result<Vec<Notice>, BookError> {
    let opened = read_to_write(disk, files(disk))?;
    commit(disk, &opened, tails)
}

/// The book as a command reads it. Checks that reading changes nothing, and that a writing command
/// leaves on the disk exactly what the reading one saw.
fn found(disk: &Simulated, case: &str) -> Rows {
    disk.set(None);
    let before = files(disk).rows;
    let seen = read(disk, files(disk)).expect(case).rows;
    assert_eq!(files(disk).rows, before, "{case}: reading changed the book");
    let more = Rows::from([(BookFile::Papers, b"laid,\n".to_vec())]);
    write(disk, more.clone()).expect(case);
    assert_eq!(files(disk).rows, with(seen.clone(), &more), "{case}: the next command");
    seen
}

pub(in crate::book) fn reports_an_edit(disk: &Simulated) -> bool {
    let notices = read(disk, files(disk)).expect("it can be read").notices;
    notices.iter().any(|notice| matches!(notice, Notice::Edited { .. }))
}

/// The number of operations of a command if nothing goes wrong.
pub(in crate::book) fn steps(bare: bool) -> usize {
    let disk = disk(&old(), bare);
    write(&disk, tails()).expect("nothing goes wrong");
    assert_eq!(files(&disk).rows, new());
    disk.done()
}

#[test]
fn a_command_stopped_by_a_power_cut_anywhere_is_done_whole_or_not_at_all() {
    let mut outcomes = [0, 0];
    for bare in [false, true] {
        for step in 0..=steps(bare) {
            for left in Left::ALL {
                let case = format!("bare {bare}, step {step}, {left:?}");
                let disk = disk(&old(), bare).failing(Fault::PowerCut(step));
                let kept = write(&disk, tails()).is_ok();
                let disk = disk.after_power_cut(left);
                let seen = found(&disk, &case);
                assert!(seen == old() || seen == new(), "{case}: {seen:?}");
                assert!(!kept || seen == new(), "{case}: what was kept is gone");
                assert!(!reports_an_edit(&disk), "{case}: an edit that was none");
                outcomes[usize::from(seen == new())] += 1;
            }
        }
    }
    assert!(outcomes.iter().all(|count| *count > 20), "{outcomes:?}");
}

/// Checks that the contents are what the command reported.
#[track_caller]
fn assert_true_to_word(said: &Result<Vec<Notice>, BookError>, seen: &Rows, case: &str) {
    match said {
        Ok(_) => assert_eq!(*seen, new(), "{case}: what was kept is gone"),
        Err(error) if error.is_undecided() => {
            assert!(*seen == old() || *seen == new(), "{case}, {error}: {seen:?}");
        }
        Err(error) => assert_eq!(*seen, old(), "{case}, {error}: something is there"),
    }
}

#[test]
fn what_is_said_of_a_command_that_fails_anywhere_is_true() {
    let mut kept = 0;
    for bare in [false, true] {
        for step in 0..steps(bare) {
            for fault in [Fault::Once(step), Fault::FromHere(step), Fault::SyncsFrom(step)] {
                for left in [None, Some(Left::All), Some(Left::Nothing), Some(Left::Zeros)] {
                    let case = format!("bare {bare}, {fault:?}, {left:?}");
                    let disk = disk(&old(), bare).failing(fault);
                    let said = write(&disk, tails());
                    kept += usize::from(said.is_ok());
                    let disk = left.map_or_else(|| disk.clone(), |left| disk.after_power_cut(left));
                    assert_true_to_word(&said, &found(&disk, &case), &case);
                    // What could not be cleaned up may be lost in the power cut, and is only a
                    // report.
                    let tidy = left.is_none() || said.as_ref().is_ok_and(Vec::is_empty);
                    assert!(!(tidy && reports_an_edit(&disk)), "{case}: an edit that was none");
                }
            }
        }
    }
    assert!(kept > 20, "{kept}: what fails after the rows are there takes nothing back");
}

#[test]
fn a_command_that_fails_and_is_then_stopped_is_done_whole_or_not_at_all() {
    let last = steps(false) + 12;
    for (first, second) in (0..last).flat_map(|first| (first + 1..last).map(move |s| (first, s))) {
        for left in Left::ALL {
            let fault = Fault::OnceThenPowerCut(first, second);
            let case = format!("{fault:?}, {left:?}");
            let disk = disk(&old(), false).failing(fault);
            let kept = write(&disk, tails()).is_ok();
            let seen = found(&disk.after_power_cut(left), &case);
            assert!(seen == old() || seen == new(), "{case}: {seen:?}");
            assert!(!kept || seen == new(), "{case}: what was kept is gone");
        }
    }
}

/// A program is killed before its writes are on the disk. Then the power goes while the next
/// program finishes them.
#[test]
fn a_command_that_was_killed_is_whole_or_not_there_after_a_power_cut_in_the_next() {
    for bare in [false, true] {
        for killed in 0..=steps(bare) {
            for step in 0..60 {
                for left in Left::ALL {
                    let case = format!("bare {bare}, killed at {killed}, then {step}, {left:?}");
                    let disk = disk(&old(), bare).failing(Fault::PowerCut(killed));
                    let _ = write(&disk, tails());
                    disk.set(Some(Fault::PowerCut(step)));
                    let _ = write(&disk, Rows::new());
                    let seen = found(&disk.after_power_cut(left), &case);
                    assert!(seen == old() || seen == new(), "{case}: {seen:?}");
                }
            }
        }
    }
}

/// A command was killed, perhaps a line was added by hand, and the next command finished. Then the
/// power goes.
#[test]
fn what_the_next_command_finished_is_there_after_a_power_cut() {
    for hand in [None, Some(BY_HAND)] {
        for killed in 0..=steps(false) {
            for left in Left::ALL {
                let case = format!("{hand:?}, killed at {killed}, {left:?}");
                let disk = disk(&old(), false).failing(Fault::PowerCut(killed));
                let _ = write(&disk, tails());
                disk.set(None);
                if let Some(line) = hand {
                    disk.add("readings.csv", line);
                }
                write(&disk, Rows::new()).expect(&case);
                let before = files(&disk).rows;
                let after = files(&disk.after_power_cut(left)).rows;
                assert_eq!(there(&after), there(&before), "{case}");
            }
        }
    }
}

#[test]
fn a_torn_line_is_somewhere_whatever_fails() {
    let mut torn = old();
    torn.insert(BookFile::Readings, b"trial,state,place\nT1,sewn,1\nT1,se".to_vec());
    for step in 0..60 {
        for fault in [Fault::Once(step), Fault::FromHere(step), Fault::SyncsFrom(step)] {
            let disk = disk(&torn, false).failing(fault);
            let said = write(&disk, tails()).is_ok();
            let files = ["readings.csv", "readings.set-aside.csv", "readings.backup-1.csv"];
            let line = |bytes: Vec<u8>| bytes.ends_with(b"T1,se") || bytes.ends_with(b"T1,se\n");
            let has = |name: &&str| disk.bytes(name).is_some_and(line);
            assert!(files.iter().any(has), "{fault:?}, {said}: the line is gone");
        }
    }
}

/// A disk on which a command was stopped after it had written half of its rows.
pub(in crate::book) fn stopped() -> Simulated {
    (0..)
        .map(|step| {
            let disk = disk(&old(), false).failing(Fault::PowerCut(step));
            let _ = write(&disk, tails());
            disk.after_kill()
        })
        .find(|disk| files(disk).rows[&BookFile::Trials] == new()[&BookFile::Trials])
        .expect("a step at which the first file is written")
}

#[test]
fn settling_that_is_stopped_itself_is_settled_by_the_next() {
    for step in 0..40 {
        for left in Left::ALL {
            let disk = stopped().failing(Fault::PowerCut(step));
            let _ = write(&disk, Rows::new());
            let case = format!("step {step}, {left:?}");
            assert_eq!(found(&disk.after_power_cut(left), &case), new(), "{case}");
        }
    }
}

#[test]
fn a_command_that_was_stopped_is_told_of_once() {
    let disk = stopped();
    let told = |disk: &Simulated| read(disk, files(disk)).unwrap().notices;
    assert!(matches!(told(&disk)[..], [Notice::Finished { .. }]));
    write(&disk, Rows::new()).unwrap();
    assert_eq!(told(&disk), []);
}

#[test]
fn a_line_cut_off_is_set_aside_beside_a_backup_wherever_that_is_stopped() {
    let mut torn = old();
    torn.insert(BookFile::Readings, b"trial,state,place\nT1,sewn,1\nT1,se".to_vec());
    for step in 0..40 {
        for left in Left::ALL {
            let case = format!("step {step}, {left:?}");
            let before = disk(&torn, false).failing(Fault::PowerCut(step));
            let _ = write(&before, tails());
            let disk = before.after_power_cut(left);
            disk.set(None);
            let seen = read(&disk, files(&disk)).expect(&case).rows;
            assert!(seen == old() || seen == new(), "{case}: {seen:?}");
            write(&disk, Rows::new()).expect(&case);
            assert_eq!(files(&disk).rows, seen, "{case}");
            let aside = disk.bytes("readings.set-aside.csv").expect(&case);
            assert!(aside.ends_with(b"T1,se\n"), "{case}: {aside:?}");
            let backup = disk.bytes("readings.backup-1.csv").expect(&case);
            assert!(backup.starts_with(&torn[&BookFile::Readings]), "{case}");
        }
    }
}
