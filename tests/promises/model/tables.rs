//! Exported readings and observations are what the book holds and what the fit gets, in every
//! format.

use crate::support::folder::Folder;
use crate::support::random_books::{Size, entries, mm, name};
use polars::prelude::*;
use polars_io::prelude::*;
use std::collections::BTreeMap;
use std::io::Cursor;
use swellbook::book::{Book, Config, init};
use swellbook::observe::{Observations, observe};
use swellbook::trade::{Edge, Material, Reading, State, TrialKind};
use swellbook::units::{Grammage, Millimetres};

const TABLES: [&str; 2] = ["--readings", "--observations"];

/// Columns that a book may leave empty.
const OPTIONAL: [&str; 10] = [
    "date",
    "hand",
    "grammage_gsm",
    "spine_mm",
    "fore_edge_mm",
    "swell_mm",
    "spine_weight",
    "fore_edge_weight",
    "taken",
    "note",
];

/// A book in the folder `book` that fills each column somewhere and leaves each optional one empty
/// elsewhere. It has a reading out of line, a struck trial and a trial without readings.
fn book() -> (Folder, Book) {
    let size = Size { papers: (3, 3), threads: (3, 3), trials: (9, 9), hands: 3 };
    let mut all = entries(11, size);
    all.papers[0].grammage = Grammage::new(90.0);
    all.threads[0].material = Material::Cotton;
    all.trials[0].kind = TrialKind::Book;
    for (at, trial) in all.trials.iter_mut().enumerate().filter(|(at, _)| at % 2 == 0) {
        trial.date = format!("2026-01-{:02}", at + 1).parse().ok();
        trial.hand = (at > 0).then(|| name("Åsa, \"left\""));
    }
    for (at, reading) in all.readings.iter_mut().enumerate() {
        reading.taken = ["", "2026-01-09", "by lamplight"][at % 3].to_owned().into();
        reading.note = ["", "said \"thin\", then; ½", "x"][at / 3 % 3].to_owned().into();
    }
    slip(&mut all.readings);
    let mut alone = all.trials[0].clone();
    alone.name = name("not measured");
    all.trials.push(alone);
    let folder = Folder::new();
    let mut made = init(&folder.path().join("book"), &Config::default()).expect("a new book");
    made.append(all).expect("the book takes what was made up");
    let struck = ["--book", "book", "strike", "trial", "trial2", "--reason", "a test"];
    folder.run(&struck).ends(0);
    let book = Book::open(&folder.path().join("book")).expect("a book");
    (folder, book)
}

/// Makes the first spine of a set of three or more 1.2 mm thicker.
fn slip(readings: &mut [Reading]) {
    let mut spines: BTreeMap<(String, State), Vec<usize>> = BTreeMap::new();
    for (at, reading) in readings.iter().enumerate().filter(|(_, it)| it.spine().is_some()) {
        spines.entry((reading.trial.to_string(), reading.state)).or_default().push(at);
    }
    let set = spines.values().find(|set| set.len() > 2).expect("a set of three");
    let old = readings[set[0]].clone();
    let (spine, fore_edge) = (old.spine().map(|spine| mm(spine.mm() + 1.2)), old.fore_edge());
    let new = Reading::new(old.trial, old.state, old.place, spine, fore_edge);
    readings[set[0]] = new.expect("a reading");
}

fn export(folder: &Folder, args: &[&str]) -> String {
    folder.run(&[&["--book", "book", "export"], args].concat()).ends(0).out
}

/// The table as an Arrow file, read back.
fn arrow(folder: &Folder, table: &str) -> DataFrame {
    export(folder, &[table, "--out", "table.arrow"]);
    let bytes = std::fs::read(folder.path().join("table.arrow")).expect("a table");
    IpcReader::new(Cursor::new(bytes)).finish().expect("an Arrow file")
}

fn numbers(frame: &DataFrame, name: &str) -> Vec<Option<f64>> {
    let column = frame.column(name).expect(name).cast(&DataType::Float64).expect("numbers");
    column.f64().expect("numbers").iter().collect()
}

