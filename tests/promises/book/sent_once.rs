//! A page's form that is sent twice is written once: after a double tap, a lost answer or a crash.
//! Its number is saved in the same write as its rows.
#![cfg(target_os = "linux")]

use crate::support::breaking::copy;
use crate::support::folder::{Folder, TODAY, put, surroundings};
use crate::support::mounted::Mounted;
use crate::support::one_line;
use crate::support::shim::{EIO, EVERY, Fault, How, WRITES, WRITING, traced};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use swellbook::book::{Book, BookError, Entries};
use swellbook::terminal::refusal::CliError;
use swellbook::terminal::session::{Session, Streams};
use swellbook::trade::{Reading, SendNumber, State};
use swellbook::units::Millimetres;

const SAID: &str = "recorded 2 readings of T1, as sewn";

fn number(bits: u128) -> SendNumber {
    bits.into()
}

/// Two readings at the next free places.
fn readings(book: &Book) -> Entries {
    let trial = "T1".parse().unwrap();
    let first = book.next_place(&trial, State::Sewn);
    let reading = |place: u32| {
        let place = place.to_string().parse().unwrap();
        let [spine, fore_edge] = [11.0, 8.1].map(Millimetres::new);
        Reading::new(trial.clone(), State::Sewn, place, spine, fore_edge).unwrap()
    };
    Entries { readings: vec![reading(first), reading(first + 1)], ..Entries::default() }
}

/// Sends a form with two readings to the book in `dir`, as a page does.
fn send(dir: &Path, number: SendNumber) -> Result<(), CliError> {
    send_when(dir, number, || ())
}

/// As [`send`], but calls `ready` between opening the book and writing to it.
fn send_when(dir: &Path, number: SendNumber, ready: impl FnOnce()) -> Result<(), CliError> {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let streams = Streams { input: &mut &b""[..], out: &mut out, err: &mut err };
    let mut session = Session::new(streams, surroundings(dir.to_owned()), None, true)?;
    session.sending = Some(number);
    let mut book = session.open_book()?;
    ready();
    let entries = readings(&book);
    session.append(&mut book, entries)
}

/// The number of readings, and the rows of `changes.csv` that came from a form.
fn holds(dir: &Path) -> (usize, Vec<String>) {
    let book = Book::open(dir).unwrap_or_else(|error| panic!("the book cannot be read: {error}"));
    let changes = std::fs::read_to_string(dir.join("changes.csv")).unwrap_or_default();
    let sent = changes.lines().skip(1).filter(|row| !row.ends_with(','));
    (book.readings().len(), sent.map(str::to_owned).collect())
}

