//! What a person at a terminal is asked, answers and sees.

use super::records_tests::surroundings;
use super::{ExitStatus, OsString, Streams, Surroundings, run};
use crate::book::pool_text;
use crate::jobs::beliefs::answer_test_pool::pool;

/// Runs the command line in this process, as a person at a terminal who answers `input`.
pub(super) fn run_in(
    folder: &std::path::Path,
    args: &[&str],
    input: &[u8],
) -> (ExitStatus, String) {
    let (mut input, mut out, mut err) = (input, Vec::new(), Vec::new());
    let streams = Streams { input: &mut input, out: &mut out, err: &mut err };
    let surroundings = Surroundings { terminal: true, unicode: false, ..surroundings(folder) };
    let args = std::iter::once("swellbook").chain(args.iter().copied()).map(OsString::from);
    let status = run(args, streams, surroundings);
    (status, String::from_utf8([out, err].concat()).unwrap())
}

/// What is shown by a command line that ends well.
fn done(folder: &std::path::Path, args: &[&str], input: &str) -> String {
    let (status, text) = run_in(folder, args, input.as_bytes());
    assert_eq!(status, ExitStatus::Done, "{text}");
    text
}

/// A book with two papers and a thread, but no trials.
fn stocked() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for args in [
        &["init", "."][..],
        &["record", "paper", "bond 80", "--caliper=0.1mm", "--hardness=hard"],
        &["record", "paper", "laid", "--caliper=0.15mm", "--hardness=soft"],
        &["record", "thread", "linen 25", "--laid=0.45mm"],
    ] {
        done(dir.path(), &[args, &["--no-input"]].concat(), "");
    }
    dir
}

/// The typed answers to the questions, and the equivalent command line.
#[test]
fn what_a_book_needs_is_asked_for_and_the_whole_line_is_shown() {
    let dir = stocked();
    let asks = |args: &[&str], input: &str| {
        let text = done(dir.path(), args, input);
        let line = text.rsplit_once("without questions: ").map(|(_, line)| line.trim_end());
        (text.clone(), line.map(str::to_owned))
    };
    let (text, line) = asks(&["predict"], "3\n1\nlinen 25\n190 leaves\n\nrounded\n");
    assert!(text.contains("[24 sections]: ") && text.contains("sheets in a section"), "{text}");
    let predicted = "swellbook predict --paper \"bond 80\" --thread \"linen 25\" --leaves 190 \
                     --sheets 4 --target rounded";
    assert_eq!(line.as_deref(), Some(predicted), "{text}");
    // Options already given are not asked for, and Enter leaves the target out.
    let (text, line) =
        asks(&["predict", "--thread=linen 25", "--sheets=3", "--save", "A"], "laid\n20\n\n");
    assert!(text.contains("saved plan A: 20 sections of 3 sheets of laid"), "{text}");
    assert!(line.unwrap().ends_with("--save A --paper laid --sections 20"));
    // A saved plan is chosen by its number; its values are offered as defaults for another book.
    assert_eq!(asks(&["next"], "1\n").1.as_deref(), Some("swellbook next --plan A"));
    let (text, line) = asks(&["plan"], "\n\n12..22\n");
    assert!(text.contains("paper (number or name)\u{1b}[0m [laid]: "), "{text}");
    assert_eq!(line.as_deref(), Some("swellbook plan --paper laid --leaves 192 --target 12..22"));
    let part = "\n\n\n\n\n-2..3\n8\n9.02\n9.05\n\n6.6mm\n\n";
    let line = asks(&["midway", "--sure"], part).1.unwrap();
    let part = "--paper laid --thread \"linen 25\" --sections 20 --sheets 3 --target=-2..3 --sewn 8 \
                --spine \"9.02;9.05\" --fore-edge 6.6";
    assert_eq!(line, format!("swellbook midway --sure {part}"));
    // If nothing is missing, nothing is asked and no command line is shown.
    let (text, line) = asks(&["predict", "--plan=A", "--sheets=4"], "");
    assert!(line.is_none() && !text.contains("number or name"), "{text}");
}