fn texts(frame: &DataFrame, name: &str) -> Vec<Option<String>> {
    let column = frame.column(name).expect(name).str().expect("texts");
    column.iter().map(|text| text.map(str::to_owned)).collect()
}

#[test]
fn every_format_holds_the_same_table() {
    let (folder, _) = book();
    for table in TABLES {
        let frame = arrow(&folder, table);
        let schema = frame.schema().clone();
        let csv = export(&folder, &[table]);
        let read = CsvReadOptions::default().with_schema(Some(schema.clone()));
        let read = read.into_reader_with_file_handle(Cursor::new(csv.clone())).finish();
        assert!(read.expect("CSV").equals_missing(&frame), "{csv}");
        let json = export(&folder, &[table, "--format", "json"]);
        let read = JsonReader::new(Cursor::new(json.clone())).with_schema(schema).finish();
        assert!(read.expect("JSON").equals_missing(&frame), "{json}");
        assert!(json.ends_with("]\n") && csv.ends_with('\n'));
    }
}

#[test]
fn no_column_is_empty_by_mistake() {
    let (folder, _) = book();
    for table in TABLES {
        let frame = arrow(&folder, table);
        for column in frame.columns() {
            let (name, gaps) = (column.name().as_str(), column.null_count());
            assert!(gaps < frame.height(), "{table}: nothing in {name}");
            let may = OPTIONAL.contains(&name) && (table == "--readings" || name != "swell_mm");
            assert!(gaps == 0 || may, "{table}: {gaps} gaps in {name}");
            let one = name == "resolution_mm";
            let alike = column.n_unique().expect("a count") == 1;
            assert!(alike == one, "{table}: one value in {name}");
        }
    }
    let readings = arrow(&folder, TABLES[0]);
    for name in OPTIONAL {
        assert!(readings.column(name).expect(name).null_count() > 0, "no gap in {name}");
    }
}

/// Compares each row with its trial, paper and thread, looked up by name.
fn assert_trials(frame: &DataFrame, book: &Book, all: &Observations) {
    let names: Vec<String> = texts(frame, "trial").into_iter().flatten().collect();
    assert_eq!(names.len(), frame.height());
    let text = |column: &str, of: &dyn Fn(usize) -> Option<String>| {
        let place = |name: &String| book.trials().iter().position(|it| it.name.as_str() == name);
        let wanted: Vec<_> = names.iter().map(|name| of(place(name).expect(name))).collect();
        assert_eq!(texts(frame, column), wanted, "{column}");
    };
    let number = |column: &str, of: &dyn Fn(usize) -> Option<f64>| {
        let place = |name: &String| book.trials().iter().position(|it| it.name.as_str() == name);
        let wanted: Vec<_> = names.iter().map(|name| of(place(name).expect(name))).collect();
        assert_eq!(numbers(frame, column), wanted, "{column}");
    };
    let trial = |at: usize| &book.trials()[at];
    let paper = |at: usize| book.papers().iter().find(|it| it.name == trial(at).paper).unwrap();
    let thread = |at: usize| book.threads().iter().find(|it| it.name == trial(at).thread).unwrap();
    let sewn = |at: usize| all.trials.iter().find(|it| it.name == trial(at).name).unwrap();
    text("date", &|at| trial(at).date.map(|date| date.to_string()));
    text("kind", &|at| Some(trial(at).kind.to_string()));
    text("hand", &|at| trial(at).hand.as_ref().map(ToString::to_string));
    text("paper", &|at| Some(trial(at).paper.to_string()));
    text("hardness", &|at| Some(paper(at).hardness.to_string()));
    text("thread", &|at| Some(trial(at).thread.to_string()));
    text("material", &|at| Some(thread(at).material.to_string()));
    number("grammage_gsm", &|at| paper(at).grammage.map(|grammage| grammage.gsm()));
    number("caliper_mm", &|at| Some(paper(at).caliper().mm()));
    number("laid_mm", &|at| Some(thread(at).diameter().mm()));
    number("sections", &|at| Some(trial(at).sewing.sections().into()));
    number("sheets", &|at| Some(trial(at).sewing.sheets().into()));
    number("on", &|at| Some(trial(at).sewing.on().into()));
    number("ends", &|at| Some(trial(at).sewing.ends().into()));
    number("first_ends", &|at| Some(trial(at).sewing.first().into()));
    number("last_ends", &|at| Some(trial(at).sewing.last().into()));
    number("boned", &|at| Some(f64::from(u8::from(trial(at).boned))));
    number("guards_mm", &|at| Some(trial(at).guards.mm()));
    number("build_up_mm", &|at| Some(sewn(at).build_up_mm));
    number("leaves_mm", &|at| Some(sewn(at).leaves_mm));
}