#[track_caller]
fn assert_sent_before(answer: Result<(), CliError>) {
    match answer {
        Err(CliError::SentBefore { said }) => assert_eq!(said, SAID),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_form_that_is_sent_again_is_answered_as_before_and_not_written() {
    let folder = Folder::with_trial();
    send(folder.path(), number(1)).unwrap();
    let once = folder.bytes();
    assert_sent_before(send(folder.path(), number(1)));
    assert_eq!(folder.bytes(), once);
    let (readings, rows) = holds(folder.path());
    assert_eq!((readings, rows.len()), (2, 1));
    let begins = format!("{TODAY},\"{SAID}\",readings 1-2; sha256 ");
    assert!(rows[0].starts_with(&begins), "{rows:?}");
    assert!(rows[0].ends_with(&format!(",,{}", number(1))), "{rows:?}");
}

#[test]
fn the_same_readings_under_two_numbers_are_two_forms() {
    let folder = Folder::with_trial();
    for bits in [1, 2] {
        send(folder.path(), number(bits)).unwrap();
    }
    let (readings, sent) = holds(folder.path());
    assert_eq!((readings, sent.len()), (4, 2));
    folder.run(&["audit"]).ends(0);
}

/// Both open the book before either writes, so only the lock keeps them apart.
#[test]
fn a_form_that_is_sent_twice_at_once_is_written_once() {
    for _ in 0..10 {
        let folder = Folder::with_trial();
        let both = std::sync::Barrier::new(2);
        let ready = || _ = both.wait();
        let tap = || send_when(folder.path(), number(7), ready);
        let answers: Vec<_> = std::thread::scope(|scope| {
            let taps = [scope.spawn(tap), scope.spawn(tap)];
            taps.into_iter().map(|tap| tap.join().unwrap()).collect()
        });
        let (written, refused): (Vec<_>, Vec<_>) = answers.into_iter().partition(Result::is_ok);
        assert_eq!((written.len(), refused.len()), (1, 1));
        refused.into_iter().for_each(assert_sent_before);
        let (readings, sent) = holds(folder.path());
        assert_eq!((readings, sent.len()), (2, 1));
    }
}

/// The environment variable with the book to which [`a_page_in_a_process_of_its_own`] sends.
const BOOK: &str = "SENT_ONCE_BOOK";

#[test]
#[ignore = "the other tests run it, in a process that breaks"]
fn a_page_in_a_process_of_its_own() {
    let dir = std::env::var_os(BOOK).expect("the folder of a book");
    send(Path::new(&dir), number(7)).unwrap();
}

/// Breaks the page at each of its calls, and sends the form again each time.
#[track_caller]
fn breaks_at_each_call(before: &Folder, calls: &'static str, how: How) {
    let there = |dir: &Path| {
        let book = Book::open(dir).unwrap_or_else(|error| panic!("it cannot be read: {error}"));
        let is_noted = book.changes().iter().any(|change| change.number == Some(number(7)));
        (book.readings().len(), is_noted)
    };
    let none = there(before.path());
    let all = (none.0 + 2, true);
    let (mut unwritten, mut written) = (0, 0);
    for at in 1.. {
        let (folder, case) = (copy(before), format!("{how:?} at {at} of {calls}"));
        let mut page = Command::new(std::env::current_exe().expect("this program"));
        page.args(["--exact", "book::sent_once::a_page_in_a_process_of_its_own", "--ignored"]);
        page.env(BOOK, folder.path());
        let page = traced(page, &folder, WRITING, &[Fault::new(calls, at, how)]);
        let now = there(folder.path());
        assert!(now == all || (now == none && page.code() != Some(0)), "{case}: {now:?}");
        match send(folder.path(), number(7)) {
            Ok(()) => unwritten += 1,
            again => {
                written += 1;
                assert_sent_before(again);
            }
        }
        assert_eq!(there(folder.path()), all, "{case}");
        let rows = holds(folder.path()).1;
        let own = rows.iter().filter(|row| row.ends_with(&number(7).to_string()));
        assert_eq!(own.count(), 1, "{case}: {rows:?}");
        if page.numbers_of(calls).len() < at {
            break;
        }
    }
    assert!(unwritten > 0 && written > 0, "{how:?}: {unwritten} unwritten, {written} written");
}

#[test]
fn a_form_whose_write_was_killed_anywhere_is_written_once_when_it_is_sent_again() {
    let first = Folder::with_trial();
    breaks_at_each_call(&first, EVERY, How::Kill);
    breaks_at_each_call(&first, WRITES, How::Half);
    let later = copy(&first);
    send(later.path(), number(1)).unwrap();
    breaks_at_each_call(&later, EVERY, How::Kill);
}

#[test]
fn a_form_whose_write_failed_anywhere_is_written_once_when_it_is_sent_again() {
    breaks_at_each_call(&Folder::with_trial(), EVERY, How::Fail(EIO));
}

#[test]
fn a_full_disk_keeps_neither_the_rows_nor_the_number() {
    let Some(mounted) = Mounted::new(256) else { return };
    let before = Folder::with_trial().holds();
    let files = |dir: &Path| -> BTreeMap<PathBuf, Vec<u8>> {
        let paths = std::fs::read_dir(dir).unwrap().map(|entry| entry.unwrap().path());
        paths.map(|path| (path.clone(), std::fs::read(path).unwrap())).collect()
    };
    let (mut full, mut enough) = (0, 0);
    for pages in 0..12 {
        let _ = std::fs::remove_file(mounted.path().join("changes.csv"));
        for (name, bytes) in &before {
            put(&mounted.path().join(name), bytes);
        }
        let was = files(mounted.path());
        let filler = mounted.fill_but(pages * 4096);
        let answer = send(mounted.path(), number(7));
        std::fs::remove_file(filler).unwrap();
        match answer {
            Ok(()) => enough += 1,
            Err(error) => {
                full += 1;
                let told = "nothing was saved; free some space";
                assert!(error.to_string().contains(told), "{error}");
                assert_eq!(files(mounted.path()), was, "{pages} pages");
                send(mounted.path(), number(7)).unwrap();
            }
        }
        let (readings, sent) = holds(mounted.path());
        assert_eq!((readings, sent.len()), (2, 1), "{pages} pages");
    }
    assert!(full > 0 && enough > 0, "{full} full, {enough} enough");
}

/// The output of `audit` on one line.
fn audit(folder: &Folder, code: i32) -> String {
    one_line(&folder.run(&["audit"]).ends(code).out)
}

#[test]
fn a_damaged_row_of_numbers_is_reported_with_its_row_and_column() {
    let folder = Folder::with_trial();
    send(folder.path(), number(1)).unwrap();
    let (sound, one) = (folder.read("changes.csv"), number(1).to_string());
    for (damaged, place, what) in [
        (sound.replace(&one, "1E+0"), "changes.csv:5, column number", "expected 32 digits"),
        (sound.replace(TODAY, "soon"), "changes.csv:2, column date", "'soon'"),
        (
            sound.replace("readings 1-2", "readings 2-1"),
            "changes.csv:5, column rows",
            "does not say which rows were added",
        ),
        (
            format!("{sound}{TODAY},recorded paper wove,,,{one}\n"),
            "changes.csv:6, column number",
            "already exists (changes.csv:5); remove one of the two rows",
        ),
    ] {
        folder.write("changes.csv", &damaged);
        folder.run(&["fit"]).ends(3).complains_of(&[place, what]);
        let audit = audit(&folder, 3);
        assert!(audit.contains(place) && audit.contains(what), "{audit}");
        let before = folder.bytes();
        match send(folder.path(), number(2)) {
            Err(CliError::Book(BookError::Faults { .. })) => {}
            other => panic!("{other:?}"),
        }
        assert_eq!(folder.bytes(), before, "nothing is written to a damaged book");
    }
    folder.write("changes.csv", sound);
    assert_sent_before(send(folder.path(), number(1)));
}

#[test]
fn a_book_of_an_older_program_gets_the_file_with_its_next_write() {
    let folder = Folder::with_trial();
    std::fs::remove_file(folder.path().join("changes.csv")).unwrap();
    let digests = folder.read("book.digests");
    let older: Vec<&str> = digests.lines().filter(|line| !line.starts_with("changes")).collect();
    folder.write("book.digests", older.join("\n") + "\n");
    assert!(!audit(&folder, 0).contains("changes.csv"));
    folder.run(&["undo"]).ends(3).complains_of(&["nothing left to undo"]);
    assert!(!folder.path().join("changes.csv").exists(), "nothing was written");
    send(folder.path(), number(1)).unwrap();
    assert_eq!(holds(folder.path()).1.len(), 1);
    folder.run(&["undo"]).ends(0);
    folder.run(&["undo"]).ends(3).complains_of(&["nothing left to undo"]);
}

#[test]
fn a_file_of_changes_that_is_gone_is_reported_and_made_again() {
    let folder = Folder::with_trial();
    send(folder.path(), number(1)).unwrap();
    std::fs::remove_file(folder.path().join("changes.csv")).unwrap();
    let gone =
        "changes.csv: changed outside swellbook since its last write: 5 lines removed (5 → 0)";
    assert!(audit(&folder, 0).contains(gone), "{}", audit(&folder, 0));
    send(folder.path(), number(2)).unwrap();
    assert_eq!(holds(folder.path()).1.len(), 1);
    assert!(!audit(&folder, 0).contains("changes.csv"));
}

#[test]
fn a_new_book_is_not_made_where_somebodys_own_file_has_the_name() {
    let folder = Folder::new();
    folder.write("changes.csv", "letters sent\n");
    folder.run(&["init", "."]).ends(1).complains_of(&["changes.csv", "a new book needs that name"]);
    assert_eq!(folder.holds().len(), 1);
}
