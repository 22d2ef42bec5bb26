//! Entries that look wrong are questioned while the block is still in hand. A terminal asks before
//! writing, a script gets a note, and an import gets a list. An audit reports the same in the same
//! words. A new case is a new row of one of the tables.
#![cfg(unix)]

use crate::support::folder::{Folder, Run, words};
use crate::support::terminal::Terminal;
use crate::support::{assert_contains, one_line};
use serde_json::Value;

/// Every test runs on 2026-03-01.
const BOOK: [&str; 5] = [
    "init .",
    "record paper bond --caliper 0.1mm",
    "record thread lin --laid 0.55mm",
    "record target rb 20..30",
    "record trial T1 --date 2026-02-01 --sections 10 --sheets 4 --paper bond --thread lin",
];
const INCHES: [&str; 4] = [
    "init . --unit in",
    "record paper bond --caliper 0.004",
    "record thread lin --laid 0.022",
    "record trial T1 --date 2026-02-01 --sections 10 --sheets 4 --paper bond --thread lin",
];
const SEWN: &str = "record readings T1 --state sewn --spine 11.0,11.1 --fore-edge 8.0,8.05";
const T2_OF_THE_SAME_DAY: &str =
    "record trial T2 --date 2026-02-01 --sections 10 --sheets 4 --paper bond --thread lin";
const T2: &str = "record trial T2 --sections 10 --sheets 4 --paper bond --thread lin";

/// An entry, the commands before it, the question or note about it, and the start of the line that
/// is kept.
struct Row {
    book: &'static [&'static str],
    before: &'static [&'static str],
    entered: &'static str,
    says: &'static str,
    kept: &'static str,
}

const fn row(entered: &'static str, says: &'static str, kept: &'static str) -> Row {
    Row { book: &BOOK, before: &[], entered, says, kept }
}

const fn after(before: &'static [&'static str], row: Row) -> Row {
    Row { before, ..row }
}

