//! A summary has what the readings say and nothing that could identify anybody. A summary from a
//! stranger must stay within what a bench can say.

use crate::support::folder::{Folder, Run};
use crate::support::{assert_contains, numbers_in};
use serde_json::Value;
use swellbook::book::{read_summary_file, summary_text};
use swellbook::jobs::export::answer_summary::{learnt_of, read_summary, summarised};

/// An invented sheet. A summary must not contain any of its texts.
const SHEET: &str = "\
trial,date,hand,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,state,place,spine_mm,fore_edge_mm,note
Zephyrtrial,2026-01-17,Ottoline,Quincepaper,hard,0.12,Vermilionthread,0.5,10,3,sewn,Headband,11.2,7.6,Wistful remark
Zephyrtrial,2026-01-17,Ottoline,Quincepaper,hard,0.12,Vermilionthread,0.5,10,3,sewn,Tailband,11.3,7.65,
Zephyrtrial,2026-01-17,Ottoline,Quincepaper,hard,0.12,Vermilionthread,0.5,10,3,knocked,Headband,10.4,7.6,
Zephyrtrial,2026-01-17,Ottoline,Quincepaper,hard,0.12,Vermilionthread,0.5,10,3,knocked,Tailband,10.5,7.6,
";

/// The texts of [`SHEET`], each with its replacement in another book.
const TELLING: [(&str, &str); 9] = [
    ("Zephyrtrial", "T1"),
    ("2026-01-17", "2024-12-24"),
    ("Ottoline", "Ann"),
    ("Quincepaper", "bond"),
    ("Vermilionthread", "linen"),
    ("Headband", "1"),
    ("Tailband", "2"),
    ("Wistful remark", ""),
    ("Bindery Umbra", "Another"),
];

fn book(title: &str, sheet: &str) -> Folder {
    let folder = Folder::new();
    folder.run(&["init", ".", "--title", title]).ends(0);
    folder.write("sheet.csv", sheet);
    folder.run(&["import", "sheet.csv"]).ends(0);
    folder
}

fn umbra() -> Folder {
    book("Bindery Umbra", SHEET)
}

fn export(folder: &Folder, rest: &[&str]) -> Run {
    folder.run(&[&["export", "--summary"], rest].concat())
}

#[test]
fn a_summary_names_nobody() {
    let folder = umbra();
    let run = export(&folder, &["s.json"]).ends(0);
    assert!(run.out.contains("wrote what 1 trial on 1 paper showed"), "{}", run.out);
    assert!(run.err.contains("it has no names"), "{}", run.err);
    let text = folder.read("s.json");
    for (own, _) in TELLING {
        assert!(folder.bytes().values().any(|bytes| String::from_utf8_lossy(bytes).contains(own)));
        assert!(!text.to_lowercase().contains(&own.to_lowercase()), "{own} in {text}");
    }
    let numbers = numbers_in(&serde_json::from_str(&text).expect("JSON"));
    assert!(numbers.len() > 200);
    for measured in [11.2, 11.3, 10.4, 10.5, 7.6, 7.65] {
        assert!(!numbers.contains(&measured), "{measured} in {text}");
    }
}

#[test]
fn books_that_differ_in_names_notes_and_dates_give_the_same_bytes() {
    let other = |text: &str| {
        TELLING.iter().fold(text.to_owned(), |text, (own, other)| text.replace(own, other))
    };
    let (one, two) = (umbra(), book(&other("Bindery Umbra"), &other(SHEET)));
    two.run(&["record", "target", "secret", "2..10"]).ends(0);
    let of = |folder: &Folder| export(folder, &["-"]).ends(0).out;
    assert_eq!(of(&one), of(&two));
    assert_eq!(of(&one), of(&one));
}

