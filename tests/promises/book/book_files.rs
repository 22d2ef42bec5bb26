//! The book on disk: read as people leave it, written all or nothing, in the style of each file.

use crate::support::folder;
use crate::support::random_books::{mm, name};
use jiff::civil::date;
use std::fs;
use std::path::{Path, PathBuf};
use swellbook::book::{Book, BookError, Config, Entries, EntryKind, Strike, find, init};
use swellbook::trade::{Hardness, Paper, Reading, Sewing, State, Thread, Trial};
use tempfile::TempDir;

const FILES: [&str; 8] = [
    "book.toml",
    "papers.csv",
    "threads.csv",
    "targets.csv",
    "trials.csv",
    "readings.csv",
    "struck.csv",
    "forecasts.csv",
];

pub fn new_book() -> (TempDir, Book) {
    let dir = tempfile::tempdir().unwrap();
    let book = init(&dir.path().join("bench"), &Config::default()).unwrap();
    (dir, book)
}

fn paper(paper: &str) -> Paper {
    Paper::new(name(paper), mm(0.1), Hardness::Hard).unwrap()
}

fn noted_paper(name: &str, note: &str) -> Paper {
    let mut paper = paper(name);
    paper.note = note.to_owned();
    paper
}

fn thread(thread: &str) -> Thread {
    let count = "lea 25/3".parse().ok();
    Thread::new(name(thread), Default::default(), count, None).unwrap()
}

fn trial(trial: &str) -> Trial {
    Trial {
        name: name(trial),
        date: Some(date(2026, 3, 14)),
        kind: Default::default(),
        paper: name("bond"),
        thread: name("linen"),
        sewing: Sewing::new(10, 4, 1, 0).unwrap(),
        boned: false,
        guards: mm(0.0),
        hand: None,
        note: String::new(),
    }
}

fn reading(trial: &str, place: &str, spine: f64, fore_edge: f64) -> Reading {
    let (spine, fore_edge) = (Some(mm(spine)), Some(mm(fore_edge)));
    Reading::new(name(trial), State::Sewn, name(place), spine, fore_edge).unwrap()
}

fn first_entries() -> Entries {
    Entries {
        papers: vec![paper("bond")],
        threads: vec![thread("linen")],
        trials: vec![trial("T1")],
        readings: vec![reading("T1", "1", 11.0, 8.1), reading("T1", "2", 11.05, 8.1)],
        ..Entries::default()
    }
}

fn strike(what: EntryKind, id: &str) -> Strike {
    Strike { what, id: id.to_owned(), reason: "misread".to_owned(), date: date(2026, 4, 1) }
}

fn strikes(all: &[(EntryKind, &str)]) -> Entries {
    let strikes = all.iter().map(|(what, id)| strike(*what, id)).collect();
    Entries { strikes, ..Entries::default() }
}

fn bytes_of(dir: &Path) -> Vec<Vec<u8>> {
    FILES.iter().map(|file| fs::read(dir.join(file)).unwrap()).collect()
}

fn put(book: &Book, file: &str, text: &str) {
    folder::put(&book.dir().join(file), text);
}

fn faults(book: &Book) -> Vec<String> {
    let error = Book::open(book.dir()).unwrap_err();
    assert!(matches!(error, BookError::Faults { .. }), "{error}");
    error.to_string().lines().map(str::to_owned).collect()
}

#[test]
fn a_new_book_reads_back() {
    let (_dir, book) = new_book();
    assert_eq!(book.targets().len(), 6);
    assert!(book.papers().is_empty());
    assert_eq!(Book::open(book.dir()).unwrap().config(), book.config());
    let again = init(book.dir(), &Config::default());
    assert!(matches!(again, Err(BookError::Exists { .. })));
}

#[test]
fn init_never_writes_over_a_file_of_the_same_name() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("papers.csv"), "mine").unwrap();
    assert!(matches!(init(dir.path(), &Config::default()), Err(BookError::Taken { .. })));
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
}

#[test]
fn the_book_is_found_by_flag_then_variable_then_folder() {
    let (dir, book) = new_book();
    let deep = book.dir().join("a/b");
    let found = |flag, variable, from: &Path| find(flag, variable, from).ok();
    assert_eq!(found(None, None, &deep).as_deref(), Some(book.dir()));
    assert_eq!(found(None, Some(book.dir()), dir.path()).as_deref(), Some(book.dir()));
    let toml = book.dir().join("book.toml");
    assert_eq!(found(Some(&toml), None, dir.path()).as_deref(), Some(book.dir()));
    let wrong = PathBuf::from("/nowhere");
    let error = find(Some(&wrong), Some(book.dir()), &deep).unwrap_err();
    assert!(error.to_string().contains("/nowhere"), "{error}");
    let error = find(None, Some(&wrong), &deep).unwrap_err();
    assert!(error.to_string().contains("SWELLBOOK"), "{error}");
    assert!(find(None, None, Path::new("/")).is_err());
}

