//! Tests: a person edits the folder between any two steps of a command. No line of theirs and no
//! acknowledged row is lost.

use super::commit::commit;
use super::disk::Disk;
use super::journal::JOURNAL;
use super::open::{read, read_to_write};
use super::power_cuts::{disk, files, new, old, reports_an_edit, steps, stopped, tails, write};
use super::simulated::{Fault, Hand, Simulated};
use crate::book::entries::contents::Rows;
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use crate::book::notice::Notice;

/// A line added by hand where the program adds its own.
pub(in crate::book) const BY_HAND: &[u8] = b"T1,sewn,by hand\n";

fn adds_a_line(disk: &Simulated) {
    disk.add("readings.csv", BY_HAND);
}

fn saves_the_file(disk: &Simulated) {
    let saved = [&old()[&BookFile::Readings], BY_HAND].concat();
    disk.edit("readings.csv", &saved);
}

pub(in crate::book) fn times(bytes: &[u8], line: &[u8]) -> usize {
    bytes.split_inclusive(|byte| *byte == b'\n').filter(|there| *there == line).count()
}

/// How often each row that the command adds is there.
pub(in crate::book) fn there(rows: &Rows) -> [usize; 3] {
    let [trials, readings] = [BookFile::Trials, BookFile::Readings].map(|file| &rows[&file]);
    let trial = times(trials, b"T2,a trial of its own\n");
    [trial, times(readings, b"T2,sewn,1\n"), times(readings, b"T2,sewn,2\n")]
}

#[test]
fn a_hand_between_any_two_steps_loses_no_line_and_no_row_that_was_kept() {
    let mut refused = 0;
    for hand in [adds_a_line, saves_the_file] as [Hand; 2] {
        for step in 0..steps(false) {
            let disk = disk(&old(), false).failing(Fault::Hand(step, hand, None));
            let opened = read_to_write(&disk, files(&disk)).expect("it can be read");
            let said = commit(&disk, &opened, tails());
            disk.set(None);
            let now = files(&disk).rows;
            let case = format!("step {step}: {said:?}");
            let readings = &now[&BookFile::Readings];
            assert_eq!(times(readings, BY_HAND), 1, "{case}: the line by hand");
            let there = there(&now);
            let saved_after = said.is_ok() && there == [1, 0, 0];
            let edited = read(&disk, files(&disk)).unwrap().notices;
            let told = edited.iter().any(|notice| matches!(notice, Notice::Edited { .. }));
            refused += usize::from(said.is_err());
            match said {
                Err(_) => assert_eq!(there, [0; 3], "{case}"),
                // Saved over after all was done: an edit like any other, and reported.
                Ok(_) if saved_after => assert!(told, "{case}: {edited:?}"),
                Ok(_) => {
                    assert_eq!(there, [1; 3], "{case}");
                    // An older copy that is restored later is reported too.
                    disk.edit("readings.csv", &old()[&BookFile::Readings]);
                    assert!(reports_an_edit(&disk), "{case}: the rows are gone without a word");
                }
            }
        }
    }
    assert!(refused > 10, "{refused}");
}

#[test]
fn a_failure_after_a_hand_takes_back_nothing_but_the_programs_own() {
    let last = steps(false);
    let (mut taken_back, mut left_to_settle) = (0, 0);
    for hand in [adds_a_line, saves_the_file] as [Hand; 2] {
        for (step, fails) in (0..last).flat_map(|step| (step + 1..last).map(move |f| (step, f))) {
            let disk = disk(&old(), false).failing(Fault::Hand(step, hand, Some(fails)));
            let opened = read_to_write(&disk, files(&disk));
            let said = opened.and_then(|opened| commit(&disk, &opened, tails()));
            disk.set(None);
            let case = format!("step {step}, then {fails}: {said:?}");
            let now = files(&disk).rows;
            let readings = &now[&BookFile::Readings];
            assert!(readings.ends_with(BY_HAND) || times(readings, BY_HAND) == 1, "{case}");
            if said.as_ref().is_err_and(|error| error.is_undecided()) {
                left_to_settle += 1;
            } else if said.is_err() {
                taken_back += 1;
                assert_eq!(now[&BookFile::Trials], old()[&BookFile::Trials], "{case}");
                let old = &old()[&BookFile::Readings];
                assert_eq!(*readings, [old, BY_HAND].concat(), "{case}");
            }
        }
    }
    assert!(taken_back > 100 && left_to_settle > 10, "{taken_back}, {left_to_settle}");
}

