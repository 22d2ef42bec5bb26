//! Malicious names do no harm, wherever they are entered: not in files that a spreadsheet opens,
//! not in paths, not at a terminal. `markup.rs` covers pages and pictures.

use crate::support::folder::{Folder, put};
use crate::support::hostile_texts::{
    FORMULAS, ODD, Sent, UNSEEN, assert_no_formula, long, sent, sent_with, sheet,
};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use swellbook::terminal::exit::ExitStatus;

/// The place of the text in the arguments below.
const HERE: &str = "HERE";

/// Commands that make an entry with the name.
const NAMED: [&[&str]; 7] = [
    &["record", "paper", "--paper=HERE", "--caliper=0.1mm", "--hardness=hard"],
    &["record", "thread", "--thread=HERE", "--count=lea 25/3"],
    &["record", "target", "--target=HERE", "--low=-5", "--high=10"],
    &["record", "trial", "--trial=HERE", "--paper=p", "--thread=t", "--sections=9", "--sheets=3"],
    &[
        "record",
        "trial",
        "h",
        "--hand=HERE",
        "--paper=p",
        "--thread=t",
        "--sections=9",
        "--sheets=3",
    ],
    &["record", "readings", "T", "--state=sewn", "--place=HERE", "--spine=11", "--fore-edge=8.3"],
    &["predict", "--paper=p", "--thread=t", "--sections=9", "--sheets=3", "--keep=HERE"],
];

/// Commands that take a note.
const NOTED: [&[&str]; 3] = [
    &["record", "paper", "q", "--caliper=0.1mm", "--hardness=hard", "--note=HERE"],
    &["record", "readings", "T", "--state=pressed", "--spine=11", "--fore-edge=8.3", "--note=HERE"],
    &["strike", "paper", "q", "--reason=HERE"],
];

/// Commands that look the text up or cannot use it, so that it comes back in a message.
const ECHOED: [&[&str]; 31] = [
    &["pool", "HERE"],
    &["HERE"],
    &["--HERE"],
    &["-HERE"],
    &["record", "HERE"],
    &["record", "paper", "--caliper=HERE", "--hardness=hard", "n"],
    &["record", "paper", "--caliper=0.1mm", "--hardness=HERE", "n"],
    &["record", "paper", "--caliper=0.1mm", "--hardness=hard", "n", "HERE"],
    &["record", "thread", "n", "--count=HERE"],
    &["record", "readings", "HERE", "--state=sewn", "--spine=11", "--fore-edge=8.3"],
    &["record", "readings", "T", "--state=HERE", "--spine=11", "--fore-edge=8.3"],
    &["record", "readings", "T", "--state=sewn", "--spine=HERE", "--fore-edge=8.3"],
    &["record", "readings", "T", "--taken=HERE", "--state=sewn", "--spine=11", "--fore-edge=8"],
    &["show", "HERE"],
    &["show", "paper", "HERE"],
    &["strike", "paper", "HERE", "--reason=r"],
    &["strike", "HERE", "x", "--reason=r"],
    &["predict", "--paper=HERE", "--thread=t", "--sections=9", "--sheets=3"],
    &["predict", "--paper=p", "--thread=t", "--sections=HERE", "--sheets=3"],
    &["predict", "--paper=p", "--thread=t", "--sections=9", "--sheets=3", "--hand=HERE"],
    &["predict", "--paper=p", "--thread=t", "--sections=9", "--sheets=3", "--target=HERE"],
    &["predict", "--paper=p", "--thread=t", "--sections=9", "--sheets=3", "--guards=HERE"],
    &["predict", "--run=HERE"],
    &["predict", "--run=paper=HERE,thread=t,sections=9,sheets=3"],
    &["plan", "--paper=p", "--leaves=90", "--target=rounded", "--from=HERE"],
    &["report", "--out=-", "--in-mind=HERE"],
    &["fit", "--json", "HERE"],
    &["chart", "HERE", "--out=-"],
    &["import", "no/such/HERE"],
    &["beliefs", "--from=no/such/HERE"],
    &["--book=no/such/HERE", "fit"],
];

