//! Input from outside, of any kind and size, gives an error that says what to do, in bounded memory
//! and time, and never a panic.
//!
//! These tests read the kept inputs again; `cargo bench --bench fuzz` looks for new ones.

use super::targets::{ALLOWANCE, TARGETS, TIMES};
use super::{corpus, shapes, targets};
use crate::support::folder::{Folder, PROGRAM};
use crate::support::repository;
use std::fs::File;
use std::io::Write;
use std::process::{Command, Stdio};

#[test]
fn every_input_that_is_kept_is_read_or_refused_within_bounds() {
    for target in TARGETS.iter() {
        assert!(target.share > 0, "{} is not fuzzed", target.name);
        let inputs = corpus::of(target.name);
        assert!(inputs.len() >= 5, "{} has {} inputs", target.name, inputs.len());
        for (name, bytes) in inputs {
            eprintln!("{}/{name}", target.name);
            targets::run(target, &bytes);
        }
        if let Some(example) = target.example() {
            let outcome = targets::run(target, &example).outcome;
            let unread = |said: &String| said.contains("column") || said.contains("expected");
            assert!(!outcome.iter().any(unread), "{}: {outcome:?}", target.name);
            let example = String::from_utf8(example).expect("text");
            let cells = example.split([',', '\n']).filter(|cell| !cell.is_empty());
            cells.for_each(|cell| assert!(target.words().contains(&cell), "{cell}"));
        }
    }
}

#[test]
fn the_corpus_is_small_and_each_folder_of_it_is_read() {
    let (mut size, mut folders) = (0, 0);
    for folder in std::fs::read_dir(repository("tests/corpus")).expect("the corpus") {
        let name = folder.expect("an entry").file_name().to_string_lossy().into_owned();
        assert!(TARGETS.iter().any(|target| target.name == name), "{name} is read by no target");
        size += corpus::of(&name).iter().map(|(_, bytes)| bytes.len()).sum::<usize>();
        folders += 1;
    }
    assert_eq!(folders, TARGETS.len());
    assert!(size < 300_000, "{size} bytes");
}

#[test]
fn the_memory_of_a_hostile_file_is_at_most_ten_times_its_size() {
    for shape in &shapes::SHAPES {
        let target = TARGETS.iter().find(|target| target.name == shape.target).expect(shape.target);
        let bytes = (shape.make)(1 << 20);
        let taken = targets::measure(target, &bytes);
        let bound = TIMES * bytes.len() as u64 + ALLOWANCE;
        let of = format!("{}, {}", shape.target, shape.name);
        assert!(taken.peak <= bound, "{of}: {} bytes for {}", taken.peak, bytes.len());
        assert!((1..=201).contains(&taken.outcome.len()), "{of}: {} faults", taken.outcome.len());
    }
}

/// The most memory for rows that may be right, as a multiple of the input. The aim was ten and is
/// missed: 5 to 36 were measured (docs/evidence.md), and this bound stops more.
const TIMES_KEPT: u64 = 45;

#[test]
fn the_memory_of_rows_that_are_kept_is_bounded_too() {
    for shape in &shapes::SOUND {
        let target = TARGETS.iter().find(|target| target.name == shape.target).expect(shape.target);
        let bytes = (shape.make)(1 << 20);
        let taken = targets::measure(target, &bytes);
        let bound = TIMES_KEPT * bytes.len() as u64;
        let of = format!("{}, {}", shape.target, shape.name);
        assert!(taken.peak <= bound, "{of}: {} bytes for {}", taken.peak, bytes.len());
    }
}

/// The most address space of a run, in KiB: ten times the largest file that is read, and what the
/// program's libraries reserve at the start.
const MOST_KIB: u64 = 10 * 64 * 1024 + 256 * 1024;

/// A sparse file, which takes no room and no time.
fn sparse(folder: &Folder, name: &str, length: u64) {
    let file = File::options().append(true).create(true).open(folder.path().join(name));
    file.and_then(|file| file.set_len(length)).expect("a sparse file");
}