#[test]
fn what_is_appended_reads_back() {
    let (_dir, mut book) = new_book();
    let written = book.append(first_entries()).unwrap();
    assert_eq!((written.papers, written.trials, written.readings), (1, 1, 2));
    let opened = Book::open(book.dir()).unwrap();
    assert_eq!(opened.trials(), &[trial("T1")]);
    assert_eq!(opened.readings(), first_entries().readings);
    assert_eq!(opened.readings(), book.readings());
    assert_eq!(book.next_place(&name("T1"), State::Sewn), 3);
    assert_eq!(book.next_place(&name("T1"), State::Knocked), 1);
}

#[test]
fn an_entry_that_clashes_leaves_the_files_as_they_are() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    let before = bytes_of(book.dir());
    let mut other_paper = trial("T2");
    other_paper.paper = name("bnod");
    let cases: [(Entries, &str); 7] = [
        (first_entries(), "paper 'bond' already exists (papers.csv:2)"),
        (Entries { trials: vec![trial("T1")], ..Entries::default() }, "trial 'T1' already exists"),
        (Entries { trials: vec![other_paper], ..Entries::default() }, "is it 'bond'?"),
        (
            Entries { readings: vec![reading("T1", "2", 11.0, 8.0)], ..Entries::default() },
            "reading 'T1/sewn/2' already exists (readings.csv:3)",
        ),
        (
            Entries { readings: vec![reading("T9", "1", 11.0, 8.0)], ..Entries::default() },
            "trial 'T9' is not in the book",
        ),
        (
            Entries {
                papers: vec![paper("new")],
                readings: vec![reading("T1", "3", 110.0, 81.0)],
                ..Entries::default()
            },
            "was it typed in tenths?",
        ),
        (
            Entries { papers: vec![noted_paper("new", "=1+1")], ..Entries::default() },
            "would run that as a formula",
        ),
    ];
    for (entries, expected) in cases {
        let error = book.append(entries).unwrap_err();
        assert!(matches!(error, BookError::Clash(_)), "{error}");
        assert!(error.to_string().contains(expected), "{error}\n{expected}");
        assert_eq!(bytes_of(book.dir()), before);
    }
}

#[test]
fn every_fault_of_every_file_is_listed_at_once() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    put(
        &book,
        "papers.csv",
        "paper,caliper_mm,hardness\nbond,0.1,hard\n\nthick,105,hard\nnameless,,rough\n",
    );
    put(
        &book,
        "readings.csv",
        "trial,state,place,spine_mm,fore_edge_mm,taken,note\n\
         T1,sewn,1,1e309,8.1,,\nT1,sawn,1,11,8,,\nT1,sewn,2,,,,\nT1,sewn,3,3,8,,\nT1,sewn,4,11,8,,\nT1,sewn,4,11,8,,\n",
    );
    let faults = faults(&book);
    let starts: Vec<&str> = faults.iter().map(|fault| fault.split(": ").next().unwrap()).collect();
    assert_eq!(
        starts,
        [
            "papers.csv:4, column caliper_mm",
            "papers.csv:5, column caliper_mm",
            "papers.csv:5, column hardness",
            "readings.csv:2, column spine_mm",
            "readings.csv:3, column state",
            "readings.csv:4",
            "readings.csv:5, column spine_mm",
            "readings.csv:7",
        ],
        "{faults:#?}"
    );
}

#[test]
fn rows_that_name_nothing_are_faults() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    put(
        &book,
        "trials.csv",
        "trial,paper,thread,sections,sheets\nT1,bond,linen,10,4\nT2,Bond2,cord,10,4\nT3,bond,linen,0,4\n",
    );
    assert_eq!(faults(&book).len(), 1);
    put(&book, "trials.csv", "trial,paper,thread,sections,sheets\nT2,bind,linen,10,4\n");
    let faults = faults(&book);
    assert!(faults[0].starts_with("readings.csv:2, column trial: reading T1/sewn/1: trial 'T1'"));
    assert!(faults[2].starts_with(
        "trials.csv:2, column paper: trial 'T2': paper 'bind' is not in the book; is it 'bond'?"
    ));
}

