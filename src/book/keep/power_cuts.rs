//! A command stopped, by an error, a kill or a power cut, at every single thing it does to the
//! folder: afterwards the book is as it was or has all of it, and what was acknowledged is there.

use super::commit::commit;
use super::disk::Disk;
use super::journal::JOURNAL;
use super::open::{read, read_to_write};
use super::simulated::{Fault, Left, Simulated};
use super::{DIGESTS, first_digests};
use crate::book::contents::FileBytes;
use crate::book::files::BookFile;
use crate::book::{BookError, Notice};
use std::collections::BTreeMap;

type Rows = BTreeMap<BookFile, Vec<u8>>;

const SETTINGS: &[u8] = b"format = 1\n";

fn old() -> Rows {
    Rows::from([
        (BookFile::Papers, b"paper,note\nbond,\n".to_vec()),
        (BookFile::Trials, b"trial,note\nT1,\n".to_vec()),
        (BookFile::Readings, b"trial,state,place\nT1,sewn,1\n".to_vec()),
    ])
}

fn tails() -> Rows {
    Rows::from([
        (BookFile::Trials, b"T2,a trial of its own\n".to_vec()),
        (BookFile::Readings, b"T2,sewn,1\nT2,sewn,2\n".to_vec()),
    ])
}

fn new() -> Rows {
    with(old(), &tails())
}

fn with(mut rows: Rows, tails: &Rows) -> Rows {
    for (file, tail) in tails {
        rows.entry(*file).or_default().extend_from_slice(tail);
    }
    rows
}

/// A book on a disk; one from before there was a journal when `bare`.
fn disk(rows: &Rows, bare: bool) -> Simulated {
    let digests = first_digests(rows.iter());
    let files = rows.iter().map(|(file, bytes)| (file.name(), bytes.as_slice()));
    let own = [(JOURNAL, &b""[..]), (DIGESTS, digests.as_slice())];
    Simulated::with(files.chain(own.into_iter().filter(|_| !bare)))
}

fn files(disk: &Simulated) -> FileBytes {
    let bytes = |file: &BookFile| disk.bytes(file.name()).expect("a file of the book");
    let rows = old().keys().map(|file| (*file, bytes(file))).collect();
    FileBytes { settings: SETTINGS.to_vec(), rows, notices: Vec::new() }
}

/// Adds `tails` as a command does.
fn write(disk: &Simulated, tails: Rows) -> Result<(), BookError> {
    let opened = read_to_write(disk, files(disk))?;
    commit(disk, &opened, tails)
}

/// The book as a command reads it, after checking that reading changes nothing and that a writing
/// command leaves on the disk just what the reading one saw.
fn found(disk: &Simulated, case: &str) -> Rows {
    disk.set(None);
    let before = files(disk).rows;
    let seen = read(disk, files(disk)).expect(case).rows;
    assert_eq!(files(disk).rows, before, "{case}: reading changed the book");
    let more = Rows::from([(BookFile::Papers, b"laid,\n".to_vec())]);
    write(disk, more.clone()).expect(case);
    assert_eq!(files(disk).rows, with(seen.clone(), &more), "{case}: the next command");
    let opened = read(disk, files(disk)).expect(case);
    assert_eq!(opened.notices, [], "{case}: an edit is told that was none");
    seen
}

/// How many things a command does when nothing goes wrong.
fn steps(bare: bool) -> usize {
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
                let disk = disk(&old(), bare);
                disk.set(Some(Fault::PowerCut(step)));
                let kept = write(&disk, tails()).is_ok();
                let seen = found(&disk.after_power_cut(left), &case);
                assert!(seen == old() || seen == new(), "{case}: {seen:?}");
                assert!(!kept || seen == new(), "{case}: what was kept is gone");
                outcomes[usize::from(seen == new())] += 1;
            }
        }
    }
    assert!(outcomes.iter().all(|count| *count > 20), "{outcomes:?}");
}

