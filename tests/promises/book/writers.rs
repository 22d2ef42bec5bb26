//! Many programs write to one book at once. Nothing is lost or doubled, every row is whole, and
//! each program's rows are in its own order.
#![cfg(target_os = "linux")]

use crate::support::folder::{Folder, PROGRAM};
use rexpect::process::PtyProcess;
use std::io::{Read, Write};
use std::time::{Duration, Instant};
use swellbook::book::Book;

/// How many programs write at once.
const WRITERS: usize = 8;
/// How many readings each program takes.
const READINGS: usize = 250;

fn trials() -> Folder {
    let folder = Folder::with_trial();
    for writer in 0..WRITERS {
        let name = format!("W{writer}");
        let sewing = ["--sections", "10", "--sheets", "4"];
        folder.run(&[&["record", "trial", &name][..], &sewing, &MATERIALS].concat()).ends(0);
    }
    folder
}

const MATERIALS: [&str; 4] = ["--paper", "bond 80", "--thread", "linen 25"];

/// The spine of a reading in mm. A value repeats only after many readings, and all are close.
fn spine(writer: usize, reading: usize) -> f64 {
    (4400 + (writer * 37 + reading * 11) % 101) as f64 / 400.0
}

/// Eight writers run commands of `each` readings until each writer has taken 250, while others
/// record and strike trials. Returns how long it took.
pub fn write_at_once(each: usize) -> Duration {
    let folder = trials();
    let start = Instant::now();
    std::thread::scope(|scope| {
        for writer in 0..WRITERS {
            let folder = &folder;
            scope.spawn(move || {
                for first in (0..READINGS).step_by(each) {
                    record(folder, writer, first..(first + each).min(READINGS));
                }
            });
        }
        scope.spawn(|| disturb(&folder));
    });
    let time = start.elapsed();
    assert_all_there(&folder);
    let book = Book::open(folder.path()).unwrap();
    let others: Vec<_> = book.struck().iter().map(|strike| strike.id.as_str()).collect();
    assert_eq!(others, ["D0", "D1", "D2", "D3", "D4"]);
    time
}

fn record(folder: &Folder, writer: usize, readings: std::ops::Range<usize>) {
    let spines: Vec<String> = readings.map(|reading| spine(writer, reading).to_string()).collect();
    let (trial, spines) = (format!("W{writer}"), spines.join(","));
    folder.run(&["record", "readings", &trial, "--state", "sewn", "--spine", &spines]).ends(0);
}

/// Records trials and strikes them again.
fn disturb(folder: &Folder) {
    for number in 0..5 {
        let name = format!("D{number}");
        let sewing = ["--sections", "12", "--sheets", "3"];
        folder.run(&[&["record", "trial", &name][..], &sewing, &MATERIALS].concat()).ends(0);
        folder.run(&["strike", "trial", &name, "--reason", "only to disturb"]).ends(0);
    }
}

/// Every reading of every writer is there once, in its order, and every row of the file is whole.
#[track_caller]
fn assert_all_there(folder: &Folder) {
    let text = folder.read("readings.csv");
    assert!(text.ends_with('\n'));
    assert!(text.lines().all(|row| row.split(',').count() == 7), "{text}");
    assert_eq!(text.lines().count(), 1 + WRITERS * READINGS);
    let book = Book::open(folder.path()).unwrap();
    for writer in 0..WRITERS {
        let name = format!("W{writer}");
        let own = book.readings().iter().filter(|reading| reading.trial.as_str() == name);
        let found: Vec<(String, f64)> =
            own.map(|reading| (reading.place.to_string(), reading.spine().unwrap().mm())).collect();
        let wanted: Vec<(String, f64)> = (0..READINGS)
            .map(|reading| ((reading + 1).to_string(), spine(writer, reading)))
            .collect();
        assert_eq!(found, wanted, "{name}");
    }
}

#[test]
fn eight_writers_at_once_neither_lose_nor_double_any_of_2000_readings() {
    write_at_once(10);
}

/// Version control, or a service that copies the folder, may remove or replace the lock's file
/// while a program holds it.
#[test]
fn eight_writers_lose_nothing_while_their_lock_is_taken_away_and_replaced() {
    let (folder, done) = (trials(), std::sync::atomic::AtomicBool::new(false));
    let (folder, done) = (&folder, &done);
    let (lock, other) = (folder.path().join("book.lock"), folder.path().join("other"));
    std::thread::scope(|scope| {
        scope.spawn(move || {
            for round in 0.. {
                if done.load(std::sync::atomic::Ordering::Relaxed) {
                    return;
                }
                // It may already be gone, or be created at this moment.
                let _ = std::fs::remove_file(&lock);
                if round % 2 == 0 && std::fs::write(&other, "").is_ok() {
                    let _ = std::fs::rename(&other, &lock);
                }
                std::thread::sleep(Duration::from_micros(500));
            }
        });
        std::thread::scope(|scope| {
            for writer in 0..WRITERS {
                scope.spawn(move || {
                    for first in (0..READINGS).step_by(25) {
                        record(folder, writer, first..first + 25);
                    }
                });
            }
        });
        done.store(true, std::sync::atomic::Ordering::Relaxed);
    });
    assert_all_there(folder);
}

