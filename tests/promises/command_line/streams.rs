//! Closed or full streams: messages decide nothing, and a result that cannot be written never hides
//! that the book was changed.
#![cfg(target_os = "linux")]

use crate::support::folder::{Files, Folder, PROGRAM, SEWING, SEWN, surroundings, trial};
use crate::support::kept::kept;
use crate::support::{one_line, repository_text};
use std::ffi::OsString;
use std::fs::OpenOptions;
use std::io::{BufReader, Read, Write};
use std::process::Stdio;
use std::sync::LazyLock;
use swellbook::terminal::exit::ExitStatus;
use swellbook::terminal::session::{Streams, Surroundings};

/// The condition of a stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stream {
    Read,
    Full,
    Closed,
}

impl Stream {
    fn stdio(self) -> Stdio {
        match self {
            Self::Read => Stdio::piped(),
            Self::Full => OpenOptions::new().write(true).open("/dev/full").unwrap().into(),
            Self::Closed => std::io::pipe().unwrap().1.into(),
        }
    }
}

/// How a run with these streams ended, and its output on the streams that were read.
fn run(folder: &Folder, args: &[&str], out: Stream, err: Stream) -> (i32, String, String) {
    let mut command = folder.command(PROGRAM);
    command.args(args).stdin(Stdio::null()).stdout(out.stdio()).stderr(err.stdio());
    let output = command.output().expect("the program runs");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    (output.status.code().expect("an exit code"), text(output.stdout), text(output.stderr))
}

const SHEET: &str = "\
trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,place,spine_mm,fore_edge_mm
S1,2026-03-01,wove,hard,0.1,flax,0.46,10,4,sewn,1,11.0,8.0
";

/// A planned book, and the option after which the name of its forecast comes.
const KEEP: [&[&str]; 2] = [&SEWING, &["--keep"]];
const TWO: [&str; 4] = ["--spine", "11.0,11.1", "--fore-edge", "8.0,8.1"];
const QUESTION: [&str; 8] =
    ["plan", "--paper", "bond 80", "--leaves", "80", "--target", "rounded", "--keep"];

/// Every command that changes a book, and words of its report.
fn deeds() -> Vec<(Vec<&'static str>, &'static str)> {
    let with = |before: &[&'static str], behind: &[&'static str]| [before, behind].concat();
    let predict = with(&["predict"], &KEEP.concat());
    vec![
        (vec!["init", "new"], "made a new book in new"),
        (vec!["record", "paper", "wove", "--stack=10", "--reading=1.2mm"], "strike paper wove"),
        (vec!["record", "thread", "flax", "--laid", "0.46"], "strike thread flax"),
        (vec!["record", "target", "limp", "2..10"], "strike target limp"),
        (trial("T2"), "strike trial T2"),
        (with(&SEWN, &TWO), "strike reading T1/sewn/3 T1/sewn/4"),
        (vec!["import", "sheet.csv"], "to undo: swellbook undo"),
        (vec!["import", "sheet.csv", "--json"], "to undo: swellbook undo"),
        (vec!["strike", "trial", "T1", "--reason", "the wrong thread"], "struck trial T1"),
        (with(&predict, &["ledger"]), "strike forecast ledger"),
        (with(&predict, &["ledger", "--json"]), "strike forecast ledger"),
        (with(&QUESTION, &["ledger"]), "strike forecast ledger"),
        (with(&QUESTION, &["ledger", "--json"]), "strike forecast ledger"),
        (with(&QUESTION, &["ledger", "--choice", "1"]), "strike forecast ledger"),
        (vec!["audit", "--accept"], "accepted: targets.csv"),
    ]
}

/// A book with messages when it is opened and when it is written to: the last line of papers.csv is
/// cut off, and targets.csv was edited.
fn talkative() -> Folder {
    static BOOK: LazyLock<Files> = LazyLock::new(|| {
        let folder = Folder::with_trial();
        folder.measure("T1", "sewn", "10.9,11.2", "8.0,8.05");
        folder.write("sheet.csv", SHEET);
        folder.write("papers.csv", format!("{}Birch laid,,0.13,me", folder.read("papers.csv")));
        folder.write("targets.csv", format!("{}mine,1,2,\n", folder.read("targets.csv")));
        folder.holds()
    });
    Folder::with(&BOOK)
}