/// Commands that create a path.
const MADE: [&[&str]; 4] = [
    &["init", "HERE"],
    &["tour", "book.toml/HERE"],
    &["chart", "factors", "--out=HERE.svg"],
    &["report", "--out=HERE.html"],
];

/// A folder with a book in it, with paper `p`, thread `t` and trial `T`.
fn book() -> (Folder, PathBuf) {
    let folder = Folder::new();
    let dir = folder.path().join("book");
    std::fs::create_dir(&dir).expect("a folder");
    let sewn = ["--paper=p", "--thread=t", "--sections=10", "--sheets=4"];
    for args in [
        &["init", "."][..],
        &["record", "paper", "p", "--caliper=0.1mm", "--hardness=hard"],
        &["record", "thread", "t", "--count=lea 25/3"],
        &[&["record", "trial", "T"][..], &sewn].concat(),
    ] {
        let sent = sent(&dir, args, "");
        assert_eq!(sent.status, ExitStatus::Done, "{}", sent.err);
    }
    (folder, dir)
}

fn through(dir: &Path, door: &[&str], text: &str) -> Sent {
    let args: Vec<String> = door.iter().map(|word| word.replace(HERE, text)).collect();
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    sent(dir, &args, "")
}

/// The files of the book, without the lock.
fn files(folder: &Folder) -> BTreeMap<PathBuf, Vec<u8>> {
    folder.bytes()
}

fn assert_safe_files(folder: &Folder) {
    for (path, bytes) in files(folder) {
        if path.extension().is_some_and(|ending| ending == "csv") && !path.ends_with("sheet.csv") {
            assert_no_formula(std::str::from_utf8(&bytes).expect("UTF-8"), &path);
        }
    }
}

/// Every text, and whether it is allowed as a name.
fn texts() -> Vec<(String, bool)> {
    let refused = FORMULAS.iter().chain(&UNSEEN).map(|text| ((*text).to_owned(), false));
    let odd = ODD.iter().map(|text| ((*text).to_owned(), true));
    refused.chain([(long(), false)]).chain(odd).collect()
}

#[test]
fn a_text_that_is_no_name_makes_no_entry_by_any_way_in() {
    let (folder, dir) = book();
    let before = files(&folder);
    for (text, _) in texts().into_iter().filter(|(_, allowed)| !allowed) {
        for door in NAMED {
            let sent = through(&dir, door, &text);
            assert_eq!(sent.status, ExitStatus::Data, "{door:?} {text:?}: {}", sent.out);
            assert!(sent.out.is_empty(), "{}", sent.out);
        }
        assert_eq!(files(&folder), before, "{text:?}");
        for column in ["trial", "paper", "thread", "hand", "place"] {
            put(&dir.join("sheet.csv"), sheet(column, &text));
            let sent = through(&dir, &["import", "sheet.csv"], "");
            assert_eq!(sent.status, ExitStatus::Data, "{column} {text:?}: {}", sent.out);
            std::fs::remove_file(dir.join("sheet.csv")).unwrap();
        }
        assert_eq!(files(&folder), before, "{text:?}");
    }
}