#[test]
fn what_a_bench_believes_leaves_no_trace() {
    let folder = umbra();
    let plain = export(&folder, &["-"]).ends(0).out;
    let settings = folder.read("book.toml");
    for own in ["[beliefs.factor]\nmean = 0.9\nsd = 0.03\n", "[spreads]\npaper = 0.005\n"] {
        folder.write("book.toml", format!("{settings}\n{own}"));
        assert_eq!(export(&folder, &["-"]).ends(0).out, plain);
    }
}

#[test]
fn a_summary_says_what_it_is_and_reads_back() {
    let folder = umbra();
    export(&folder, &["s.json"]).ends(0);
    let text = folder.read("s.json");
    assert_eq!(text, export(&folder, &["-"]).ends(0).out);
    let json: Value = serde_json::from_str(&text).expect("JSON");
    let what = json["what"].as_str().expect("words");
    assert!(text.starts_with("{\n  \"what\":") && what.contains("no names, notes, dates, hands"));
    assert_eq!(json["format"], 1);
    assert_eq!(json["counts"]["by_state"]["knocked"], 1);
    let (file, learnt) = read_summary(text.as_bytes(), "s.json").expect("a summary");
    assert_eq!(summary_text(&file), text);
    assert_eq!(learnt, learnt_of(&file).expect("sound"));
    // The way through the file and back keeps every bit.
    let all = swellbook::book::Book::open(folder.path()).expect("the book");
    let all = swellbook::observe::observe(&all).expect("observed");
    assert_eq!(summarised(&learnt, &all), file);
    // Its own file is replaced, another file only when asked.
    export(&folder, &["s.json"]).ends(0);
    folder.write("other.json", "{\"what\": \"mine\"}");
    export(&folder, &["other.json"]).ends(3).complains_of(&["--summary", "--replace"]);
    export(&folder, &["other.json", "--replace"]).ends(0);
    export(&folder, &["s.txt"]).ends(3).complains_of(&["--summary: ", ".json"]);
    folder.run(&["export", "--summary", "s.json", "--format", "csv"]).ends(2);
}

#[test]
fn a_summary_shown_first_is_whole_and_in_words_and_nothing_is_written() {
    let folder = umbra();
    let before = folder.bytes();
    let run = export(&folder, &["s.json", "--show"]).ends(0);
    let parts =
        ["1 hard", "1 knocked down", "It does not say", "notes; dates; titles", "nothing on"];
    assert_contains(&run.out, &parts);
    let text = export(&folder, &["-"]).ends(0).out;
    assert!(run.out.ends_with(&text), "{}", run.out);
    assert!(run.err.contains("nothing was written"), "{}", run.err);
    assert_eq!(folder.bytes(), before);
}

#[test]
fn without_a_swell_there_is_nothing_to_share() {
    let folder = Folder::with_trial();
    let before = folder.bytes();
    let spine = ["record", "readings", "T1", "--state", "sewn", "--spine", "11.0,11.1"];
    export(&folder, &["s.json"]).ends(4).complains_of(&["both edges", "record readings"]);
    assert_eq!(folder.bytes(), before);
    folder.run(&spine).ends(0);
    export(&folder, &["s.json"]).ends(4);
}

/// A change to the sound summary, and the words of the refusal.
const DOCTORED: [(&str, &str, &str); 16] = [
    ("\"format\": 1", "\"format\": 7", "a newer swellbook"),
    ("\"weighted\"", "\"wieghted\"", "s.json:20, column 12: unknown field"),
    ("\"weighted\"", "\"format\": 1,\n  \"weighted\"", "duplicate field"),
    ("\"depth\"", "\"girth\"", "coefficients: 'girth' is not known"),
    ("\"depth\"", "\"factor\"", "coefficients: 'factor' is given twice"),
    ("\"depth\",", "", "information: 11 rows, expected 10"),
    ("\"stage\"", "\"s\u{202e}age\"", "spreads: 's\\u{202e}age' is not known"),
    ("\"spreads_at\": [0.0,0.005", "\"spreads_at\": [0.0,0.006", "spreads_at: expected"),
    ("\"trials\":1", "\"trials\":2", "counts: "),
    ("\"hard\":1", "\"hard\":18446744073709551615", "counts: by_hardness"),
    ("\"hard\":1", "\"hard\":-1", "invalid value"),
    ("\"sd_mm\":0.0", "\"sd_mm\":-0.0", "repeatability, sd_mm"),
    ("\"weighted\": [", "\"weighted\": [1e999,", "number out of range"),
    ("\"weighted\": [", "\"weighted\": [NaN,", "expected value"),
    ("\"weighted\": [", "\"weighted\": [7.0,", "weighted: 12 numbers, expected 11"),
    ("\"information\": [\n    [", "\"information\": [\n    [-", "positive semidefinite"),
];