/// The contents of a book, of the one that `init` makes in it, and of the list of digests.
fn holding(folder: &Folder) -> Vec<String> {
    let mut lines = kept(folder.path());
    if folder.path().join("new/book.toml").exists() {
        lines.extend(kept(&folder.path().join("new")));
    }
    // The title of each book is the name of its folder, so the digests of book.toml differ.
    let digests = folder.read("book.digests");
    lines.extend(digests.lines().filter(|it| !it.starts_with("book.toml,")).map(str::to_owned));
    lines
}

#[test]
fn a_command_that_writes_does_its_work_whoever_reads_its_messages() {
    for (args, _) in deeds() {
        let healthy = talkative();
        let before = holding(&healthy);
        let (code, result, _) = run(&healthy, &args, Stream::Read, Stream::Read);
        assert_eq!(code, 0, "{args:?}");
        assert_ne!(holding(&healthy), before, "{args:?}");
        for err in [Stream::Full, Stream::Closed] {
            let folder = talkative();
            let (code, out, _) = run(&folder, &args, Stream::Read, err);
            assert_eq!((code, out), (0, result.clone()), "{args:?} with standard error {err:?}");
            assert_eq!(holding(&folder), holding(&healthy), "{args:?}");
        }
    }
}

#[test]
fn a_change_whose_result_cannot_be_written_is_reported_as_kept() {
    for (args, named) in deeds() {
        let healthy = talkative();
        run(&healthy, &args, Stream::Read, Stream::Read);
        for (out, expected) in [(Stream::Full, 7), (Stream::Closed, 0)] {
            let folder = talkative();
            let (code, _, err) = run(&folder, &args, out, Stream::Read);
            assert_eq!(code, expected, "{args:?} with standard output {out:?}: {err}");
            assert_eq!(holding(&folder), holding(&healthy), "{args:?}");
            assert!(err.contains(named), "{args:?}: {err}");
            assert_eq!(err.contains("do not repeat the command"), out == Stream::Full, "{err}");
            assert_eq!(err.contains("error: "), out == Stream::Full, "{err}");
            let folder = talkative();
            assert_eq!(run(&folder, &args, out, Stream::Full).0, expected, "{args:?}");
            assert_eq!(holding(&folder), holding(&healthy), "{args:?}");
        }
    }
}

#[test]
fn a_command_that_changed_nothing_says_so_as_before() {
    let folder = talkative();
    folder.run(&["import", "sheet.csv"]).ends(0);
    let before = folder.bytes();
    let predict = [&["predict"], &SEWING[..]].concat();
    let reading =
        [vec!["audit"], predict, vec!["import", "sheet.csv"], vec![], vec!["fit"], vec!["--help"]];
    for args in reading {
        let (code, _, err) = run(&folder, &args, Stream::Full, Stream::Read);
        assert_eq!(code, 1, "{args:?}: {err}");
        assert!(err.contains("the result cannot be written: No space left"), "{args:?}: {err}");
        assert!(!err.contains("do not repeat"), "{args:?}: {err}");
        assert_eq!(run(&folder, &args, Stream::Closed, Stream::Read).0, 0, "{args:?}");
        assert_eq!(run(&folder, &args, Stream::Read, Stream::Closed).0, 0, "{args:?}");
    }
    assert_eq!(folder.bytes(), before);
}

#[test]
fn an_audit_ends_with_its_verdict_even_if_nobody_reads_it() {
    let folder = Folder::with_trial();
    let strict = ["audit", "--strict"];
    assert_eq!(run(&folder, &strict, Stream::Closed, Stream::Read).0, 0);
    for _ in 0..2 {
        folder.run(&[&SEWN[..], &TWO].concat()).ends(0);
    }
    let broken = Folder::with_trial();
    broken.write("papers.csv", broken.read("papers.csv") + "bad,,9,hard,me\n");
    for (folder, args) in
        [(&folder, &strict[..]), (&broken, &["audit"]), (&broken, &["audit", "--json"])]
    {
        for (out, expected) in [(Stream::Read, 3), (Stream::Closed, 3), (Stream::Full, 1)] {
            let (code, _, err) = run(folder, args, out, Stream::Read);
            assert_eq!(code, expected, "{args:?} with {out:?}: {err}");
        }
    }
}