#[test]
fn a_hand_edited_file_is_read_and_added_to_in_its_own_style() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    let edited = "\u{feff}\"Fore_Edge_mm\";SPINE_MM;trial;place;state;note\r\n\
                  8,1;11,0;T1;1;sewn;\"head; near\"\r\n\
                  ;;;;;\r\n\
                  8,1;11,05;T1;2;sewn;";
    put(&book, "readings.csv", edited);
    let mut opened = Book::open(book.dir()).unwrap();
    // One for the empty row, one for the edit.
    assert_eq!(opened.notices().len(), 2);
    let mut third = reading("T1", "3", 11.25, 8.0);
    third.note = "a;b \"c\"".to_owned().into();
    opened.append(Entries { readings: vec![third.clone()], ..Entries::default() }).unwrap();
    let text = fs::read_to_string(book.dir().join("readings.csv")).unwrap();
    assert_eq!(text, format!("{edited}\r\n8;11,25;T1;3;sewn;\"a;b \"\"c\"\"\"\r\n"));
    assert_eq!(Book::open(book.dir()).unwrap().readings()[2], third);
}

#[test]
fn tabs_and_carriage_returns_alone_are_kept() {
    let (_dir, mut book) = new_book();
    put(&book, "papers.csv", "hardness\tpaper\tcaliper_mm\rhard\told\t0,12\r\t\t\r");
    book.append(Entries { papers: vec![paper("bond")], ..Entries::default() }).unwrap();
    let text = fs::read_to_string(book.dir().join("papers.csv")).unwrap();
    assert_eq!(text, "hardness\tpaper\tcaliper_mm\rhard\told\t0,12\r\t\t\rhard\tbond\t0,1\r");
}

#[test]
fn a_decimal_comma_in_quotes_is_kept_between_commas() {
    let (_dir, mut book) = new_book();
    put(&book, "papers.csv", "paper,caliper_mm,hardness\nold,\"0,12\",hard\n");
    book.append(Entries { papers: vec![paper("bond")], ..Entries::default() }).unwrap();
    assert_eq!(book.papers()[0].caliper().mm(), 0.12);
    let text = fs::read_to_string(book.dir().join("papers.csv")).unwrap();
    assert!(text.ends_with("old,\"0,12\",hard\nbond,\"0,1\",hard\n"), "{text}");
}

#[test]
fn a_value_without_its_column_is_not_lost_silently() {
    let (_dir, mut book) = new_book();
    put(&book, "papers.csv", "paper,caliper_mm,hardness\n");
    let noted = noted_paper("bond", "from the mill");
    let error = book.append(Entries { papers: vec![noted], ..Entries::default() }).unwrap_err();
    assert_eq!(
        error.to_string(),
        "papers.csv has no column note to write to; add note to its header"
    );
    book.append(Entries { papers: vec![paper("bond")], ..Entries::default() }).unwrap();
}

#[test]
fn mixed_decimal_marks_stop_with_the_rows() {
    let (_dir, book) = new_book();
    put(&book, "papers.csv", "paper;caliper_mm;hardness\na;0,1;hard\nb;0.1;hard\nc;0,2;soft\n");
    let expected = "papers.csv:2: decimal points in row 3 and decimal commas in rows 2, 4; use one of them throughout";
    assert_eq!(faults(&book), [expected]);
}

#[test]
fn a_cut_off_last_row_is_reported_and_set_aside_and_a_whole_one_counts() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    let header = "trial,state,place,spine_mm,fore_edge_mm,taken,note\n";
    put(&book, "readings.csv", &format!("{header}T1,sewn,1,11.0,8.1\nT1,sewn,2,11.0,8"));
    let mut cut = Book::open(book.dir()).unwrap();
    assert_eq!(cut.readings().len(), 1);
    let told: Vec<String> = cut.notices().iter().map(ToString::to_string).collect();
    assert!(told[1].starts_with("readings.csv:3: the last line was cut off and is not used"));
    cut.append(Entries { papers: vec![paper("laid")], ..Entries::default() }).unwrap();
    let left = |name: &str| fs::read_to_string(book.dir().join(name)).unwrap();
    assert_eq!(left("readings.csv"), format!("{header}T1,sewn,1,11.0,8.1\n"));
    assert_eq!(left("readings.set-aside.csv"), "T1,sewn,2,11.0,8\n");
    assert!(left("readings.backup-1.csv").ends_with("T1,sewn,2,11.0,8"));
    put(&book, "readings.csv", &format!("{header}T1,sewn,1,11.0,8.1\nT1,sewn,2,11.0,8.1,,"));
    assert_eq!(Book::open(book.dir()).unwrap().readings().len(), 2);
    put(&book, "readings.csv", &format!("{header}T1,sewn,1,11.0\nT1,sewn,2,11,0,8,1,,\n"));
    assert_eq!(faults(&book).len(), 2);
}

