//! Other engines make the same observations from the exported readings, to the last digit. They run
//! one SQL statement of `docs/engines/`, in DuckDB and in Spark. If Python lacks a package, the
//! test says so; with `CI` set it fails.

use crate::support::folder::{Files, Folder};
use crate::support::random_books::{self as made, Random, Size, mm, name};
use crate::support::repository;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::{Command, Output};
use std::sync::LazyLock;
use swellbook::book::{Config, Entries, SheetOptions, init, read_sheet};
use swellbook::trade::{Reading, State};

/// Random books, beside those made for one rule.
const RANDOM: u64 = 12;
/// Books of one trial with many slips.
const FEW: u64 = 14;

/// Whether Python has this package. If not, the test says so; in continuous integration it fails.
fn has(package: &str) -> bool {
    let asked = Command::new("python3").args(["-c", &format!("import {package}")]).output();
    let found = asked.is_ok_and(|output| output.status.success());
    let required = std::env::var_os("CI").is_some_and(|value| !value.is_empty());
    assert!(found || !required, "python3 has no package {package}; .ci/run installs it");
    if !found {
        eprintln!(
            "NOT RUN: python3 has no package {package}, so its observations were not compared"
        );
    }
    found
}

fn text(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).expect("text")
}

/// Changes every thickness.
fn changed(entries: &mut Entries, mut change: impl FnMut(f64) -> f64) {
    for reading in &mut entries.readings {
        let read = |it: swellbook::units::Millimetres| it.mm();
        let (spine, fore_edge) = (reading.spine().map(read), reading.fore_edge().map(read));
        let mut new = |value: f64| mm(change(value));
        let (spine, fore_edge) = (spine.map(&mut new), fore_edge.map(&mut new));
        let old = reading.clone();
        // A reading that no gauge could show stays as it was.
        let new = Reading::new(old.trial, old.state, old.place, spine, fore_edge);
        *reading = new.unwrap_or_else(|_| reading.clone());
        reading.note = "said \"thin\", then; ½".to_owned().into();
    }
}

/// Adds a slip of half a millimetre or more to this share of the thicknesses.
fn slip(entries: &mut Entries, seed: u64, share: f64) {
    let random = &mut Random::new(seed);
    changed(entries, |value| match random.chance(share) {
        true => ((value + *random.pick(&[0.5, 1.0, 1.2, 2.5])) * 100.0).round() / 100.0,
        false => value,
    });
}

/// Rounds to the step of a gauge in inches: half a thousandth, 0.0127 mm.
fn in_inches(entries: &mut Entries) {
    changed(entries, |value| (value / 25.4 * 2000.0).round() / 2000.0 * 25.4);
}

/// Sets of many readings.
struct Places {
    seed: u64,
    /// The fewest and the most readings at each edge.
    spines: (u16, u16),
    fore_edges: (u16, u16),
    /// How well they repeat in mm, and the step of the gauge in mm.
    sd: f64,
    step: f64,
    /// The share of readings out of line, and how far out the first of each set is.
    share: f64,
    first: f64,
}

fn many_places(of: &Places) -> Entries {
    let Places { seed, sd, step, share, first, .. } = *of;
    let mut entries = made::entries(seed, Size { trials: (5, 5), ..Size::ANY });
    let random = &mut Random::new(seed);
    entries.readings.clear();
    for trial in &entries.trials {
        let paper = entries.papers.iter().find(|it| it.name == trial.paper).expect("its paper");
        let leaves = paper.caliper().mm() * f64::from(trial.sewing.leaves());
        for state in [State::Unsewn, State::Sewn, State::KnockedPressed] {
            let spines = random.whole(of.spines.0, of.spines.1);
            let fore_edges = random.whole(of.fore_edges.0, of.fore_edges.1);
            for place in 1..=spines.max(fore_edges) {
                let mut read = |count: u16, about: f64| {
                    let off = *random.pick(&[0.16, 0.3, 0.9]);
                    let off = if random.chance(share) { off } else { 0.0 };
                    let off = if place == 1 { off + first } else { off };
                    let value = about + off + sd * random.normal();
                    (place <= count).then(|| mm((value / step).round() * step))
                };
                let (spine, edge) = (read(spines, leaves + 1.5), read(fore_edges, leaves));
                let place = name(&place.to_string());
                let reading = Reading::new(trial.name.clone(), state, place, spine, edge);
                entries.readings.push(reading.expect("a reading"));
            }
        }
    }
    entries
}

/// The invented bindery of datasets/demonstration.
fn demonstration() -> Entries {
    let sheet = std::fs::read(repository("datasets/demonstration/trials.csv")).expect("the sheet");
    let sheet = read_sheet(&sheet, "trials.csv", &SheetOptions::default()).expect("a sheet");
    let (_dir, mut book) = made::on_disk(&Config::default(), Entries::default());
    let plan = book.plan_import(&sheet).expect("a plan");
    book.append(plan.entries).expect("the book takes it");
    Entries { targets: Vec::new(), ..book.entries().clone() }
}