/// A picture or a page is written, even if that cannot be reported.
#[test]
fn a_file_that_was_made_is_reported_as_made() {
    for (args, name) in [(&["chart", "factors"][..], "f.svg"), (&["report"], "r.html")] {
        for (out, expected) in [(Stream::Full, 7), (Stream::Closed, 0)] {
            let folder = talkative();
            let (code, _, err) =
                run(&folder, &[args, &["--out", name]].concat(), out, Stream::Read);
            assert_eq!(code, expected, "{args:?} with standard output {out:?}: {err}");
            assert!(folder.path().join(name).exists());
            let said = err.contains(&format!(
                ": {name}
"
            )) && err.contains("done and saved");
            assert!(said, "{err}");
        }
    }
}

#[test]
fn a_failure_keeps_its_code_whoever_reads_its_message() {
    let failing = [
        (vec!["recrod"], 2),
        (vec!["record", "readings", "T1"], 2),
        (vec!["record", "target", "rounded", "1..2"], 3),
        (vec!["record", "readings", "T1", "--state=sewn", "--spine=99"], 3),
        (vec!["--book", "nowhere", "fit"], 1),
        (vec!["--book", "nowhere", "record", "target", "limp", "2..10"], 1),
        (vec!["strike", "trial", "T9", "--reason", "none"], 3),
        (vec!["fit", "--compare"], 4),
    ];
    let folder = talkative();
    for (args, expected) in failing {
        for err in [Stream::Read, Stream::Full, Stream::Closed] {
            for out in [Stream::Read, Stream::Full, Stream::Closed] {
                let (code, said, _) = run(&folder, &args, out, err);
                assert_eq!(code, expected, "{args:?} with {out:?} and {err:?}");
                assert!(said.is_empty(), "{args:?}: {said}");
            }
        }
    }
}

/// Every fault of a command is found before anything is kept.
#[test]
fn a_plan_that_cannot_be_shown_is_not_kept() {
    let folder = talkative();
    for more in [["--top", "none"], ["--from", "thread=silk,sheets=4"], ["--choice", "9999"]] {
        folder.run(&[&QUESTION[..], &["ledger"], &more].concat()).ends(3);
        assert!(!folder.read("forecasts.csv").contains("ledger"), "{more:?}");
    }
}

#[test]
fn a_tour_is_whole_even_if_nobody_reads_it_and_not_begun_if_it_cannot_be_written() {
    let folder = Folder::new();
    let (code, _, err) = run(&folder, &["tour", "demo"], Stream::Closed, Stream::Read);
    assert_eq!(code, 0, "{err}");
    assert!(err.contains("note: ") && err.contains("to undo: remove the folder"), "{err}");
    let whole = Folder::toured();
    assert_eq!(kept(&folder.path().join("demo")), kept(&whole.path().join("tour")));
    assert!(folder.path().join("demo/card.html").exists());
    let full = Folder::new();
    let (code, _, err) = run(&full, &["tour", "demo"], Stream::Full, Stream::Read);
    assert_eq!((code, full.path().join("demo").exists()), (1, false), "{err}");
}

/// A stream that takes this many messages and then fails.
struct Short(usize, Vec<u8>);

impl Write for Short {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0 = self.0.checked_sub(1).ok_or(std::io::ErrorKind::StorageFull)?;
        self.1.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// A keyboard that types these bytes and then fails.
struct Unplugged<'t>(&'t [u8]);

impl Read for Unplugged<'_> {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        match self.0.read(room)? {
            0 => Err(std::io::Error::other("unplugged")),
            read => Ok(read),
        }
    }
}

/// A run at a terminal with these streams.
fn at_terminal(folder: &Folder, args: &[&str], streams: Streams) -> ExitStatus {
    let surroundings = surroundings(folder.path().to_owned());
    let surroundings = Surroundings { terminal: true, unicode: false, ..surroundings };
    let args = std::iter::once("swellbook").chain(args.iter().copied()).map(OsString::from);
    swellbook::commands::run(args, streams, surroundings)
}

