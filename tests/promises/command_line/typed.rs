//! Typed values mean the same everywhere, are repeated back, or are refused with what to type.
//!
//! To add a row: the kind of value, what is typed, and what it must mean or say.
#![cfg(unix)]

use crate::support::folder::{Folder, SEWING, SEWN, trial, words};
use crate::support::one_line;
use crate::support::terminal::{Terminal, plain};
use swellbook::book::Book;

/// The kind of value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum About {
    Count,
    Material,
    Hardness,
    Caliper,
    Kind,
    On,
    Ends,
    Date,
    State,
}

/// Where it is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Door {
    Flag,
    Prompt,
    Sheet,
    File,
}

/// The required result.
#[derive(Clone, Copy, Debug)]
enum Then {
    /// The book holds this.
    Is(&'static str),
    /// It is refused in a message with these words.
    Says(&'static str),
    /// The same, with the first words at a prompt and the second elsewhere.
    Apart(&'static str, &'static str),
}

impl Then {
    fn at(self, door: Door) -> Self {
        match self {
            Apart(words, _) if door == Door::Prompt => Says(words),
            Apart(_, words) => Says(words),
            same => same,
        }
    }
}

use About::*;
use Then::{Apart, Is, Says};

const ROWS: &[(About, &str, Then)] = &[
    (Count, "18/3", Is("lea 18/3")),
    (Count, "18/3 lea", Is("lea 18/3")),
    (Count, "NeL 18/3", Is("lea 18/3")),
    (Count, "No. 18/3", Is("lea 18/3")),
    (Count, "18 x 3 linen", Is("lea 18/3")),
    (Count, "275 tex", Is("tex 275")),
    (Count, "R 275 tex/3", Is("tex 275")),
    (Count, "840 den", Is("Td 840")),
    (Count, "dtex 940/3", Is("tex 94/3")),
    (Count, "30/3 NM", Is("Nm 30/3")),
    (Count, "30", Says("can be lea 30 or tex 30 or Nm 30")),
    (Count, "3/18", Says("can be lea 18/3 or lea 3/18")),
    (Count, "Tkt 30", Says("is a ticket number")),
    (Count, "thick", Says("is not a thread count such as '18/3'")),
    (Material, "Hemp", Is("hemp")),
    (Material, "RAMIE", Is("ramie")),
    (Material, " jute", Is("jute")),
    (Material, "Flax", Is("linen")),
    (Material, "nylon", Says("for another fibre leave the material out")),
    (Hardness, "Hard", Is("hard")),
    (Hardness, "SOFT", Is("soft")),
    (Hardness, "very soft", Says("is not one of hard, medium, soft")),
    (Caliper, "0,12", Is("0.12")),
    (Caliper, "1/100\"", Is("0.254")),
    (Caliper, "0.012 cm", Is("0.12")),
    (Caliper, "120 micron", Is("0.12")),
    (Caliper, "120 \u{b5}m", Is("0.12")),
    (Caliper, "5 thou", Is("0.127")),
    (Caliper, "1/8", Says("'1/8' can be 1/8 in (3.175 mm) or 1/8 mm; write the unit")),
    (Caliper, "0.1 furlong", Says("expected mm, cm, um (micron), in, \" or thou (mil)")),
    (Caliper, "105", Says("105 mm is outside 0.01..2 mm")),
    // At a prompt it is the reading of a stack, which has another range.
    (
        Caliper,
        "398in",
        Apart("10109.2 mm is outside 0.01..400 mm", "10109.2 mm is outside 0.01..2 mm"),
    ),
    (Kind, "Book", Is("book")),
    (Kind, "finished book", Is("book")),
    (On, "two-on", Is("2")),
    (On, "Two On", Is("2")),
    (On, "2-on", Is("2")),
    (On, "all along", Is("1")),
    (On, "3.0", Is("3")),
    (On, "seven-on", Says("is not a number of sections in one traverse")),
    (Ends, "3+4", Is("3+4")),
    (Ends, " 3 + 4", Is("3+4")),
    (Ends, "2+0", Is("2+0")),
    (Ends, "3+3", Is("3")),
    (Ends, "2.0", Is("2")),
    (Ends, "+2", Is("2")),
    (Ends, "3-4", Says("'3-4' is not a whole number; expected 0..250, or two such as 3+4")),
    (Ends, "3+", Says("'3+' is not a whole number")),
    (Ends, "7+4", Says("7+4 at the ends are too many for 10 sections")),
    (Ends, "6", Says("6 at each end is too many for 10 sections")),
    (Date, "14.03.2026", Is("2026-03-14")),
    (Date, "3/14/2026", Is("2026-03-14")),
    (Date, "14 Mar 2026", Is("2026-03-14")),
    (Date, "March 14, 2026", Is("2026-03-14")),
    (Date, "46095", Is("2026-03-14")),
    (Date, "03/04/2026", Says("can be 2026-04-03 (day first) or 2026-03-04 (month first)")),
    (Date, "14.03.26", Is("2026-03-14")),
    (Date, "14/3/26", Is("2026-03-14")),
    (Date, "14-Mar-26", Is("2026-03-14")),
    (Date, "20260314", Is("2026-03-14")),
    (Date, "2026-03-14 14:30:00", Is("2026-03-14")),
    (Date, "2026-03-14T00:00:00", Is("2026-03-14")),
    (Date, "2026-03-14T14:30:00.000000", Is("2026-03-14")),
    (Date, "14.03.2026 14:30", Is("2026-03-14")),
    (Date, "2026-03-14T25:00", Says("is not a da")),
    (Date, "14.03.98", Is("1998-03-14")),
    (Date, "03/04/26", Says("can be 2026-04-03 (day first) or 2026-03-04 (month first)")),
    (Date, "14-03-26", Says("has no year of four digits")),
    (Date, "20261314", Says("is not a day of the calendar")),
    (State, "Knocked", Is("knocked")),
    (State, "knocked down", Is("knocked")),
    (State, "As sewn", Is("sewn")),
    (State, "knocked down and pressed", Is("knocked+pressed")),
    (State, "knocked + pressed", Is("knocked+pressed")),
    (State, "flattened", Says("is not one of unsewn, sewn, pressed, knocked, knocked+pressed")),
];

impl About {
    /// The name of its column, in its file and in a sheet.
    fn column(self) -> &'static str {
        match self {
            Count => "count",
            Material => "material",
            Hardness => "hardness",
            Caliper => "caliper_mm",
            Kind => "kind",
            On => "on",
            Ends => "ends",
            Date => "date",
            State => "state",
        }
    }

    fn file(self) -> &'static str {
        match self {
            Count | Material => "threads.csv",
            Hardness | Caliper => "papers.csv",
            Kind | On | Ends | Date => "trials.csv",
            State => "readings.csv",
        }
    }