#[test]
fn readings_are_those_of_the_book_with_the_weights_of_the_fit() {
    let (folder, book) = book();
    let frame = arrow(&folder, "--readings");
    let rows = book.readings();
    assert_eq!(frame.height(), rows.len());
    assert!(folder.read("book/readings.csv").lines().count() > rows.len() + 1, "none was struck");
    assert_trials(&frame, &book, &observe(&book).expect("observations"));
    let place = |row: &Reading| book.trials().iter().position(|it| it.name == row.trial);
    let wanted = rows.iter().map(|row| place(row).map(|place| place as f64 + 1.0));
    assert!(numbers(&frame, "trial_number").into_iter().eq(wanted));
    let step = book.config().resolution.mm();
    assert!(numbers(&frame, "resolution_mm").into_iter().all(|it| it == Some(step)));
    let text = |name: &str, of: &dyn Fn(&Reading) -> String| {
        let wanted = rows.iter().map(|row| Some(of(row)).filter(|text| !text.is_empty()));
        assert_eq!(texts(&frame, name), wanted.collect::<Vec<_>>(), "{name}");
    };
    text("trial", &|row| row.trial.to_string());
    text("state", &|row| row.state.to_string());
    text("place", &|row| row.place.to_string());
    text("taken", &|row| row.taken.to_string());
    text("note", &|row| row.note.to_string());
    let read = |edge| rows.iter().map(move |row| row.edge(edge).map(Millimetres::mm));
    let (spine, fore_edge) = (numbers(&frame, "spine_mm"), numbers(&frame, "fore_edge_mm"));
    assert!(spine.iter().copied().eq(read(Edge::Spine)));
    assert!(fore_edge.iter().copied().eq(read(Edge::ForeEdge)));
    let guards = numbers(&frame, "guards_mm");
    for (at, swell) in numbers(&frame, "swell_mm").into_iter().enumerate() {
        let both = spine[at].zip(fore_edge[at]);
        assert_eq!(swell, both.map(|(spine, fore)| spine - fore - guards[at].unwrap()));
    }
    let fit = folder.run(&["--book", "book", "fit", "--json"]).json();
    let less = fit["down_weighted"].as_array().expect("a list");
    assert!(!less.is_empty());
    for (edge, read) in [("spine", &spine), ("fore_edge", &fore_edge)] {
        let weights = numbers(&frame, &format!("{edge}_weight"));
        for (at, row) in rows.iter().enumerate() {
            let same = |one: &&serde_json::Value| {
                (one["trial"].as_str(), one["state"].as_str(), one["place"].as_str())
                    == (Some(row.trial.as_str()), Some(row.state.word()), Some(row.place.as_str()))
                    && one["edge"].as_str().unwrap().replace('-', "_") == edge
            };
            let told = less.iter().find(same).map_or(Some(1.0), |one| one["weight"].as_f64());
            assert_eq!(weights[at], read[at].and(told), "{edge} of {row:?}");
        }
    }
}