/// A tour whose output becomes full on the way, as a file on a disk may.
#[test]
fn a_tour_that_cannot_go_on_says_that_its_folder_is_there() {
    for (takes, expected) in [(0, ExitStatus::Failed), (2, ExitStatus::Kept), (3, ExitStatus::Kept)]
    {
        let folder = Folder::new();
        let (mut out, mut err) = (Short(takes, Vec::new()), Vec::new());
        let streams = Streams { input: &mut &b""[..], out: &mut out, err: &mut err };
        let code = at_terminal(&folder, &["tour", "demo"], streams);
        let err = String::from_utf8(err).unwrap();
        assert_eq!(code, expected, "{takes}: {err}");
        assert_eq!(folder.path().join("demo/book.toml").exists(), takes > 0, "{takes}");
        let told = err.contains("so do not repeat the command: made a") && err.contains("demo");
        assert_eq!(told, takes > 0, "{takes}: {err}");
    }
}

#[test]
fn a_question_that_cannot_be_shown_is_not_asked() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let asking: [&[&str]; 5] = [
        &["record", "paper", "wove"],
        &["record", "trial"],
        &["record", "readings"],
        &SEWN,
        &["strike", "trial"],
    ];
    for args in asking {
        // The input never ends, so a question that is repeated would never end either.
        let mut typed = BufReader::new(std::io::repeat(b'\n'));
        let (mut out, mut err) = (Vec::new(), Short(0, Vec::new()));
        let streams = Streams { input: &mut typed, out: &mut out, err: &mut err };
        let code = at_terminal(&folder, args, streams);
        assert_eq!((code, out), (ExitStatus::Usage, Vec::new()), "{args:?}");
    }
    assert_eq!(folder.bytes(), before);
}

#[test]
fn a_bench_whose_prompts_vanish_keeps_what_was_taken_and_says_which() {
    let folder = Folder::with_trial();
    // Room for the introduction, two prompts and the answer between them. One reading is confirmed,
    // and the next one still has its prompt.
    let mut err = Short(4, Vec::new());
    let mut typed = &b"11.0\n11.1\n11.2\n11.3\ndone\n8.0\n"[..];
    let mut out = Vec::new();
    let streams = Streams { input: &mut typed, out: &mut out, err: &mut err };
    let code = at_terminal(&folder, &SEWN, streams);
    let out = String::from_utf8(out).unwrap();
    assert!(out.starts_with("recorded 2 readings of T1, as sewn, at 1, 2 "), "{out}");
    assert_eq!(code, ExitStatus::Done);
    assert_eq!(typed, b"11.2\n11.3\ndone\n8.0\n", "nothing is taken without its prompt");
}

#[test]
fn an_unreadable_input_is_reported_as_such() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    for (args, typed) in [(&["record", "paper", "wove"][..], "80\n"), (&SEWN, "11.0\n11.1\n")] {
        let mut err = Vec::new();
        let mut input = BufReader::new(Unplugged(typed.as_bytes()));
        let mut out = Vec::new();
        let streams = Streams { input: &mut input, out: &mut out, err: &mut err };
        let code = at_terminal(&folder, args, streams);
        let err = String::from_utf8(err).unwrap();
        assert_eq!((code, out), (ExitStatus::Failed, Vec::new()), "{err}");
        assert!(err.contains("standard input cannot be read: unplugged"), "{err}");
        assert!(!err.contains("written: "), "{err}");
        // The readings can be copied from the screen.
        let shown = err.contains("T1,sewn,1,11,\n  T1,sewn,2,11.1,\n");
        assert_eq!(shown, args == SEWN, "{err}");
    }
    let mut import = folder.command(PROGRAM);
    import.args(["import", "-"]).stdin(std::fs::File::open(folder.path()).unwrap());
    let err = String::from_utf8(import.output().unwrap().stderr).unwrap();
    assert!(err.starts_with("error: standard input: "), "{err}");
    assert_eq!(folder.bytes(), before);
}

#[test]
fn the_exit_codes_are_on_every_page_that_lists_them() {
    let help = Folder::new().run(&["--help"]).ends(0).out;
    let pages = ["README.md", "docs/reference/commands.md", "docs/how-to/use-from-scripts.md"];
    for page in pages {
        assert!(one_line(&repository_text(page)).contains("do not repeat the command"), "{page}");
    }
    assert!(help.contains("7 done and saved"), "{help}");
}