const ROWS: &[Row] = &[
    row(
        "record readings T1 --state sewn --spine 8.0,8.1 --fore-edge 11.0,11.1",
        "T1 as sewn: place 1 has a spine of 8 mm, thinner than its fore-edge of 11 mm with thread in the folds; were the two exchanged?",
        "T1,sewn,1,8,11,",
    ),
    row(
        "record readings T1 --state sewn --spine 11.0,8.1,11.1 --fore-edge 8.0,11.1,8.05",
        "T1 as sewn: place 2 has a spine of 8.1 mm, thinner than its fore-edge of 11.1 mm",
        "T1,sewn,2,8.1,11.1,",
    ),
    Row {
        book: &INCHES,
        ..row(
            "record readings T1 --state sewn --spine 0.32,0.33 --fore-edge 0.43,0.44",
            "place 1 has a spine of 0.32 in, thinner than its fore-edge of 0.43 in",
            "T1,sewn,1,8.128,10.922,",
        )
    },
    row(
        "record readings T1 --state sewn --spine 8.0,8.1,8.1 --fore-edge 11.0,11.1",
        "T1 as sewn: a spine of 8.1 mm, thinner than its fore-edge of 11.05 mm",
        "T1,sewn,1,8,,",
    ),
    row(
        "record readings T1 --state sewn --spine 11.0,11.02,13.05 --fore-edge 8.0,8.04,8.05",
        "T1 as sewn: place 3 has a spine of 13.05 mm, far from the others' 11.01 mm; measure it again",
        "T1,sewn,3,13.05,8.05,",
    ),
    row(
        "record readings T1 --state sewn --spine 11.0,14.0 --fore-edge 8.0,8.04",
        "T1 as sewn: places 1 and 2 have a spine of 11 mm and 14 mm, so far apart that one is wrong; measure both again",
        "T1,sewn,2,14,8.04,",
    ),
    row(
        "record readings T1 --state sewn --spine 16.0,16.1 --fore-edge 8.0,8.1",
        "T1 as sewn: the swell is 8.00 mm, but the fit of everything else predicts",
        "T1,sewn,1,16,8,",
    ),
    // The swell is said as it is measured, with the guards.
    after(
        &["record trial T2 --guards 1 --sections 10 --sheets 4 --paper bond --thread lin"],
        row(
            "record readings T2 --state sewn --spine 17.0,17.1 --fore-edge 8.0,8.1",
            "T2 as sewn: the swell is 9.00 mm, but the fit of everything else predicts",
            "T2,sewn,1,17,8,",
        ),
    ),
    after(
        &[SEWN],
        row(
            "record readings T1 --state knocked --spine 11.6,11.7 --fore-edge 8.0,8.1",
            "T1 knocked down: the swell is 3.60 mm, more than 3.03 mm as sewn; were the states exchanged?",
            "T1,knocked,1,11.6,8,",
        ),
    ),
    // In the reverse order, the state that grew was recorded first.
    after(
        &["record readings T1 --state knocked --spine 11.6,11.7 --fore-edge 8.0,8.1"],
        row(SEWN, "T1 knocked down: the swell is 3.60 mm, more than", "T1,sewn,1,11,8,"),
    ),
    row(
        "record readings T1 --state sewn --spine 23.6,23.7 --fore-edge 20.6,20.7",
        "the fore-edge is 20.65 mm, but the leaves make 8.00 mm; check the reading",
        "T1,sewn,1,23.6,20.6,",
    ),
    row(
        "record readings T1 --state sewn --spine 11.0,11.1",
        "only the spine was measured, which gives no swell; measure both edges",
        "T1,sewn,1,11,,",
    ),
    row(
        "record readings T1 --state sewn --spine 11.0,11.1 --fore-edge 8.0",
        "readings at the spine: 2, at the fore-edge: 1; was one left out?",
        "T1,sewn,3,,8,",
    ),
    row(
        "record readings T1 --state sewn --place head,Head --spine 11.0,11.1 --fore-edge 8.0,8.1",
        "place 'Head' differs from 'head' only in capitals or spaces; was it measured twice?",
        "T1,sewn,Head,11.1,8.1,",
    ),
    row(
        "record readings T1 --state sewn --taken 2027-02-01 --spine 11.0,11.1 --fore-edge 8.0,8.1",
        "taken on 2027-02-01, which is in the future; was it 2026-02-01? Check the year",
        "T1,sewn,1,11,8,2027-02-01",
    ),
    row(
        "record paper thick --caliper 1.24mm",
        "paper 'thick' has a leaf of 1.24 mm, thicker than paper that folds; was a stack of ten measured, each 0.124 mm?",
        "thick,,1.24,",
    ),
    row(
        "record paper thin --stack 10 --reading 0.103mm",
        "paper 'thin' has a leaf of 0.01 mm, thinner than paper that folds; was it one leaf of 0.103 mm, and not a stack?",
        "thin,,0.0103,",
    ),
    Row {
        book: &INCHES,
        ..row(
            "record paper thick --caliper 0.05",
            "has a leaf of 0.05 in, thicker than paper that folds; was a stack of ten measured, each 0.005 in?",
            "thick,,1.27,",
        )
    },
    row(
        "record paper Bond --caliper 0.1mm",
        "paper 'Bond' differs from 'bond' only in capitals or spaces; are they the same?",
        "Bond,,0.1,",
    ),
    after(
        &["record paper B\u{fc}tten --caliper 0.1mm"],
        row(
            "record paper Bu\u{308}tten --caliper 0.1mm",
            "only in how their accents are stored; are they the same?",
            "Bu\u{308}tten,",
        ),
    ),
    row(
        "record thread LIN --laid 0.55mm",
        "thread 'LIN' differs from 'lin' only in capitals or spaces",
        "LIN,",
    ),
    row(
        "record target RB 10..20",
        "target 'RB' differs from 'rb' only in capitals or spaces",
        "RB,10,20",
    ),
    row(
        "record target round 0.25..0.35",
        "target 'round' is 0.25 to 0.35 % of the fore-edge, which is almost nothing; were fractions meant, that is 25 to 35 %?",
        "round,0.25,0.35",
    ),
    row(
        "record trial t1 --sections 10 --sheets 4 --paper bond --thread lin",
        "trial 't1' differs from 'T1' only in capitals or spaces",
        "t1,",
    ),
    row(
        "record trial T2 --sections 10 --sheets 16 --paper bond --thread lin",
        "trial 'T2' has 16 sheets in a section, which is 64 pages; were pages or leaves counted? (16 pages are 4 sheets)",
        "T2,2026-03-01,block,bond,lin,10,16,",
    ),
    row(
        "record trial T2 --date 2026-12-24 --sections 10 --sheets 4 --paper bond --thread lin",
        "trial 'T2' is dated 2026-12-24, which is in the future; was it 2025-12-24? Check the year",
        "T2,2026-12-24,",
    ),
    after(
        &[SEWN, T2_OF_THE_SAME_DAY],
        row(
            "record readings T2 --state sewn --spine 11.0,11.1 --fore-edge 8.0,8.05",
            "trial 'T2' has the same 2 readings as 'T1'; was it recorded twice? If so, strike one of them",
            "T2,sewn,1,11,8,",
        ),
    ),
    row(
        "record trial T2 --guards 12 --sections 10 --sheets 4 --paper bond --thread lin",
        "trial 'T2' has guards that add 12 mm, more than a quarter of the fore-edge of 8.00 mm; check their thickness and number",
        "T2,2026-03-01,",
    ),
    // A correction is judged with the readings that stay.
    after(
        &[SEWN],
        row(
            "correct trial T1 --sheets 6",
            "T1 as sewn: the fore-edge is 8.03 mm, but the leaves make 12.00 mm",
            "T1,2026-02-01,block,bond,lin,10,6,",
        ),
    ),
    after(
        &[SEWN],
        row(
            "correct paper bond --caliper 0.15mm",
            "T1 as sewn: the fore-edge is 8.03 mm, but the leaves make 12.00 mm",
            "bond,,0.15,",
        ),
    ),
    after(
        &["record trial T2 --hand Ann --sections 10 --sheets 4 --paper bond --thread lin"],
        row(
            "record trial T3 --hand ann --sections 10 --sheets 4 --paper bond --thread lin",
            "trial 'T3' was sewn by 'ann', which differs from 'Ann' only in capitals or spaces; are they one hand?",
            "T3,",
        ),
    ),
];