#[test]
fn an_odd_name_is_taken_as_it_is_and_makes_no_file() {
    let (folder, dir) = book();
    let names = |files: BTreeMap<PathBuf, Vec<u8>>| files.into_keys().collect::<Vec<_>>();
    let before = names(files(&folder));
    for text in ODD {
        for door in NAMED {
            let done = through(&dir, door, text).status == ExitStatus::Done;
            // Trial `h` is there already after the first name, and a comma separates places.
            let again = door.contains(&"h") || door.contains(&"--place=HERE");
            // `--plan` takes a path for a file, so no forecast is kept under it.
            let is_path = ["/", "../", r"..\"].iter().any(|it| text.starts_with(it));
            let refused = is_path && door.contains(&"--keep=HERE");
            assert!(done != refused || again, "{door:?} {text}");
        }
    }
    assert_eq!(names(files(&folder)), before);
    let inside = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(inside, 1, "something was made beside the book");
    assert_safe_files(&folder);
    let papers = std::fs::read(dir.join("papers.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(&papers[..]);
    let kept: Vec<String> = reader.records().map(|row| row.unwrap()[0].to_owned()).collect();
    assert!(ODD.iter().all(|name| kept.iter().any(|paper| paper == name)), "{kept:?}");
}

#[test]
fn no_note_becomes_a_formula() {
    for (text, _) in texts() {
        let (folder, dir) = book();
        for door in NOTED {
            let sent = through(&dir, door, &text);
            let refused = FORMULAS.contains(&text.as_str()) || text.len() > 500;
            let done = sent.status == ExitStatus::Done;
            assert!(!(refused && done), "{door:?} {text:?}");
        }
        put(&dir.join("sheet.csv"), sheet("note", &text));
        through(&dir, &["import", "sheet.csv"], "");
        assert_safe_files(&folder);
    }
}

#[test]
fn nothing_that_comes_back_in_a_message_steers_a_terminal() {
    let (folder, dir) = book();
    for (index, (text, _)) in texts().into_iter().enumerate() {
        for (place, door) in ECHOED.into_iter().enumerate() {
            // Commands that make a fit are slow, so not every text goes through each of them.
            let slow = ["predict", "plan", "report", "fit", "chart"].contains(&door[0]);
            if slow && (index + place) % 6 != 0 {
                continue;
            }
            // Every run checks its output streams.
            let sent = through(&dir, door, &text);
            assert!(sent.status != ExitStatus::Done || sent.out.len() > 40, "{door:?} {text:?}");
        }
        let today = sent_with(&dir, &["fit"], "", None, &text);
        assert_eq!(today.status, ExitStatus::Usage);
        if !text.contains('\0') {
            let lost = sent_with(folder.path(), &["fit"], "", Some(&text), "2026-03-01");
            assert_eq!(lost.status, ExitStatus::Failed);
        }
        // Typed as an answer, the text is refused, and the input ends.
        let asked = sent(&dir, &["record", "target"], &format!("limp\n{text}\n"));
        assert_eq!(asked.status, ExitStatus::Failed);
    }
}

#[test]
fn a_refused_character_is_named_by_its_number() {
    let (_folder, dir) = book();
    let err = through(&dir, NAMED[0], "a\u{202e}b\u{1b}").err;
    let wanted = r"'a\u{202e}b\u{1b}' contains invisible characters (U+202E, U+001B)";
    assert!(err.contains(wanted), "{err}");
    let err = through(&dir, NAMED[0], "a;+1").err;
    assert!(err.contains("or a unit after the number, as in thicker, +0.1 mm"), "{err}");
    let err = through(&dir, NAMED[0], "a;=cmd()").err;
    assert!(
        err.contains("'a;=cmd()' has '=' at its start or after a separator")
            && err.contains("a formula"),
        "{err}"
    );
}

#[test]
fn files_made_by_hand_are_read_or_refused_in_words_that_can_be_shown() {
    for (text, allowed) in texts().into_iter().filter(|(text, _)| !text.contains('\0')) {
        let (folder, dir) = book();
        let toml = toml::Value::from(text.as_str());
        let settings = std::fs::read_to_string(dir.join("book.toml")).unwrap();
        for edited in [
            format!("format = 1\ntitle = {toml}\n"),
            format!("format = 1\n[beliefs.{toml}]\nmean = 1.0\n"),
            format!("format = 1\nunit = {toml}\n"),
            format!("format = 1\n{toml} = 1\n"),
        ] {
            put(&dir.join("book.toml"), &edited);
            through(&dir, if edited.contains("beliefs") { &["fit", "--json"] } else { &[] }, "");
        }
        put(&dir.join("book.toml"), settings);
        let plan = format!(
            "title = {toml}\n[[run]]\npaper = {toml}\nthread = {toml}\nsheets = {toml}\n{toml} = \
             1\n"
        );
        put(&dir.join("plan.toml"), plan);
        through(&dir, &["predict", "--plan=plan.toml"], "");
        let row = format!("\"{}\",,0.1,hard,\n", text.replace('"', "\"\""));
        let papers = std::fs::read_to_string(dir.join("papers.csv")).unwrap() + &row;
        put(&dir.join("papers.csv"), &papers);
        let done = through(&dir, &["audit"], "").status == ExitStatus::Done;
        assert_eq!(done, allowed, "{text:?}");
        let header = papers.replacen("note", &format!("\"{}\"", text.replace('"', "\"\"")), 1);
        put(&dir.join("papers.csv"), header);
        through(&dir, &["audit"], "");
        drop(folder);
    }
}

/// Texts that are safe alone stay safe beside others in a row, and as names in an id.
#[test]
fn texts_side_by_side_make_no_formula() {
    let (folder, dir) = book();
    let call = "5-cmd|' /C calc'!A0";
    let sewn = ["--paper=p", "--thread=t", "--sections=9", "--sheets=3"];
    for (index, hand) in ["h;+1", "h;+1 mm", "h;+1%", "h;+1;k", "h;-.5"].iter().enumerate() {
        let (trial, hand) = (format!("N{index}"), format!("--hand={hand}"));
        let note = format!("--note={call};z");
        sent(&dir, &[&["record", "trial", &trial, &hand, &note][..], &sewn].concat(), "");
    }
    for name in ["x;+1", "x;+1 mm", "x;+1%", "x;-1;y"] {
        sent(&dir, &[&["record", "trial", name][..], &sewn].concat(), "");
        sent(&dir, &["record", "target", name, "12..22"], "");
        let kept = format!("--keep={name}");
        let target = format!("--target={name}");
        sent(&dir, &[&["predict", &target, &kept][..], &sewn].concat(), "");
        let place = format!("--place={}", &call[2..]);
        let readings = ["record", "readings", name, "--state=sewn", "--spine=11", "--fore-edge=8"];
        sent(&dir, &[&readings[..], &[&place]].concat(), "");
        sent(&dir, &["strike", "trial", name, "--reason=r"], "");
    }
    assert!(std::fs::read_to_string(dir.join("struck.csv")).unwrap().contains("cmd|"));
    assert_safe_files(&folder);
}

/// A note that a person wrote by hand is kept.
#[test]
fn a_note_written_by_hand_is_left_as_it_is() {
    let (_folder, dir) = book();
    let papers = std::fs::read_to_string(dir.join("papers.csv")).unwrap();
    let edited = papers.trim_end().to_owned() + "=1+1\n";
    put(&dir.join("papers.csv"), &edited);
    let door = &["record", "paper", "q", "--caliper=0.1mm", "--hardness=hard"];
    assert_eq!(through(&dir, door, "").status, ExitStatus::Done);
    assert!(std::fs::read_to_string(dir.join("papers.csv")).unwrap().starts_with(&edited));
}

#[cfg(unix)]
#[test]
fn a_path_is_made_where_it_says_and_shown_not_sent() {
    for (text, _) in texts().into_iter().filter(|(text, _)| !text.contains(['/', '\0', '~'])) {
        let (folder, dir) = book();
        for door in MADE {
            let sent = through(&dir, door, &text);
            let failed = sent.status != ExitStatus::Done;
            let impossible = text.len() > 255 || door[0] == "tour";
            assert!(
                !failed || impossible || text.starts_with('-'),
                "{door:?} {text:?} {}",
                sent.err
            );
            if door[0] == "init" && !failed {
                assert_eq!(sent.out.lines().count(), 1, "{}", sent.out);
                through(&dir, &["--book=HERE", "record", "target", "x", "1..2"], &text);
            }
        }
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        let known = ["csv", "toml", "lock", "journal", "digests", ".gitignore"];
        for entry in std::fs::read_dir(&dir).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let own = known.iter().any(|ending| name.ends_with(ending));
            let made = [text.clone(), format!("{text}.svg"), format!("{text}.html")];
            assert!(own || made.contains(&name), "{name:?} for {text:?}");
        }
    }
}