    /// The command that records it by a flag, without that flag.
    fn flags(self) -> Vec<&'static str> {
        match self {
            Count => words("record thread new"),
            Material => words("record thread new --count 'lea 18/3'"),
            Hardness => words("record paper new --caliper 0.12mm"),
            Caliper => words("record paper new"),
            Kind | On | Date => trial("new"),
            Ends => [&trial("new")[..], &["--on", "2"]].concat(),
            State => words("record readings T1 --spine 11.0 --fore-edge 8.0"),
        }
    }

    fn flag(self) -> &'static str {
        match self {
            Count => "--count",
            Material => "--material",
            Hardness => "--hardness",
            Caliper => "--caliper",
            Kind => "--kind",
            On => "--on",
            Ends => "--ends",
            Date => "--date",
            State => "--state",
        }
    }

    /// The command that asks for it, and the questions with their answers. An empty answer is
    /// replaced by what is typed.
    fn questions(self) -> (&'static [&'static str], &'static [(&'static str, &'static str)]) {
        const TRIAL: &[&str] = &[
            "record", "trial", "new", "--paper", "bond 80", "--thread", "linen 25", "--sheets", "4",
        ];
        match self {
            Count => (
                &["record", "thread", "new"],
                &[("material", "linen"), ("count", ""), ("diameter as laid", "\n")],
            ),
            Material => (
                &["record", "thread", "new"],
                &[("material", ""), ("count", "lea 18/3"), ("diameter as laid", "\n")],
            ),
            Hardness => (
                &["record", "paper", "new"],
                &[("weight in g/m", "80"), ("leaves", "10"), ("reading", "1.2"), ("hardness", "")],
            ),
            Caliper => (
                &["record", "paper", "new"],
                &[("weight in g/m", "\n"), ("leaves", "1"), ("reading", ""), ("hardness", "hard")],
            ),
            Kind => (
                TRIAL,
                &[
                    ("day", "today"),
                    ("kind", ""),
                    ("sections", "10"),
                    ("traverse", "1"),
                    ("boned", "no"),
                    ("repairs", "0"),
                ],
            ),
            On => (
                TRIAL,
                &[("day", "today"), ("kind", "block"), ("sections", "10"), ("traverse", "")],
            ),
            Ends => (
                TRIAL,
                &[
                    ("day", "today"),
                    ("kind", "block"),
                    ("sections", "10"),
                    ("traverse", "2"),
                    ("each end", ""),
                ],
            ),
            Date => (
                TRIAL,
                &[
                    ("day", ""),
                    ("kind", "block"),
                    ("sections", "10"),
                    ("traverse", "1"),
                    ("boned", "no"),
                    ("repairs", "0"),
                ],
            ),
            State => (
                &["record", "readings", "T1", "--spine", "11.0", "--fore-edge", "8.0"],
                &[("state (number or name)", "")],
            ),
        }
    }

    /// Its value in the newest entry of the book.
    fn held(self, folder: &Folder) -> String {
        let book = Book::open(folder.path()).expect("a book");
        let (paper, thread) = (book.papers().last().unwrap(), book.threads().last().unwrap());
        let trial = book.trials().last().unwrap();
        match self {
            Count => thread.count().unwrap().to_string(),
            Material => thread.material.to_string(),
            Hardness => paper.hardness.to_string(),
            Caliper => paper.caliper().mm().to_string(),
            Kind => trial.kind.to_string(),
            On => trial.sewing.on().to_string(),
            Ends => trial.sewing.ends_text(),
            Date => trial.date.unwrap().to_string(),
            State => book.readings().last().unwrap().state.to_string(),
        }
    }
}