#[test]
fn a_book_that_cannot_be_read_at_all_says_why() {
    let (_dir, book) = new_book();
    let open = || Book::open(book.dir()).unwrap_err();
    fs::remove_file(book.dir().join("struck.csv")).unwrap();
    assert!(matches!(open(), BookError::Damaged { .. }));
    assert!(open().to_string().contains("struck.csv: the file is missing"));
    fs::create_dir(book.dir().join("struck.csv")).unwrap();
    assert!(open().to_string().contains("this is a folder"));
    fs::remove_dir(book.dir().join("struck.csv")).unwrap();
    put(&book, "struck.csv", "");
    assert!(open().to_string().starts_with("struck.csv: the file is empty"));
    put(&book, "struck.csv", "what,id,reason,date\n");
    put(&book, "book.toml", "format = 9\n");
    assert!(matches!(open(), BookError::Damaged { .. }));
    fs::remove_file(book.dir().join("book.toml")).unwrap();
    assert!(matches!(open(), BookError::NotFound { .. }));
}

#[test]
fn a_struck_reading_is_kept_but_does_not_count_and_can_be_taken_again() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    book.append(strikes(&[(EntryKind::Reading, "T1/sewn/1")])).unwrap();
    assert_eq!(book.readings().len(), 1);
    assert_eq!(book.struck().len(), 1);
    book.append(Entries { readings: vec![reading("T1", "1", 11.2, 8.1)], ..Entries::default() })
        .unwrap();
    let opened = Book::open(book.dir()).unwrap();
    let spines: Vec<f64> = opened.readings().iter().map(|r| r.spine().unwrap().mm()).collect();
    assert_eq!(spines, [11.05, 11.2]);
    assert!(book.append(strikes(&[(EntryKind::Reading, "T1/sewn/7")])).is_err());
    book.append(strikes(&[(EntryKind::Reading, "T1/sewn/1")])).unwrap();
    assert_eq!(book.readings().len(), 1);
    assert!(book.append(strikes(&[(EntryKind::Reading, "T1/sewn/1")])).is_err());
}

#[test]
fn a_struck_trial_takes_its_readings_with_it_but_not_those_taken_again() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    let written = book.append(strikes(&[(EntryKind::Trial, "T1")])).unwrap();
    assert_eq!(written.strikes, 3);
    assert!(book.trials().is_empty() && book.readings().is_empty());
    let error = book
        .append(Entries { readings: vec![reading("T1", "9", 11.0, 8.0)], ..Entries::default() })
        .unwrap_err();
    assert!(error.to_string().contains("trial 'T1' is not in the book"), "{error}");
    let again = Entries {
        trials: vec![trial("T1")],
        readings: vec![reading("T1", "1", 10.9, 8.0)],
        ..Entries::default()
    };
    book.append(again).unwrap();
    let opened = Book::open(book.dir()).unwrap();
    assert_eq!((opened.trials().len(), opened.readings().len()), (1, 1));
}

#[test]
fn a_trial_struck_by_hand_leaves_no_readings_behind() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    put(&book, "struck.csv", "what,id,reason,date\nTrial,T1,fell apart,2026-04-01\n");
    assert!(Book::open(book.dir()).unwrap().readings().is_empty());
}

#[test]
fn what_trials_use_cannot_be_struck_alone() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    let error = book.append(strikes(&[(EntryKind::Paper, "bond")])).unwrap_err();
    assert!(
        error.to_string().contains("trials use paper 'bond': T1; strike those first"),
        "{error}"
    );
    let mut entries = strikes(&[(EntryKind::Paper, "bond"), (EntryKind::Trial, "T1")]);
    entries.trials.push(trial("T2"));
    let error = book.append(entries).unwrap_err();
    assert!(
        error.to_string().contains("paper 'bond' is struck, so no trial can use it: T2"),
        "{error}"
    );
    let corrected = Paper::new(name("bond"), mm(0.105), Hardness::Hard).unwrap();
    let mut entries = strikes(&[(EntryKind::Paper, "bond")]);
    entries.papers.push(corrected.clone());
    book.append(entries).unwrap();
    assert_eq!(book.papers(), &[corrected]);
    book.append(strikes(&[(EntryKind::Trial, "T1"), (EntryKind::Thread, "linen")])).unwrap();
    assert!(book.threads().is_empty());
}