/// Books with the steps of their gauges. Every rule of the statement matters in one of them.
fn books() -> BTreeMap<String, (Entries, f64)> {
    let any = |seed| made::entries(seed, Size { hands: 3, ..Size::ANY });
    let mut books = BTreeMap::new();
    for seed in 0..RANDOM {
        let (mut entries, mut step) = (any(1000 + seed), 0.01);
        match seed % 4 {
            1 => slip(&mut entries, seed, 0.08),
            2 => (in_inches(&mut entries), step = 0.0127).0,
            // In the order in which they were taken, not trial by trial.
            3 => {
                slip(&mut entries, seed, 0.08);
                Random::new(seed).shuffle(&mut entries.readings);
            }
            _ => {}
        }
        books.insert(format!("any {seed}"), (entries, step));
    }
    // With few sets it matters most that no set judges itself.
    for seed in 0..FEW {
        let mut few = made::entries(2000 + seed, Size { trials: (1, 1), ..Size::ANY });
        slip(&mut few, seed, 0.4);
        books.insert(format!("few {seed}"), (few, 0.01));
    }
    let mut coarse = any(77);
    changed(&mut coarse, |value| (value * 20.0).round() / 20.0);
    slip(&mut coarse, 77, 0.08);
    books.insert("coarse, \"gauge\"".to_owned(), (coarse, 0.05));
    let (spines, fore_edges) = ((4, 30), (1, 12));
    let usual =
        Places { seed: 9, spines, fore_edges, sd: 0.07, step: 0.01, share: 0.08, first: 0.0 };
    let close = Places { seed: 10, sd: 0.004, share: 0.02, ..usual };
    // Readings that are closer than two places of a block agree, and closer than a gauge shows.
    let coarse = Places { seed: 11, sd: 0.01, step: 0.05, ..close };
    // Sets that vary least have readings out of line too.
    let (spines, fore_edges) = ((26, 30), (26, 30));
    let each = Places { seed: 12, spines, fore_edges, share: 0.0, first: 2.5, ..usual };
    let of = [("many", usual), ("close", close), ("close and coarse", coarse), ("each", each)];
    for (name, places) in of {
        books.insert(format!("{name} places"), (many_places(&places), places.step));
    }
    let long = Size { papers: (4, 4), threads: (3, 3), trials: (60, 60), hands: 2 };
    let mut long = made::entries(8, long);
    slip(&mut long, 8, 0.08);
    books.insert("sixty trials".to_owned(), (long, 0.01));
    books.insert("demonstration".to_owned(), (demonstration(), 0.01));
    books
}

/// These books on disk in `books`, one with a struck trial, and their tables in `tables`. Also our
/// own observations of them all, in order of book. They are made once and copied for each test.
fn exported() -> (Folder, &'static str) {
    static EXPORTED: LazyLock<(Files, String)> = LazyLock::new(|| {
        let (folder, ours) = export();
        (folder.holds(), ours)
    });
    (Folder::with(&EXPORTED.0), &EXPORTED.1)
}

fn export() -> (Folder, String) {
    let folder = Folder::new();
    for part in ["books", "tables"] {
        std::fs::create_dir(folder.path().join(part)).expect("a folder");
    }
    for (book, (entries, step)) in books() {
        let config = Config { resolution: mm(step), ..Config::default() };
        let mut on_disk = init(&folder.path().join("books").join(&book), &config).expect("a book");
        on_disk.append(entries).expect("the book takes what was made up");
    }
    let strike = ["strike", "trial", "trial1", "--reason", "a test"];
    folder.run(&[&["--book", "books/any 4"], &strike[..]].concat()).ends(0);
    let mut names: Vec<String> = std::fs::read_dir(folder.path().join("books"))
        .expect("the books")
        .map(|entry| entry.expect("a book").file_name().into_string().expect("text"))
        .collect();
    names.sort();
    let ours: String = names.iter().map(|book| both_tables(&folder, book)).collect();
    (folder, ours)
}

/// Writes the readings of a book into `tables`. Returns its observations in lines that begin with
/// the book.
fn both_tables(folder: &Folder, book: &str) -> String {
    let (place, table) = (format!("books/{book}"), format!("tables/{book}.csv"));
    folder.run(&["--book", &place, "export", "--readings", "--out", &table]).ends(0);
    let out = folder.run(&["--book", &place, "export", "--observations"]).ends(0).out;
    let quoted = match book.contains('"') {
        true => format!("\"{}\"", book.replace('"', "\"\"")),
        false => book.to_owned(),
    };
    out.lines().skip(1).map(|line| format!("{quoted},{line}\n")).collect()
}