#[test]
fn observations_are_those_of_the_fit() {
    let (folder, book) = book();
    let frame = arrow(&folder, "--observations");
    let all = observe(&book).expect("observations");
    let fit = folder.run(&["--book", "book", "fit", "--json"]).json();
    assert_eq!(fit["observations"].as_u64(), Some(frame.height() as u64));
    assert_eq!(frame.height(), all.rows.len());
    assert_trials(&frame, &book, &all);
    let names = all.rows.iter().map(|row| Some(all.trials[row.trial].name.to_string()));
    assert!(texts(&frame, "trial").into_iter().eq(names));
    assert!(
        texts(&frame, "state")
            .into_iter()
            .eq(all.rows.iter().map(|row| Some(row.state.to_string())))
    );
    let number = |name: &str, of: fn(&swellbook::observe::Observation) -> f64| {
        assert!(
            numbers(&frame, name).into_iter().eq(all.rows.iter().map(|row| Some(of(row)))),
            "{name}"
        );
    };
    number("spine_readings", |row| row.spine_readings);
    number("fore_edge_readings", |row| row.fore_edge_readings);
    number("fore_edge_mm", |row| row.fore_edge_mm);
    number("swell_mm", |row| row.swell_mm);
    number("variance_mm2", |row| row.variance);
}

/// The number of cores does not matter. Numbers are written with all their digits and without an
/// exponent.
#[test]
fn a_table_is_the_same_to_the_byte_every_time() {
    let (folder, _) = book();
    for table in [&TABLES[..], &["--draws"]].concat() {
        for format in ["csv", "json", "arrow"] {
            let file = format!("table.{format}");
            let bytes = |cores: &str| {
                let mut command = folder.command(crate::support::folder::PROGRAM);
                command.env("POLARS_MAX_THREADS", cores).args(["--book", "book", "export", table]);
                assert!(command.args(["--out", &file]).output().expect("it runs").status.success());
                std::fs::read(folder.path().join(&file)).expect("a table")
            };
            assert_eq!(bytes("1"), bytes("4"), "{table} as {format}");
        }
    }
    let draws = folder.read("table.csv");
    for cell in draws.lines().skip(1).flat_map(|line| line.split(',')) {
        assert_eq!(cell.parse::<f64>().expect("a number").to_string(), cell);
    }
}

#[test]
fn the_ending_or_the_option_chooses_the_format_and_they_agree() {
    let (folder, _) = book();
    let run = |args: &[&str]| folder.run(&[&["--book", "book", "export"], args].concat());
    let said = run(&["--readings", "--out", "r.JSON"]).ends(0).out;
    assert!(said.starts_with("wrote ") && said.ends_with(" readings: r.JSON\n"), "{said}");
    assert_eq!(folder.read("r.JSON"), export(&folder, &["--readings", "--format", "json"]));
    run(&["--readings", "--format", "csv", "--out", "r.json"])
        .ends(3)
        .complains_of(&["'r.json' does not end in .csv"]);
    run(&["--readings", "--out", "r.txt"]).ends(3).complains_of(&[".csv or .json or .arrow"]);
    run(&["--readings", "--format", "arrow"]).ends(3).complains_of(&["--out", ".arrow"]);
    run(&["--readings", "--draws"]).ends(2).complains_of(&["--readings", "--draws"]);
    run(&["--readings", "--plain", "9"]).ends(2).complains_of(&["--plain"]);
}

/// A table without rows has its columns, and may be replaced like any other.
#[test]
fn a_book_without_readings_gives_tables_without_rows() {
    let folder = Folder::new();
    folder.run(&["init", "book"]).ends(0);
    for table in TABLES {
        assert_eq!(export(&folder, &[table]).lines().count(), 1);
        assert_eq!(export(&folder, &[table, "--format", "json"]), "[]\n");
        for file in ["a.csv", "a.json", "a.arrow"] {
            for _ in 0..2 {
                let done = export(&folder, &[table, "--out", file]);
                assert!(done.starts_with("wrote 0 "), "{done}");
            }
        }
        assert_eq!(arrow(&folder, table).height(), 0);
    }
}