#[test]
fn four_threads_that_append_at_once_lose_nothing() {
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    let hands = ["a", "b", "c", "d"].map(|hand| {
        let mut book = book.clone();
        std::thread::spawn(move || {
            for count in 0..10 {
                let place = format!("{hand}{count}");
                let readings = vec![reading("T1", &place, 11.0, 8.0)];
                book.append(Entries { readings, ..Entries::default() }).unwrap();
                Book::open(book.dir()).unwrap();
            }
        })
    });
    for hand in hands {
        hand.join().unwrap();
    }
    assert_eq!(Book::open(book.dir()).unwrap().readings().len(), 42);
}

/// The full name of a test of this file in the test program.
fn full_name(test: &str) -> String {
    let (_, module) = module_path!().split_once("::").expect("a module of the test program");
    format!("{module}::{test}")
}

/// Runs one test of this program again in its own process, with `variable` set.
fn run_again(test: &str, variable: &str, dir: &Path) -> std::process::Child {
    let mut command = std::process::Command::new(std::env::current_exe().unwrap());
    let quiet = std::process::Stdio::null();
    command.args(["--exact", &full_name(test)]).env(variable, dir).stdout(quiet).spawn().unwrap()
}

#[test]
fn two_programs_that_append_at_once_lose_nothing() {
    const DIR: &str = "SWELLBOOK_TEST_TWO_PROGRAMS";
    const TEST: &str = "two_programs_that_append_at_once_lose_nothing";
    if let Some(dir) = std::env::var_os(DIR) {
        let mut book = Book::open(Path::new(&dir)).unwrap();
        for count in 0..12 {
            let place = format!("{} {count}", std::process::id());
            let readings = vec![reading("T1", &place, 11.0, 8.0)];
            book.append(Entries { readings, ..Entries::default() }).unwrap();
        }
        return;
    }
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    let programs = [(); 3].map(|()| run_again(TEST, DIR, book.dir()));
    for mut program in programs {
        assert!(program.wait().unwrap().success());
    }
    assert_eq!(Book::open(book.dir()).unwrap().readings().len(), 2 + 3 * 12);
}

/// Simulates a full disk: the shell limits the size of files, and the test runs itself again under
/// that limit.
#[cfg(target_os = "linux")]
#[test]
fn an_append_on_a_full_disk_leaves_every_file_as_it_was() {
    use std::process::Command;
    const DIR: &str = "SWELLBOOK_TEST_FULL_DISK";
    const TEST: &str = "an_append_on_a_full_disk_leaves_every_file_as_it_was";
    if let Some(dir) = std::env::var_os(DIR) {
        let mut book = Book::open(Path::new(&dir)).unwrap();
        let readings = (0..40).map(|n| reading("T2", &format!("place {n}"), 11.0, 8.1)).collect();
        let entries = Entries {
            papers: vec![paper("rag")],
            trials: vec![trial("T2")],
            readings,
            ..Entries::default()
        };
        let error = book.append(entries).unwrap_err();
        assert!(
            matches!(&error, BookError::Unkept { path, .. } if path.ends_with("book.journal")),
            "{error}"
        );
        return;
    }
    let (_dir, mut book) = new_book();
    book.append(first_entries()).unwrap();
    let before = bytes_of(book.dir());
    let program = std::env::current_exe().unwrap();
    let script = format!("trap '' XFSZ; ulimit -f 1; exec \"$0\" --exact {}", full_name(TEST));
    let mut command = Command::new("bash");
    let output = command.args(["-c", &script]).arg(program).env(DIR, book.dir()).output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success() && said.contains("1 passed"), "{said}");
    assert_eq!(bytes_of(book.dir()), before);
}

#[test]
fn a_book_that_another_program_holds_is_in_use() {
    let (_dir, mut book) = new_book();
    let lock = fs::File::options().write(true).open(book.dir().join("book.lock")).unwrap();
    lock.lock().unwrap();
    let error = book.append(first_entries()).unwrap_err();
    let own = format!("process {}", std::process::id());
    assert!(matches!(&error, BookError::InUse { holder, .. } if *holder == own), "{error}");
    lock.unlock().unwrap();
    book.append(first_entries()).unwrap();
}