#[test]
fn a_command_that_fails_anywhere_leaves_the_book_as_it_was_or_finished() {
    for bare in [false, true] {
        for step in 0..steps(bare) {
            let case = format!("bare {bare}, step {step}");
            let disk_once = disk(&old(), bare);
            disk_once.set(Some(Fault::Once(step)));
            let kept = write(&disk_once, tails()).is_ok();
            let expected = if kept { new() } else { old() };
            assert_eq!(found(&disk_once.after_kill(), &case), expected, "{case}: one failure");

            let dying = disk(&old(), bare);
            dying.set(Some(Fault::FromHere(step)));
            assert!(write(&dying, tails()).is_err(), "{case}");
            let seen = found(&dying.after_kill(), &case);
            assert!(seen == old() || seen == new(), "{case}: {seen:?}");
        }
    }
}

/// A disk on which a command was stopped when it had written half of what it was to.
fn stopped() -> Simulated {
    (0..)
        .map(|step| {
            let disk = disk(&old(), false);
            disk.set(Some(Fault::PowerCut(step)));
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
            let disk = stopped();
            disk.set(Some(Fault::PowerCut(step)));
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
fn what_was_edited_since_stands_and_the_rest_is_taken_back() {
    let disk = stopped();
    let edited = b"trial,state,place\nT1,sewn,one\n";
    disk.edit("readings.csv", edited);
    let seen = read(&disk, files(&disk)).unwrap();
    assert!(matches!(seen.notices[0], Notice::TakenBack { .. }));
    write(&disk, Rows::new()).unwrap();
    let mut expected = old();
    expected.insert(BookFile::Readings, edited.to_vec());
    assert_eq!((files(&disk).rows, seen.rows), (expected.clone(), expected));
    let aside = disk.bytes("journal.set-aside.txt").unwrap();
    assert!(String::from_utf8(aside).unwrap().contains("T2,sewn,2\n"));
}

#[test]
fn what_was_edited_since_and_has_every_line_is_finished() {
    let disk = stopped();
    let edited = b"trial,state,place\nT2,sewn,2\nT2,sewn,1\n";
    disk.edit("readings.csv", edited);
    write(&disk, Rows::new()).unwrap();
    let mut expected = new();
    expected.insert(BookFile::Readings, edited.to_vec());
    assert_eq!(files(&disk).rows, expected);
    assert_eq!(disk.bytes("journal.set-aside.txt"), None);
}

#[test]
fn a_line_cut_off_is_set_aside_beside_a_backup_wherever_that_is_stopped() {
    let mut torn = old();
    torn.insert(BookFile::Readings, b"trial,state,place\nT1,sewn,1\nT1,se".to_vec());
    for step in 0..40 {
        for left in Left::ALL {
            let case = format!("step {step}, {left:?}");
            let before = disk(&torn, false);
            before.set(Some(Fault::PowerCut(step)));
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

#[test]
fn a_file_that_a_spreadsheet_has_open_is_not_written_to() {
    let disk = disk(&old(), false);
    disk.edit(".~lock.readings.csv#", b",ada,bench,14.03.2026 09:12,;");
    let error = write(&disk, tails()).unwrap_err();
    assert!(matches!(&error, BookError::Open { holder, .. } if holder.starts_with("ada")));
    assert_eq!(files(&disk).rows, old());
    let papers = Rows::from([(BookFile::Papers, b"laid,\n".to_vec())]);
    write(&disk, papers).unwrap();
}

#[test]
fn a_file_changed_between_reading_and_writing_is_not_written_to() {
    let disk = disk(&old(), false);
    let opened = read_to_write(&disk, files(&disk)).unwrap();
    disk.edit("readings.csv", b"trial,state,place\nT1,sewn,2\n");
    let error = commit(&disk, &opened, tails()).unwrap_err();
    assert!(matches!(error, BookError::Clash(_)), "{error}");
    assert_eq!(files(&disk).rows[&BookFile::Trials], old()[&BookFile::Trials]);
    assert_eq!(disk.read(JOURNAL).unwrap(), Some(Vec::new()));
}