#[test]
fn an_answer_that_is_refused_is_asked_for_again_and_the_others_are_kept() {
    let dir = stocked();
    let plan = ["--paper=laid", "--thread=linen 25", "--sections=20", "--sheets=3"];
    let text = done(
        dir.path(),
        &[&["midway", "--sure"], &plan[..]].concat(),
        "22..12\n12..22\n8\n9.02\n1.34\n\n7.2\n7.3\n\n\n9.05\n\n",
    );
    assert!(text.contains("the low bound 22 % is not below the high bound 12 %"), "{text}");
    assert!(text.contains("--spine: spine 1.34 mm is outside"), "{text}");
    // Enter keeps a reading that was typed before.
    assert!(text.contains(" [9.02]: ") && text.contains(" [1.34]: "), "{text}");
    assert!(
        text.ends_with("--target 12..22 --sewn 8 --fore-edge \"7.2;7.3\" --spine \"9.02;9.05\"\n"),
        "{text}"
    );
    // A name given as an option is refused before anything is asked.
    for (wrong, says) in [
        (
            "--thread=nosuch",
            "--thread: no thread 'nosuch' in the book; it holds linen 25 (a new thread needs --laid or --count)",
        ),
        ("--plan=nosuch", "--plan: no plan 'nosuch' in the book"),
        ("--target=22..12", "--target: the low bound 22 %"),
    ] {
        let (_, text) = run_in(dir.path(), &["midway", wrong], b"");
        assert!(text.contains(says) && !text.contains("number or name"), "{wrong}: {text}");
    }
    // With a size as an option, the paper is a new one.
    let answers = "bond 80\nnew wove\n0.11mm\n\nlinen 25\n20\n\n\n";
    let text = done(dir.path(), &["predict", "--hardness=soft"], answers);
    assert!(text.contains("the book already holds a paper 'bond 80'; take another name"), "{text}");
}

#[test]
fn a_question_about_a_book_is_left_as_any_other() {
    let dir = stocked();
    let leaves = |args: &[&str], input: &str| {
        let (status, text) = run_in(dir.path(), args, input.as_bytes());
        assert_ne!(status, ExitStatus::Done, "{text}");
        assert!(!text.contains("without questions"), "{text}");
        text
    };
    assert!(leaves(&["predict"], "quit\n").contains("stopped; nothing was saved"));
    assert!(leaves(&["plan"], "1\n").contains("the input ended before leaves in the book"));
    let missing = "missing --paper, --thread, --sheets; give them (see `swellbook predict";
    assert!(leaves(&["predict", "--no-input"], "1\n").contains(missing));
    // A line with another fault is refused before any question.
    assert!(leaves(&["predict", "--papr=x"], "1\n").contains("has no option --papr"));
    let empty = tempfile::tempdir().unwrap();
    let (_, text) = run_in(empty.path(), &["predict"], b"");
    assert!(text.contains("book.toml"), "{text}");
    run_in(empty.path(), &["init", ".", "--no-input"], b"");
    let (_, text) = run_in(empty.path(), &["predict"], b"");
    assert!(text.contains("--paper: the book holds no paper yet; record one first"), "{text}");
}

#[test]
fn an_end_of_input_in_a_question_writes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    run_in(dir.path(), &["init", ".", "--no-input"], b"");
    let before = std::fs::read(dir.path().join("targets.csv")).unwrap();
    let (status, text) = run_in(dir.path(), &["record", "target", "limp"], b"12\n2");
    assert_eq!(status, ExitStatus::Failed);
    assert!(text.contains("the input ended before highest swell in per cent was answered"));
    assert_eq!(std::fs::read(dir.path().join("targets.csv")).unwrap(), before);
}

#[test]
fn a_summary_that_is_shown_is_written_only_after_a_yes() {
    let dir = stocked();
    let trial = ["record", "trial", "T1", "--paper=laid", "--thread=linen 25", "--sections=8"];
    let readings = ["record", "readings", "T1", "--state=sewn", "--spine=10.1,10.2"];
    for args in [
        &[&trial[..], &["--sheets=3", "--no-input"]].concat()[..],
        &[&readings[..], &["--fore-edge=7.4,7.4", "--no-input"]].concat(),
    ] {
        done(dir.path(), args, "");
    }
    let file = dir.path().join("s.json");
    let show = ["export", "--summary", "s.json", "--show"];
    for answer in ["\n", "n\n"] {
        let text = done(dir.path(), &show, answer);
        assert!(text.contains("write this to s.json: y or n") && !file.exists(), "{text}");
    }
    let text = done(dir.path(), &show, "y\n");
    let written = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains(&written) && text.contains("wrote what 1 trial"), "{text}");
}

#[test]
fn a_person_who_compares_beliefs_is_asked_before_the_book_starts_from_them() {
    let dir = stocked();
    std::fs::write(dir.path().join("pool.toml"), pool_text(&pool())).unwrap();
    let settings = || std::fs::read(dir.path().join("book.toml")).unwrap();
    let before = settings();
    let compare = ["beliefs", "--from", "pool.toml"];
    for (typed, chosen) in [("no\n", false), ("\n", false), ("perhaps\nyes\n", true)] {
        let text = done(dir.path(), &compare, typed);
        assert!(text.contains("42 benches") && text.contains("yes or no"), "{text}");
        assert_eq!(text.contains("this book now starts from"), chosen, "{text}");
        assert_eq!(settings() != before, chosen, "{typed}");
    }
    let (_, text) = run_in(dir.path(), &["beliefs", "--from", "common-practice"], b"quit\n");
    assert!(text.contains("stopped; nothing was saved"), "{text}");
    assert_ne!(settings(), before);
}