#[test]
fn a_hand_while_the_next_command_finishes_loses_no_line_and_leaves_no_half() {
    for hand in [adds_a_line, saves_the_file] as [Hand; 2] {
        for step in 0..60 {
            let disk = stopped().failing(Fault::Hand(step, hand, None));
            let said = write(&disk, Rows::new());
            let (case, came) = (format!("step {step}: {said:?}"), disk.done() > step);
            disk.set(None);
            write(&disk, Rows::new()).expect(&case);
            let now = files(&disk).rows;
            let there = there(&now);
            let by_hand = times(&now[&BookFile::Readings], BY_HAND);
            assert_eq!(by_hand, usize::from(came), "{case}: the line by hand");
            let aside = disk.bytes("journal.set-aside.txt").is_some();
            match there {
                [1, 1, 1] => {}
                [0, 0, 0] => assert!(aside, "{case}: what it was to add is nowhere"),
                // Saved over after all was done: an edit like any other.
                _ => assert!(reports_an_edit(&disk), "{case}: {there:?}"),
            }
        }
    }
}

#[test]
fn a_hand_while_a_torn_line_is_set_aside_loses_nothing() {
    let mut torn = old();
    torn.insert(BookFile::Readings, b"trial,state,place\nT1,sewn,1\nT1,se".to_vec());
    let completes: Hand = |disk| disk.add("readings.csv", b"wn,2\nT1,sewn,by hand\n");
    let saves: Hand = |disk| disk.edit("readings.csv", b"trial,state,place\nT1,sewn,by hand\n");
    // The one loss: the line is completed between the last check and the cut.
    for (hand, moments) in [(completes, 1), (saves, 0)] {
        let mut lost = 0;
        for step in 0..60 {
            let disk = disk(&torn, false).failing(Fault::Hand(step, hand, None));
            let _ = write(&disk, tails());
            let came = disk.done() > step;
            let readings = disk.bytes("readings.csv").unwrap();
            lost += usize::from(came && times(&readings, BY_HAND) != 1);
            assert!(!readings.contains(&0), "step {step}: {readings:?}");
        }
        assert!(lost <= moments, "{lost} times");
    }
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

/// The next command may add to the file that was edited, and then the digests forget the edit.
#[test]
fn what_was_edited_beside_an_unfinished_command_is_reported_with_it() {
    let disk = stopped();
    disk.edit("papers.csv", b"paper,note\nbond 80,\n");
    let is_of_papers = |notice: &Notice| matches!(notice, Notice::Edited { place, .. } if place.file == "papers.csv");
    assert!(read(&disk, files(&disk)).unwrap().notices.iter().any(is_of_papers));
    let opened = read_to_write(&disk, files(&disk)).unwrap();
    assert!(opened.files.notices.iter().any(is_of_papers), "{:?}", opened.files.notices);
}

#[test]
fn what_somebody_saved_of_a_command_that_is_taken_back_is_named() {
    let disk = stopped();
    let saved = [&new()[&BookFile::Trials][..], b"T9,by hand\n"].concat();
    disk.edit("trials.csv", &saved);
    disk.edit("readings.csv", b"trial,state,place\n");
    let seen = read(&disk, files(&disk)).unwrap();
    let told = seen.notices[0].to_string();
    assert!(told.contains("only what is in trials.csv is used"), "{told}");
    write(&disk, Rows::new()).unwrap();
    assert_eq!(disk.bytes("trials.csv"), Some(saved));
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
fn a_struck_twin_of_a_row_is_not_the_row() {
    let mut before = old();
    before.insert(BookFile::Readings, b"trial,state,place\nT2,sewn,1\nT2,sewn,2\n".to_vec());
    let disk = disk(&before, false).failing(Fault::PowerCut(steps(false) - 8));
    let _ = write(&disk, tails());
    let disk = disk.after_kill();
    assert_ne!(disk.bytes(JOURNAL), Some(Vec::new()), "it was stopped too late");
    // Saved by a person who had opened it before.
    let edited = [&before[&BookFile::Readings][..], b"T1,sewn,9\n"].concat();
    disk.edit("readings.csv", &edited);
    let notices = read(&disk, files(&disk)).unwrap().notices;
    assert!(matches!(notices[..], [Notice::TakenBack { .. }]), "{notices:?}");
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