/// A cell of a file with commas.
fn cell(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

/// A sheet of one reading in which everything is new, with `typed` in its column.
fn sheet(about: About, typed: &str) -> String {
    let columns = [
        ("trial", "new"),
        ("date", "2026-02-01"),
        ("kind", "block"),
        ("paper", "new"),
        ("hardness", "hard"),
        ("caliper_mm", "0.12"),
        ("thread", "new"),
        ("material", "linen"),
        ("count", "lea 25/3"),
        ("sections", "10"),
        ("sheets", "4"),
        ("on", "1"),
        ("ends", "0"),
        ("state", "sewn"),
        ("spine_mm", "13"),
        ("fore_edge_mm", "10"),
    ];
    // A block sewn all along has no ends of its own.
    let on = if about == Ends { "2" } else { "1" };
    let said = |(name, usual): (&str, &str)| match name {
        _ if name == about.column() => cell(typed),
        "on" => cell(on),
        _ => cell(usual),
    };
    let header = columns.map(|(name, _)| name).join(",");
    format!("{header}\n{}\n", columns.map(said).join(","))
}

/// Types the text there. Returns the message if it was refused.
fn typed(folder: &Folder, door: Door, about: About, text: &str, then: Then) -> Option<String> {
    match door {
        Door::Flag => {
            let run =
                folder.run(&[&about.flags()[..], &[&format!("{}={text}", about.flag())]].concat());
            (run.code != 0).then_some(run.err)
        }
        Door::Prompt => at_prompt(folder, about, text, then),
        Door::Sheet => {
            folder.write("sheet.csv", sheet(about, text));
            let run = folder.run(&["import", "sheet.csv"]);
            (run.code != 0).then_some(run.err)
        }
        Door::File => {
            let before = folder.read(about.file());
            let (header, row) = before.trim_end().rsplit_once('\n').expect("a row");
            let at = header.split(',').position(|name| name == about.column()).expect("a column");
            let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
            cells[at] = cell(text);
            folder.write(about.file(), format!("{header}\n{}\n", cells.join(",")));
            let run = folder.run(&["audit"]);
            (run.code == 3).then(|| run.out + &run.err)
        }
    }
}

/// A prompt reports a refusal and asks again.
fn at_prompt(folder: &Folder, about: About, text: &str, then: Then) -> Option<String> {
    let (args, questions) = about.questions();
    let mut command = plain(folder, args);
    command.env("COLUMNS", "400");
    // A day in the future raises a question, so a later day becomes today.
    if let (Date, Is(day)) = (about, then)
        && day > "2026-03-01"
    {
        command.env("SWELLBOOK_TODAY", day);
    }
    let mut terminal = Terminal::start(command);
    for (question, answer) in questions {
        terminal.exp_string(question).unwrap_or_else(|error| panic!("{about:?} {text}: {error}"));
        terminal.expect(": ");
        terminal.send_line(if answer.is_empty() { text } else { answer.trim() });
        if let (true, Says(words)) = (answer.is_empty(), then) {
            let said = terminal.exp_string(words);
            said.unwrap_or_else(|error| panic!("{about:?} {text}: {error}"));
            return Some(words.to_owned());
        }
    }
    // The remaining questions get empty answers, and a repeated question gets none.
    for _ in 0..3 {
        terminal.send_line("");
    }
    terminal.send_control('d');
    let rest = terminal.rest();
    (!rest.contains("recorded")).then_some(rest)
}

fn check(door: Door) {
    let base = Folder::with_trial();
    base.measure("T1", "sewn", "11", "8");
    let files = base.holds();
    let mut bad = Vec::new();
    for (about, text, then) in ROWS {
        let folder = Folder::new();
        folder.put(&files);
        let then = then.at(door);
        match (typed(&folder, door, *about, text, then), then) {
            (None, Is(meant)) if about.held(&folder) == meant => {}
            (None, _) => bad.push(format!("{about:?} {text:?}: {}", about.held(&folder))),
            (Some(said), Says(words)) if one_line(&said).contains(words) => {}
            (Some(said), _) => bad.push(format!("{about:?} {text:?}: {said}")),
        }
    }
    assert!(bad.is_empty(), "{door:?}, not as the table says:\n{}", bad.join("\n"));
}

#[test]
fn a_value_is_understood_by_a_flag() {
    check(Door::Flag);
}

#[test]
fn a_value_is_understood_at_a_prompt() {
    check(Door::Prompt);
}

#[test]
fn a_value_is_understood_in_a_sheet() {
    check(Door::Sheet);
}

#[test]
fn a_value_is_understood_in_a_file_edited_by_hand() {
    check(Door::File);
}

/// Targets are not in a sheet. Their bounds are given by position, by the option of the low bound,
/// and wherever a target is named.
#[test]
fn two_bounds_are_read_alike_wherever_a_swell_is_wanted() {
    let folder = Folder::with_trial();
    let predict = |range: &str| {
        let target = format!("--target={range}");
        folder.run(&[&["predict"], &SEWING[..], &[&target]].concat())
    };
    for (number, range) in
        ["25-35", "25 to 35", "25\u{2013}35", "25..35", "25 % - 35 %", "between 25 and 35"]
            .iter()
            .enumerate()
    {
        let (one, other) = (format!("a{number}"), format!("b{number}"));
        let by_position = folder.run(&["record", "target", &one, range]).ends(0);
        assert!(by_position.out.contains("25 to 35 %"), "{}", by_position.out);
        let by_option = folder.run(&["record", "target", &other, "--low", range]).ends(0);
        assert!(by_option.out.contains("25 to 35 %"), "{}", by_option.out);
        let predicted = predict(range).ends(0);
        assert!(predicted.out.contains("Target 25 to 35 %"), "{}", predicted.out);
        // A target of this name would take its place.
        let named = folder.run(&["record", "target", range, "--low=1", "--high=2"]);
        named.ends(3).complains_of(&["means swell from 25 to 35 %; choose a name that is not"]);
    }
    // Older programs accepted such a name; it can still be corrected.
    folder.run(&["record", "target", "old", "1..2"]).ends(0);
    folder.write("targets.csv", folder.read("targets.csv").replace("old,", "25-35,"));
    folder.run(&["correct", "target", "25-35", "--high=3"]).ends(0);
    folder.run(&["correct", "target", "25-35", "--name=2-3"]).ends(3).complains_of(&["2 to 3 %"]);
    folder.run(&["record", "target", "small", "4-6"]).ends(0);
    for (range, says) in [
        ("4,5", "'4,5' can be 4.5 or from 4 to 5; write 4..5"),
        ("30", "two bounds are needed; write the lowest and the highest, such as 25..35"),
        ("25..", "two bounds are needed"),
    ] {
        folder.run(&["record", "target", "x", range]).ends(3).complains_of(&[says]);
        predict(range).ends(3).complains_of(&[says]);
    }
}

#[test]
fn yesterday_is_accepted_at_a_flag_but_not_in_a_sheet() {
    let folder = Folder::with_trial();
    let said = folder.run(&[&Date.flags()[..], &["--date", "Yesterday"]].concat()).ends(0);
    assert!(said.out.contains("2026-02-28"), "{}", said.out);
    let folder = Folder::with_trial();
    folder.write("sheet.csv", sheet(Date, "yesterday"));
    folder.run(&["import", "sheet.csv"]).ends(3).complains_of(&["means another day tomorrow"]);
    folder.write("sheet.csv", sheet(Date, "03/04/2026"));
    let settles = "or give --date-order dmy or --date-order mdy";
    folder.run(&["import", "sheet.csv"]).ends(3).complains_of(&[settles]);
    folder.run(&["import", "sheet.csv", "--date-order", "dmy"]).ends(0);
    assert_eq!(Date.held(&folder), "2026-04-03");
    for (typed, day) in
        [("46000", "2025-12-09"), ("9.12.25", "2025-12-09"), ("20251209", "2025-12-09")]
    {
        let taken = folder.run(&[&SEWN[..], &["--spine", "11", "--taken", typed]].concat());
        if typed == "9.12.25" {
            taken.ends(3).complains_of(&["2025-12-09 (day first) or 2025-09-12 (month first)"]);
            continue;
        }
        let taken = taken.ends(0);
        assert!(taken.err.contains(&format!("--taken is read as {day}")), "{}", taken.err);
    }
}

#[test]
fn an_import_says_what_it_read_as_something_else() {
    let folder = Folder::with_trial();
    for (about, text, says) in [
        (Count, "NeL 18/3", "sheet.csv:2, column count: 'NeL 18/3' is read as lea 18/3"),
        (Date, "46080", "'46080' is read as a spreadsheet's day number, 2026-02-27"),
        (Date, "14.02.26", "column date: '14.02.26' is read as 2026-02-14"),
        (Date, "14-Feb-26", "'14-Feb-26' is read as 2026-02-14"),
        (Date, "20260214", "'20260214' is read as 2026-02-14"),
        (Caliper, "1/100\"", "is read as 0.254 mm"),
    ] {
        folder.write("sheet.csv", sheet(about, text));
        let run = folder.run(&["import", "sheet.csv", "--dry-run"]).ends(0);
        assert!(run.err.contains(says), "{says}: {}", run.err);
    }
}

#[test]
fn a_cell_that_says_nothing_must_be_emptied() {
    let folder = Folder::with_trial();
    for about in [Count, Material, Caliper, On, Date, State] {
        for nothing in ["n/a", "N/A", "-", "?", "\u{2014}", "none"] {
            folder.write("sheet.csv", sheet(about, nothing));
            let run = folder.run(&["import", "sheet.csv"]).ends(3);
            let says = format!("'{nothing}' is not a value; empty the cell");
            assert!(run.err.contains(&says), "{about:?}: {}", run.err);
        }
    }
}

#[test]
fn headings_are_read_with_their_units_in_any_form() {
    let folder = Folder::with_trial();
    let other = |spine: &str, fore_edge: &str| {
        let sheet = sheet(On, "1").replace("spine_mm", spine).replace("fore_edge_mm", fore_edge);
        sheet.replace("caliper_mm", "Caliper [mm]")
    };
    folder.write("sheet.csv", other("Spine (mm)", "fore-edge mm"));
    let run = folder.run(&["import", "sheet.csv", "--dry-run"]).ends(0);
    assert!(run.out.contains("1 reading"), "{}{}", run.out, run.err);
    folder.write("sheet.csv", other("Spine (cm)", "fore-edge (cm)"));
    let says = ["column 'Spine (cm)' is not in mm; call it spine_mm", "call it fore_edge_mm"];
    folder.run(&["import", "sheet.csv", "--dry-run"]).ends(3).complains_of(&says);
}

#[test]
fn the_one_decimal_comma_is_named_and_not_the_many_points() {
    let folder = Folder::with_trial();
    let mut rows = "trial,state,place,spine_mm,fore_edge_mm\n".to_owned();
    for place in 1..=885 {
        let spine = if place == 512 { "\"11,1\"" } else { "11.1" };
        rows += &format!("T1,sewn,{place},{spine},8\n");
    }
    folder.write("sheet.csv", rows);
    let run = folder.run(&["import", "sheet.csv"]).ends(3);
    let says = "sheet.csv:513: a decimal comma in row 513, but a decimal point in 884 other rows; write a decimal point there too";
    assert!(run.err.contains(says) && run.err.len() < 300, "{}", run.err);
}

#[test]
fn a_whole_state_is_struck_and_each_reading_named() {
    let folder = Folder::with_trial();
    for state in ["sewn", "knocked"] {
        folder.measure("T1", state, "11.0,11.1", "8.0,8.1");
    }
    let run = folder.run(&["strike", "Reading", "T1/Knocked Down", "--reason", "a slip"]).ends(0);
    assert!(run.out.contains("T1/knocked/1, T1/knocked/2"), "{}{}", run.out, run.err);
    let run = folder.run(&["strike", "reading", "T1/as sewn/2", "--reason", "a slip"]).ends(0);
    assert!(run.out.contains("struck reading T1/sewn/2"), "{}{}", run.out, run.err);
    let book = Book::open(folder.path()).expect("a book");
    let left: Vec<String> = book.readings().iter().map(swellbook::book::reading_id).collect();
    assert_eq!(left, ["T1/sewn/1"]);
    folder.run(&["strike", "reading", "T1/pressed", "--reason", "x"]).ends(3);
}

/// A book in inches judges and shows in inches, with the digits of a gauge. It asks about what was
/// probably meant.
#[test]
fn a_book_in_inches_speaks_in_inches() {
    let folder = Folder::new();
    folder.run(&["init", ".", "--unit", "Inch"]).ends(0);
    folder.run(&["record", "paper", "bond 80", "--caliper", "0.004", "--hardness", "Hard"]).ends(0);
    folder.run(&["record", "thread", "linen 25", "--count", "25/3"]).ends(0);
    folder.run(&trial("T1")).ends(0);
    let spine =
        |text: &str| folder.run(&[&SEWN[..], &["--spine", text, "--fore-edge", "0.33"]].concat());
    for (text, says) in [
        (
            "12.34",
            "spine 12.34 in is outside 0.1067..1.2575 in for 10 sections of 4; is it in millimetres, not in inches?",
        ),
        ("43.7", "was the decimal mark left out?"),
        ("437", "was it typed in thousandths of an inch?"),
        ("398", "spine 398 in is outside"),
        ("0.15", "spine 0.15 in is thinner than half the fore-edge 0.33 in"),
    ] {
        spine(text).ends(3).complains_of(&[says]);
    }
    let caliper = ["record", "paper", "x", "--caliper", "3/64"];
    let run = folder.run(&caliper).ends(0);
    assert!(run.out.contains("0.04688 in"), "{}", run.out);
    assert!(folder.read("papers.csv").contains("x,,1.190625,"), "{}", folder.read("papers.csv"));
    folder
        .run(&["record", "paper", "y", "--caliper", "0.1"])
        .ends(3)
        .complains_of(&["0.1 in is outside 0.000394..0.0787 in"]);
    let run = spine("7/16").ends(0);
    assert!(run.err.contains("--spine is read as 0.4375 in"), "{}", run.err);
}

#[test]
fn a_length_that_seems_to_be_in_another_unit_gets_a_guess() {
    let folder = Folder::with_trial();
    for (text, says) in [
        (
            "12.34in",
            "313.436 mm is outside 2.67..31.62 mm for 10 sections of 4; is it in millimetres, not in inches?",
        ),
        ("1234", "was the decimal mark left out?"),
        ("0.44", "was it typed in inches?"),
    ] {
        let args = [&SEWN[..], &["--spine", text, "--fore-edge", "8"]].concat();
        folder.run(&args).ends(3).complains_of(&[says]);
    }
}

#[test]
fn a_count_without_its_system_is_refused_if_the_fibre_has_several() {
    let folder = Folder::with_trial();
    let args = ["record", "thread", "x", "--count", "30/3", "--material", "Cotton"];
    folder.run(&args).ends(3).complains_of(&["can be Ne 30/3 or Nm 30/3 or lea 30/3; write which"]);
}