fn message(text: &str) -> String {
    let error = read_summary(text.as_bytes(), "s.json").err();
    error.unwrap_or_else(|| panic!("taken: {text}")).to_string()
}

#[test]
fn a_doctored_summary_is_refused_with_its_place() {
    let text = export(&umbra(), &["-"]).ends(0).out;
    for (old, new, words) in DOCTORED {
        assert!(text.contains(old), "{old}");
        let found = message(&text.replacen(old, new, 1));
        assert!(found.starts_with("s.json") && found.contains(words), "{new}: {found}");
    }
}

/// Numbers that are each possible alone, but impossible together.
#[test]
fn a_summary_that_no_readings_can_give_is_refused() {
    let text = export(&umbra(), &["-"]).ends(0).out;
    let sound = read_summary_file(text.as_bytes(), "s.json").expect("a summary");
    let refused = |change: &dyn Fn(&mut swellbook::book::SummaryFile), words: &str| {
        let mut file = sound.clone();
        change(&mut file);
        let found = message(&summary_text(&file));
        assert!(found.contains(words), "{words}: {found}");
    };
    // The boned coefficient, about which the book says nothing.
    let boned = 3;
    refused(&|file| file.weighted[boned] = 1e4, "standard deviations away");
    refused(&|file| file.information[boned][boned] = 1e10, "observations give at most");
    refused(&|file| file.information[boned][0] = 1.0, "positive semidefinite");
    refused(&|file| file.log_likelihood[0][0] = 0.5, "expected 0");
    refused(&|file| file.log_likelihood[1] = vec![-1.0; 17], "the greatest of 'paper_knocked'");
    refused(&|file| drop(file.log_likelihood.pop()), "log_likelihood: 6 rows, expected 7");
    refused(&|file| file.information[4].push(0.0), "information: row 5: 6 numbers, expected 5");
    // A flat likelihood says nothing about the spreads, and is sound.
    let mut less = sound.clone();
    less.log_likelihood = vec![vec![0.0; 17]; 7];
    read_summary(summary_text(&less).as_bytes(), "s.json").expect("a summary");
}

#[test]
fn depth_length_and_rubbish_are_refused_and_never_panic() {
    let text = export(&umbra(), &["-"]).ends(0).out;
    let deep = "[".repeat(30_000);
    for bad in [
        deep.clone(),
        text.replacen("\"weighted\": [", &format!("\"weighted\": [{deep}"), 1),
        text.replacen("\"what\": \"", &format!("\"what\": \"{}", "x".repeat(70_000)), 1),
        text.replacen("\"depth\"", &format!("\"{}\"", "x".repeat(40_000)), 1),
        text.replacen("\"weighted\": [", &format!("\"weighted\": [{}", "0,".repeat(20_000)), 1),
        text[..text.len() / 2].to_owned(),
        "null".to_owned(),
        String::new(),
    ] {
        let found = message(&bad);
        assert!(found.starts_with("s.json") && found.len() < 1500, "{found}");
    }
    assert!(read_summary(b"\xff\xfe{\0}", "s.json").is_err());
    // The members may be in any order.
    let json: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(
        read_summary(json.to_string().as_bytes(), "s").expect("sound").0,
        read_summary(text.as_bytes(), "s").expect("sound").0
    );
}