/// Eight writers record readings of one trial at once, without naming a place.
#[test]
fn eight_writers_on_one_trial_get_a_place_for_every_reading() {
    const COMMANDS: usize = 5;
    let folder = Folder::with_trial();
    std::thread::scope(|scope| {
        for writer in 0..WRITERS {
            let folder = &folder;
            scope.spawn(move || {
                for command in 0..COMMANDS {
                    let spines =
                        [0, 1, 2].map(|more| spine(writer, 3 * command + more).to_string());
                    let (note, spines) = (format!("W{writer}"), spines.join(","));
                    let args = ["record", "readings", "T1", "--state", "sewn"];
                    let more = ["--spine", &spines, "--note", &note];
                    folder.run(&[&args[..], &more].concat()).ends(0);
                }
            });
        }
    });
    assert_numbered(&folder, COMMANDS * 3);
}

/// A gauge at each of eight terminals, all done at the same moment.
#[test]
fn eight_benches_that_are_done_at_once_write_all_they_took() {
    let folder = trials();
    let folder = &folder;
    std::thread::scope(|scope| {
        for writer in 0..WRITERS {
            scope.spawn(move || {
                let trial = format!("W{writer}");
                let said = type_all(folder, writer, &[&trial]);
                assert!(said.contains("recorded 250 readings"), "{said}");
            });
        }
    });
    assert_all_there(folder);
}

/// The same on one trial: all were shown the same places, and none loses a reading.
#[test]
fn eight_benches_on_one_trial_move_their_readings_up() {
    let folder = Folder::with_trial();
    let shared = &folder;
    let moved = std::thread::scope(|scope| {
        let at = |writer| {
            let note = format!("W{writer}");
            scope.spawn(move || type_all(shared, writer, &["T1", "--note", &note]))
        };
        let benches: Vec<_> = (0..WRITERS).map(at).collect();
        let said: Vec<String> = benches.into_iter().map(|bench| bench.join().unwrap()).collect();
        assert!(said.iter().all(|said| said.contains("recorded 250 readings")), "{said:?}");
        said.iter().filter(|said| said.contains("those numbers were taken meanwhile")).count()
    });
    assert!(moved > 0, "each was done before the next began");
    assert_numbered(&folder, READINGS);
}

/// Every reading of T1 is there, numbered from 1 in the order of the file. The readings of each
/// writer, known by their note, are in its order.
#[track_caller]
fn assert_numbered(folder: &Folder, each: usize) {
    let book = Book::open(folder.path()).unwrap();
    let places: Vec<String> = book.readings().iter().map(|one| one.place.to_string()).collect();
    let wanted: Vec<String> = (1..=WRITERS * each).map(|place| place.to_string()).collect();
    assert_eq!(places, wanted);
    for writer in 0..WRITERS {
        let own = book.readings().iter().filter(|one| *one.note == format!("W{writer}"));
        let found: Vec<f64> = own.map(|one| one.spine().unwrap().mm()).collect();
        let wanted: Vec<f64> = (0..each).map(|reading| spine(writer, reading)).collect();
        assert_eq!(found, wanted, "W{writer}");
    }
}

/// Types every reading of a writer at a terminal, and returns the program's output.
fn type_all(folder: &Folder, writer: usize, args: &[&str]) -> String {
    let mut command = folder.command(PROGRAM);
    command.args(["record", "readings", "--state", "sewn"]).args(args).env("TERM", "xterm");
    let process = PtyProcess::new(command).expect("a terminal");
    let mut screen = process.get_file_handle().expect("the terminal");
    let mut keys = process.get_file_handle().expect("the terminal");
    let spines: String =
        (0..READINGS).map(|reading| format!("{}\n", spine(writer, reading))).collect();
    // The screen must be read meanwhile, or it would fill up. A spine without a fore-edge raises a
    // question, so done is typed for each edge and once more.
    let typing = std::thread::spawn(move || write!(keys, "{spines}done\ndone\ndone\n"));
    let (mut said, mut room) = (Vec::new(), [0; 4096]);
    // A terminal whose program has ended gives an error instead of an end.
    while let Ok(read @ 1..) = screen.read(&mut room) {
        said.extend_from_slice(&room[..read]);
    }
    typing.join().expect("the typing").expect("keys that are taken");
    process.wait().expect("its end");
    String::from_utf8_lossy(&said).into_owned()
}