/// After the header, every line of an engine equals ours.
#[track_caller]
fn assert_same(theirs: &str, ours: &str) {
    let names = theirs.lines().next().expect("names");
    assert!(names.starts_with("book,swellbook_observation,trial,date,"), "{names}");
    assert!(names.ends_with(",swell_mm,variance_mm2"), "{names}");
    assert_eq!(theirs.lines().count(), ours.lines().count() + 1);
    for (theirs, ours) in theirs.lines().skip(1).zip(ours.lines()) {
        assert_eq!(theirs, ours);
    }
}

fn script(file: &str) -> PathBuf {
    repository("docs/engines").join(file)
}

/// Each rule has something to do in these books, so a statement without it would fail.
#[test]
fn the_books_of_this_comparison_have_all_that_matters() {
    let (folder, ours) = exported();
    let observed: Vec<Vec<&str>> = ours.lines().map(|line| line.split(',').collect()).collect();
    let some = |what: &str, is: &dyn Fn(&[&str]) -> bool| {
        assert!(observed.iter().any(|row| is(row)), "no row with {what}");
    };
    let from_end = |row: &[&str], back: usize| row[row.len() - back].to_owned();
    some("guards", &|row| !["", "0"].contains(&&*from_end(row, 9)));
    some("ends that differ", &|row| from_end(row, 12) != from_end(row, 11));
    some("a book that never was sewn", &|row| from_end(row, 6) == "unsewn");
    some("a weight", &|row| from_end(row, 5).contains('.'));
    some("more than twenty places", &|row| from_end(row, 5).parse().is_ok_and(|it: f64| it > 20.0));
    some("two of one weight", &|row| {
        from_end(row, 4).parse().is_ok_and(|it: f64| it < 1.9 && it != 1.0)
    });
    let first = folder.read("tables/any 3.csv");
    let trials: Vec<&str> = first.lines().skip(1).map(|it| it.split(',').nth(1).unwrap()).collect();
    assert!(!trials.is_sorted_by_key(|name| (name.len(), *name)), "no book is out of order");
}

#[test]
fn duckdb_makes_the_same_observations() {
    if !has("duckdb") {
        return;
    }
    let (folder, ours) = exported();
    let output = folder.command("python3").arg(script("with_duckdb.py")).arg("tables").output();
    assert_same(&text(&output.expect("it runs")), ours);
}

/// Prints the tables of Spark as text.
const READ: &str = "import sys, duckdb, exported_tables as tables\n\
    found = duckdb.sql(\"SELECT * FROM read_parquet('out/observations.parquet/*.parquet') \
    ORDER BY book, swellbook_observation\")\n\
    tables.write(found.columns, found.fetchall(), sys.stdout)";

#[test]
fn spark_makes_the_same_observations() {
    if !has("duckdb") || !has("pyspark") {
        return;
    }
    let (folder, ours) = exported();
    // For so few rows, Java need not compile its own code twice. It need not load machine code for
    // compression either, which fails on a Debian where musl is installed too.
    let quick = "--conf spark.ui.enabled=false --conf spark.sql.shuffle.partitions=2 \
                 --conf spark.sql.parquet.compression.codec=uncompressed \
                 --driver-java-options -XX:TieredStopAtLevel=1 pyspark-shell";
    let mut command = folder.command("python3");
    command.env("PYSPARK_SUBMIT_ARGS", quick).arg(script("summaries.py"));
    command.args(["books", "out", "--program", crate::support::folder::PROGRAM]);
    text(&command.output().expect("it runs"));
    let mut read = folder.command("python3");
    read.env("PYTHONPATH", repository("docs/engines")).args(["-c", READ]);
    assert_same(&text(&read.output().expect("it runs")), ours);
    assert_summaries(&folder);
}

/// The job has written the summary of every book that has one, and the pool of them all.
fn assert_summaries(folder: &Folder) {
    let mut files = Vec::new();
    for book in books().keys() {
        let alone = folder.run(&["--book", &format!("books/{book}"), "export", "--summary", "-"]);
        let (file, why) =
            (format!("out/summaries/{book}.json"), format!("out/left-out/{book}.txt"));
        if alone.code == 0 {
            assert_eq!(folder.read(&file), alone.out, "{book}");
            files.push(file);
        } else {
            let said = alone.err.lines().next().expect("a reason").to_owned();
            assert!(folder.read(&why).contains(&said), "{book}: {}", folder.read(&why));
        }
    }
    assert!(files.len() > 20, "only {} summaries", files.len());
    let args: Vec<&str> = ["pool", "--out", "pool.toml"]
        .into_iter()
        .chain(files.iter().map(String::as_str))
        .collect();
    folder.run(&args).ends(0);
    assert_eq!(folder.read("out/pool.toml"), folder.read("pool.toml"));
}