fn run(folder: &Folder, line: &str) -> Run {
    folder.run(&words(line)).ends(0)
}

/// The book of a row, before its entry.
fn made(row: &Row) -> Folder {
    let folder = Folder::new();
    for line in row.book.iter().chain(row.before) {
        run(&folder, line);
    }
    folder
}

/// Whether the file of what the row records has its line.
fn holds(folder: &Folder, row: &Row) -> bool {
    let recorded = row.entered.split(' ').nth(1).expect("a command and what it records");
    let text = folder.read(&format!("{}s.csv", recorded.trim_end_matches('s')));
    text.lines().any(|line| line.starts_with(row.kept))
}

/// The findings of an audit that need another look.
fn audited(folder: &Folder) -> Vec<String> {
    let found = folder.run(&["audit", "--json"]).json();
    let findings = found["findings"].as_array().unwrap().iter();
    let checks = findings.filter(|finding| finding["severity"] == "check");
    checks.map(|finding| finding["message"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_script_gets_a_note_of_what_looks_wrong_and_an_audit_finds_it_too() {
    for row in ROWS {
        let folder = made(row);
        let said = run(&folder, row.entered);
        let note = said.err.lines().find(|line| line.contains(row.says));
        let note = note.unwrap_or_else(|| panic!("{}\n{}", row.entered, said.err));
        assert!(note.starts_with("note: ") && note.ends_with(" (kept as given)"), "{note}");
        assert!(holds(&folder, row), "{}", row.entered);
        let found = audited(&folder);
        assert!(
            found.iter().any(|message| message.contains(row.says)),
            "{}\n{found:#?}",
            row.entered
        );
    }
}

#[test]
fn a_new_value_that_makes_many_readings_doubtful_is_asked_about_once() {
    let folder = Folder::toured();
    let said =
        folder.on_tour(&["correct", "paper", "Alder bond", "--caliper", "0.2mm"]).ends(0).err;
    let notes: Vec<&str> = said.lines().filter(|line| line.starts_with("note: ")).collect();
    let [first, more] = notes[..] else { panic!("{said}") };
    assert!(first.contains("but the leaves make"), "{said}");
    let says = "note: 10 more sets of readings look wrong now; is what you corrected right?";
    assert!(more.starts_with(says), "{said}");
}

#[test]
fn a_person_is_asked_at_once_and_one_key_answers() {
    for (row, (key, kept)) in ROWS.iter().flat_map(|row| [(row, ("n", false)), (row, ("y", true))])
    {
        let folder = made(row);
        let mut terminal = Terminal::run(&folder, &words(row.entered));
        let asked = terminal.exp_string("keep it as it is: y or n [n]: ");
        let asked = asked.unwrap_or_else(|error| panic!("{}: {error}", row.entered));
        assert!(asked.contains(row.says), "{}\n{asked}", row.entered);
        terminal.send_line(key);
        let end = terminal.rest();
        assert_eq!(end.contains("recorded, because the answer was no"), !kept, "{end}");
        assert_eq!(holds(&folder, row), kept, "{} {key}", row.entered);
    }
}

#[test]
fn sound_entries_raise_neither_a_question_nor_a_note() {
    let folder = made(&row(SEWN, "", ""));
    let sound = [
        SEWN,
        "record readings T1 --state knocked --spine 10.2,10.3 --fore-edge 8.0,8.05",
        T2,
        "record readings T2 --state sewn --spine 11.2,11.1,11.15 --fore-edge 8.0,8.05,8.1",
        // More swell, but not more than the readings explain.
        "record readings T2 --state knocked --spine 11.35,11.2,11.3 --fore-edge 8.0,8.05,8.1",
        "record paper laid --caliper 0.155mm --grammage 120",
        "record target flat 2..8",
        // It is tomorrow already further east.
        "record trial T3 --date 2026-03-02 --sections 10 --sheets 4 --paper bond --thread lin",
        // The old doubts about a block are no doubts about its new name.
        "correct trial T2 --name T4",
        "correct paper laid --caliper 0.15mm",
    ];
    for line in sound {
        let said = run(&folder, line);
        assert!(!said.err.contains("note:"), "{line}\n{}", said.err);
    }
    assert_eq!(audited(&folder), [] as [String; 0]);
}

#[test]
fn an_audit_blames_the_bad_reading_alone() {
    let blamed = [
        (
            "--spine 11.0,8.1,11.1 --fore-edge 8.0,11.1,8.05",
            "T1 as sewn: place 2 has a spine of 8.1",
        ),
        (
            "--spine 11.0,11.02,11.05,13.0 --fore-edge 8.0,8.0,8.02,8.0",
            "place 4 has a spine of 13 mm",
        ),
        ("--spine 11.0,11.02 --fore-edge 8.0,14.02", "place 2 has a"),
        ("--spine 11.0,11.02,11.01 --fore-edge 8.0,12.0,8.02", "place 2 has a spine of 11.02"),
    ];
    for (values, says) in blamed {
        let folder = made(&row("", "", ""));
        run(&folder, &format!("record readings T1 --state sewn {values}"));
        let found = audited(&folder);
        assert!(found.len() == 1 && found[0].contains(says), "{values}\n{found:#?}");
    }
}

/// Prompts with the answers typed at them.
type Typed = &'static [(&'static str, &'static str)];

/// What a gauge types, with the questions in between, and the rows that are kept.
const TYPED: &[(Typed, &[&str])] = &[
    // Every fore-edge was read as a spine.
    (
        &[
            ("spine at 1> ", "8.0"),
            ("spine at 2> ", "8.05"),
            ("spine at 3> ", "done"),
            ("fore-edge at 1> ", "11.0"),
            ("were the two exchanged? (y keeps it, x exchanges the edges of all readings", "x"),
            ("spine at 2> ", "11.1"),
            ("spine at 3> ", "done"),
            ("fore-edge at 3, or done> ", "done"),
        ],
        &["T1,sewn,1,11,8,", "T1,sewn,2,11.1,8.05,"],
    ),
    // The signs of the gauge go with the readings, and whatever follows, the exchange is said.
    (
        &[
            ("spine at 1> ", "8.0<"),
            ("spine at 2> ", "8.1"),
            ("spine at 3> ", "done"),
            ("fore-edge at 1> ", "10.0"),
            ("were the two exchanged?", "y"),
            ("fore-edge at 2> ", "10.9"),
            ("were the two exchanged?", "x"),
            ("exchanged: the readings so far are now at the other edge", "10.3"),
            ("spine at 3> ", "done"),
            ("fore-edge at 3, or done> ", "done"),
        ],
        &["T1,sewn,1,10,8,2026-03-01,gauge sign < at the fore-edge", "T1,sewn,2,10.3,8.1,"],
    ),
    // One slip: the next value replaces it.
    (
        &[
            ("spine at 1> ", "11.0"),
            ("spine at 2> ", "11.02"),
            ("spine at 3> ", "13.05"),
            (
                "far from the others' 11.01 mm; measure it again (y keeps it; or measure it again)",
                "11.05",
            ),
            ("spine at 4> ", "done"),
            ("fore-edge at 1> ", "8.0"),
            ("fore-edge at 2> ", "8.0"),
            ("fore-edge at 3> ", "8.02"),
            ("fore-edge at 4, or done> ", "done"),
        ],
        &["T1,sewn,1,11,8,", "T1,sewn,2,11.02,8,", "T1,sewn,3,11.05,8.02,"],
    ),
    // The odd value is right, and the question is not repeated.
    (
        &[
            ("spine at 1> ", "11.0"),
            ("spine at 2> ", "done"),
            ("fore-edge at 1> ", "11.5"),
            ("were the two exchanged?", "y"),
            ("fore-edge at 2, or done> ", "done"),
        ],
        &["T1,sewn,1,11,11.5,"],
    ),
    // Done is typed while a place lacks an edge.
    (
        &[
            ("spine at 1> ", "11.0"),
            ("spine at 2> ", "11.1"),
            ("spine at 3> ", "done"),
            ("fore-edge at 1> ", "8.0"),
            ("fore-edge at 2> ", "done"),
            (
                "was one left out? Measure the same places at both edges (done keeps it; or go on",
                "8.05",
            ),
            ("fore-edge at 3, or done> ", "done"),
        ],
        &["T1,sewn,1,11,8,", "T1,sewn,2,11.1,8.05,"],
    ),
];

#[test]
fn a_gauge_is_answered_at_the_reading() {
    for (typed, kept) in TYPED {
        let folder = made(&row("", "", ""));
        let mut terminal = Terminal::run(&folder, &words("record readings T1 --state sewn"));
        terminal.converse(typed);
        let end = terminal.rest();
        assert!(end.contains("recorded "), "{typed:?}\n{end}");
        let rows = folder.rows("readings.csv");
        assert_eq!(rows.len(), kept.len(), "{rows:#?}");
        assert!(kept.iter().all(|kept| rows.iter().any(|row| row.starts_with(kept))), "{rows:#?}");
    }
}

const SHEET: &str = "\
trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,place,spine_mm,fore_edge_mm
A1,2027-02-01,Bond,medium,0.1,lin,0.55,10,4,1,0,no,sewn,1,8.0,11.0
A2,2026-02-01,wove,medium,0.1,lin,0.55,10,16,1,0,no,sewn,1,35.0,
";

#[test]
fn an_import_lists_what_looks_wrong_before_and_after() {
    let folder = made(&row("", "", ""));
    folder.write("sheet.csv", SHEET);
    let says = [
        "paper 'Bond' differs from 'bond'",
        "trial 'A1' is dated 2027-02-01, which is in the future; was it 2026-02-01?",
        "A1 as sewn: place 1 has a spine of 8 mm, thinner than its fore-edge of 11 mm",
        "trial 'A2' has 16 sheets in a section",
        "A2 as sewn: only the spine was measured",
    ];
    for line in ["import sheet.csv --dry-run", "import sheet.csv"] {
        let said = run(&folder, line);
        assert!(says.iter().all(|says| said.err.contains(says)), "{line}\n{}", said.err);
    }
    let found = audited(&folder).join("\n");
    assert!(says.iter().all(|says| found.contains(says)), "{found}");
}

/// Measurements of a half-sewn book: the first line of the answer, and whether it gives advice.
const PARTS: &[(&str, &str, bool)] = &[
    ("--spine 8.0 --fore-edge 11.0", "Measure again: the spine of the part is", false),
    ("--spine 16.0 --fore-edge 8.1", "Measure again: the part has 7.9 mm of swell", false),
    ("--spine 13.4 --fore-edge 10.4", "Measure again: the fore-edge of the part is 10.4", false),
    ("--spine 11.0 --fore-edge 8.1,9.1", "Measure again: the readings of the fore-edge", false),
    ("--spine 10.2,11.0,12.0 --fore-edge 8.1", "Measure again: the readings of the spine", false),
    ("--spine 11.0 --fore-edge 8.1 --folded 22", "Measure again: the whole block was 22", false),
    ("--spine 11.0 --fore-edge 8.1 --folded 22 --sure", "20 sections of 4 sheets", true),
    ("--spine 11.0,11.3 --fore-edge 8.0,8.2", "20 sections of 4 sheets", true),
    ("--spine 16.0 --fore-edge 8.1 --sure", "20 sections of 4 sheets", true),
    ("--spine 11.0 --fore-edge 8.1", "20 sections of 4 sheets", true),
];

#[test]
fn a_part_that_looks_wrong_gets_no_verdict() {
    let folder = made(&row("", "", ""));
    let plan = "midway --paper bond --thread lin --sections 20 --sheets 4 --target rb --sewn 10";
    for (measured, first, advised) in PARTS {
        let line = format!("{plan} {measured}");
        let said = run(&folder, &line).out;
        assert!(said.starts_with(first), "{measured}\n{said}");
        let advice = ["\nGo on: ", "\nChange ", "\nStop: ", "stop, and sew"];
        let given = advice.iter().any(|words| said.contains(words));
        assert_eq!(given, *advised, "{measured}\n{said}");
        let json = run(&folder, &format!("{line} --json")).json();
        assert_eq!(json["verdict"]["advice"].is_null(), !advised, "{json}");
        assert_eq!(json["measure_again"].is_null(), *advised, "{json}");
    }
    let mut terminal =
        Terminal::run(&folder, &words(&format!("{plan} --spine 16.0 --fore-edge 8.1")));
    terminal.expect("measured again, and it is right: y or n [n]: ");
    terminal.send_line("y");
    assert!(terminal.rest().contains("Stop: "));
}

#[test]
fn the_same_repeatability_is_given_everywhere_and_a_slip_does_not_spoil_it() {
    let folder = made(&row("", "", ""));
    run(&folder, "record trial T2 --hand Ann --sections 10 --sheets 4 --paper bond --thread lin");
    run(
        &folder,
        "record readings T2 --state sewn --spine 11.0,11.02,13.05 --fore-edge 8.0,8.04,8.05",
    );
    run(&folder, "record trial T3 --hand Bea --sections 10 --sheets 4 --paper bond --thread lin");
    run(
        &folder,
        "record readings T3 --state sewn --spine 11.2,11.22,11.15 --fore-edge 8.1,8.04,8.05",
    );
    let [fit, gauge] = ["fit --json", "gauge --json"].map(|line| run(&folder, line).json());
    let sd = |value: &Value| value["repeatability_mm"].as_f64().unwrap();
    assert!((sd(&fit) - sd(&gauge)).abs() < 1e-9, "{} {}", sd(&fit), sd(&gauge));
    assert!(sd(&gauge) < 0.1, "{}", sd(&gauge));
    let hands = gauge["by_operator"].as_array().unwrap();
    assert!(hands.iter().all(|hand| hand["sd_mm"].as_f64().unwrap() < 0.15), "{hands:#?}");
    let good = |text: &str| {
        let words: Vec<&str> = text.split_whitespace().collect();
        let at = words.windows(4).position(|four| four == ["reading", "is", "good", "to"]).unwrap();
        words[at + 4].to_owned()
    };
    run(&folder, "report --out page.html");
    let page = good(&folder.read("page.html").replace("<", " <"));
    let said = ["fit", "gauge"].map(|line| good(&run(&folder, line).out));
    assert!(said.iter().all(|figure| *figure == page), "{said:?} {page}");
}

/// Twice the uncertainty of two readings would hold in two cases of three.
#[test]
fn few_repeats_promise_no_more_than_they_can_keep() {
    let folder = Folder::new();
    folder.run(&["init", "."]).ends(0);
    let said = |sheet: &str| {
        folder.write("repeats.csv", format!("part,reading_mm\n{sheet}"));
        one_line(&run(&folder, "gauge repeats.csv --readings 1 --swell 0.5").ends(0).out)
    };
    assert_contains(&said("a,1.00\na,1.02\n"), &["either way (k=10.5, because there were few"]);
    let many: String = (0..20).map(|part| format!("{part},1.00\n{part},1.02\n")).collect();
    assert_contains(&said(&many), &["either way (k=2)"]);
}

/// A planned book and its note. The book is predicted all the same.
const PLANNED: &[(&str, &str)] = &[
    ("--sections 10 --sheets 16", "note: the plan has 16 sheets in a section, which is 64 pages"),
    (
        "--sections 20 --sheets 4 --target 0.25..0.35",
        "note: the target is 0.25 to 0.35 % of the fore-edge, which is almost nothing; were fractions meant, that is 25 to 35 %?",
    ),
    (
        "--sections 20 --sheets 4 --fore-edge 166",
        "note: the fore-edge is 166.00 mm, but the leaves make 16.00 mm; check the reading",
    ),
];

#[test]
fn a_planned_book_that_looks_wrong_is_noted() {
    let folder = made(&row("", "", ""));
    for (plan, says) in PLANNED {
        let said = run(&folder, &format!("predict --paper bond --thread lin {plan}"));
        assert!(said.err.contains(says), "{plan}\n{}", said.err);
    }
    let plan = "--paper bond --thread lin --sections 20 --sheets 4 --target rb";
    assert!(run(&folder, &format!("predict {plan}")).err.is_empty());
}

#[test]
fn answers_say_when_findings_are_open() {
    let folder = made(&row("", "", ""));
    let plan = "--paper bond --thread lin --sections 20 --sheets 4 --target rb";
    let asked = [
        format!("predict {plan}"),
        format!("next {plan}"),
        format!("midway {plan} --sewn 10 --spine 11.0 --fore-edge 8.1"),
        "plan --paper bond --leaves 160 --target rb".to_owned(),
        "fit".to_owned(),
    ];
    run(&folder, SEWN);
    for line in &asked {
        assert!(!run(&folder, line).out.contains("swellbook audit"), "{line}");
    }
    run(&folder, "record readings T1 --state knocked --spine 8.0,8.1 --fore-edge 10.2,10.3");
    for line in &asked {
        let said = run(&folder, line).out;
        let says = "2 entries in your book look wrong and still count: swellbook audit lists them.";
        assert!(said.trim_end().ends_with(says), "{line}\n{said}");
    }
    // A row added in a spreadsheet may be right.
    let papers = folder.read("papers.csv");
    let row = papers.lines().last().expect("a row").replacen("bond", "laid", 1);
    folder.write("papers.csv", format!("{papers}{row}\n"));
    let said = run(&folder, "fit").out.replace('\n', " ");
    let says = "2 entries in your book look wrong and still count; 1 file was changed outside \
                swellbook: swellbook audit lists them.";
    assert!(said.trim_end().ends_with(says), "{said}");
    folder.run(&["report", "--out", "book.html"]).ends(0);
    let page = folder.read("book.html");
    assert!(page.contains("1 file was changed outside swellbook, listed below."), "{page}");
}