/// Runs the program with bounded memory; `feed` writes its standard input.
fn bounded(folder: &Folder, args: &str, feed: impl FnOnce(&mut dyn Write)) -> (i32, String) {
    let mut command: Command = folder.command("sh");
    command.args(["-c", &format!("ulimit -v {MOST_KIB} && exec '{PROGRAM}' {args}")]);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("a shell");
    // The program may stop reading before everything is written.
    feed(child.stdin.as_mut().expect("a pipe"));
    drop(child.stdin.take());
    let output = child.wait_with_output().expect("an end");
    let text = String::from_utf8(output.stderr).expect("text");
    (output.status.code().unwrap_or(-1), text)
}

/// Asserts that the program refuses what `feed` writes with these words, in bounded memory, and
/// leaves the book as it was.
#[track_caller]
fn refuses(what: &str, words: &str, feed: impl FnOnce(&mut dyn Write)) {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let (code, text) = bounded(&folder, "import -", feed);
    assert_eq!(code, 3, "{what}: {text}");
    assert!(text.contains(words), "{what}: {text}");
    assert!(text.len() < 50_000, "{what}: {} bytes of message", text.len());
    assert_eq!(folder.bytes(), before, "{what}");
}

/// Writes a piece repeatedly, until `size` bytes are written or the reader stops.
fn pour(head: &str, piece: &[u8], size: usize) -> impl FnOnce(&mut dyn Write) {
    let block = piece.repeat((1 << 20) / piece.len());
    let head = head.to_owned();
    move |out| {
        let mut left = size.saturating_sub(head.len());
        let mut whole = out.write_all(head.as_bytes()).is_ok();
        while whole && left > 0 {
            let next = &block[..block.len().min(left)];
            whole = out.write_all(next).is_ok();
            left -= next.len();
        }
    }
}

const HEADER: &str = "trial,state,spine_mm,fore_edge_mm\n";
const MIB: usize = 1 << 20;

#[cfg(unix)]
#[test]
fn a_file_of_a_gigabyte_is_refused_before_it_is_read() {
    let folder = Folder::with_trial();
    folder.write("one-line.csv", HEADER);
    sparse(&folder, "one-line.csv", 1 << 30);
    for args in ["import one-line.csv", "gauge one-line.csv", "predict --plan one-line.csv"] {
        let (code, text) = bounded(&folder, args, |_| ());
        assert_eq!(code, 3, "{args}: {text}");
        assert!(text.contains("one-line.csv: larger than 64 MiB; split it"), "{args}: {text}");
    }
    for (name, most) in [("readings.csv", 256), ("struck.csv", 256), ("book.toml", 64)] {
        let folder = Folder::with_trial();
        sparse(&folder, name, 1 << 30);
        let (code, text) = bounded(&folder, "audit", |_| ());
        assert_eq!(code, 3, "{name}: {text}");
        assert!(text.contains(&format!("{name}: larger than {most} MiB")), "{text}");
    }
}

#[cfg(unix)]
#[test]
fn a_stream_without_end_is_refused_once_it_is_too_long() {
    refuses("zeros", "larger than 64 MiB", pour("", b"\0", 1 << 30));
    refuses("one line", "larger than 64 MiB", pour("", b"a", 1 << 30));
}

#[cfg(unix)]
#[test]
fn a_large_file_that_is_no_sheet_is_refused_with_the_reason() {
    refuses("columns", "too many columns: 1000000; the limit is 200", pour("", b",", 999_999));
    refuses("columns below a header", "; the limit is 200", pour(HEADER, b",", 60 * MIB));
    refuses("NUL bytes", "NUL bytes", pour(HEADER, b"1,2,\0,4\n", 20 * MIB));
    refuses("UTF-16", "UTF-16", pour("", b"a\0,\0", 20 * MIB));
    refuses("not UTF-8", "byte 0xFF is not UTF-8", pour(HEADER, b"\xff", 20 * MIB));
    refuses("a quote", "opened here and never closed", pour("\"", b"a,b\n", 60 * MIB));
    refuses("tiny rows", "more than 1048576 rows; split", pour(HEADER, b"1\n", 20_000_000));
    refuses("wrong rows", "more faults from here on", pour(HEADER, b"1\n", 2_000_000));
}
