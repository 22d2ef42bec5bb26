//! Whole processes of `fit`, `predict`, `plan` and `import` on invented books of 40 to 10,000
//! trials, beside peers on the same sheets: lme4, statsmodels, and for the reading polars.
//!
//! `cargo bench --bench peers` prints the tables, `-- --quick` those of the two smaller books,
//! `-- --write` also writes docs/performance.md. A peer that is not installed is said not to be.
//! Run it on an idle machine.

mod page;
mod process;
mod sheet;

use process::{Came, measured, works};
use std::path::{Path, PathBuf};
use std::process::Command;

const PROGRAM: &str = env!("CARGO_BIN_EXE_swellbook");
/// Places measured in each state of a trial.
const PLACES: usize = 5;
/// Trials, and how often the program and its peers are run on them.
const SIZES: [(usize, usize, usize); 3] = [(40, 11, 5), (1_024, 3, 3), (10_000, 1, 1)];
/// The most trials that statsmodels is asked for: it holds a column for each of them.
const DENSE: usize = 1_024;
/// Books of a million readings: trials and places.
const LONG: [(usize, usize); 2] = [(100_000, 5), (10_000, 50)];

/// A process with what is said of it, and the longest it may take.
pub(crate) struct Row {
    pub(crate) name: &'static str,
    pub(crate) came: Came,
    pub(crate) bar_ms: Option<f64>,
}

/// One book with its peers.
pub(crate) struct Case {
    pub(crate) trials: usize,
    pub(crate) rows: Vec<Row>,
    pub(crate) lme4: Came,
    pub(crate) mixedlm: Option<Came>,
}

/// How a million readings were read.
pub(crate) struct Long {
    pub(crate) trials: usize,
    pub(crate) sheet_mib: f64,
    pub(crate) import: Came,
    pub(crate) scan_of_sheet: Came,
    pub(crate) readings_mib: f64,
    pub(crate) open: Came,
    pub(crate) scan_of_readings: Came,
}

const PLAN: [&str; 7] = ["plan", "--paper", "p0", "--leaves", "192", "--target", "25..35"];
const PREDICT: [&str; 11] = [
    "predict",
    "--paper",
    "p0",
    "--thread",
    "f1",
    "--sections",
    "24",
    "--sheets",
    "4",
    "--target",
    "25..35",
];

fn script(name: &str) -> String {
    format!("{}/benches/peers/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// The peer, or that it is not installed.
fn peer(name: &str, test: [&str; 3], runs: usize, words: &[&str]) -> Came {
    if works(&test) { measured(runs, words) } else { Came::Not(format!("{name} is not installed")) }
}

fn python(name: &str, file: &str, runs: usize, csv: &Path) -> Came {
    let test = format!("import {name}");
    let script = script(file);
    let words = ["python3", &script, &csv.to_string_lossy()];
    peer(name, ["python3", "-c", &test], runs, &words)
}

fn lme4(runs: usize, csv: &Path) -> Came {
    let test = ["Rscript", "-e", "quit(status = !requireNamespace('lme4', quietly = TRUE))"];
    peer("lme4", test, runs, &["Rscript", &script("lme4.R"), &csv.to_string_lossy()])
}

/// Runs the program, which must succeed.
fn done(words: &[&str]) {
    let output = Command::new(PROGRAM).args(words).output().expect("the program runs");
    assert!(output.status.success(), "{words:?}: {output:?}");
}

/// A sheet of so many trials in a file, and a new book to take it.
fn begun(folder: &Path, trials: usize, places: usize) -> (PathBuf, String) {
    let csv = folder.join(format!("{trials}-{places}.csv"));
    std::fs::write(&csv, sheet::sheet(trials, places)).expect("the sheet is written");
    let book = folder.join(format!("book-{trials}-{places}")).to_string_lossy().into_owned();
    done(&["init", &book]);
    (csv, book)
}

fn case(folder: &Path, (trials, runs, peer_runs): (usize, usize, usize)) -> Case {
    let (csv, book) = begun(folder, trials, PLACES);
    // Twenty threads to choose from, with 1 to 8 sheets, three ways of sewing, boned and not: 960
    // ways.
    for extra in 4..20 {
        let laid = format!("{:.2}mm", 0.30 + 0.02 * f64::from(extra));
        let name = format!("thread {extra}");
        done(&["--book", &book, "record", "thread", &name, "--laid", &laid]);
    }
    done(&["--book", &book, "import", &csv.to_string_lossy()]);
    let run = |name, words: &[&str], runs, bar_ms| {
        let words = [&[PROGRAM, "--book", &book], words, &["--json"]].concat();
        let bar_ms = (trials == 40).then_some(bar_ms).flatten();
        eprintln!("{trials} trials: {name}");
        Row { name, came: measured(runs, &words), bar_ms }
    };
    let rows = vec![
        run("fit", &["fit"], runs, None),
        run("predict", &PREDICT, runs, Some(15.0)),
        run("plan, 960 ways", &PLAN, runs, Some(60.0)),
        run("fit --compare", &["fit", "--compare"], 1, None),
    ];
    eprintln!("{trials} trials: peers");
    let mixedlm = (trials <= DENSE).then(|| python("statsmodels", "mixedlm.py", peer_runs, &csv));
    Case { trials, rows, lme4: lme4(peer_runs, &csv), mixedlm }
}

fn long(folder: &Path, (trials, places): (usize, usize)) -> Long {
    eprintln!("a million readings of {trials} trials");
    let (csv, book) = begun(folder, trials, places);
    let sheet = csv.to_string_lossy();
    let import = measured(1, &[PROGRAM, "--book", &book, "import", &sheet]);
    let readings = Path::new(&book).join("readings.csv");
    let mib = |path: &Path| path.metadata().map_or(f64::NAN, |file| file.len() as f64 / 1048576.0);
    Long {
        trials,
        sheet_mib: mib(&csv),
        import,
        scan_of_sheet: python("polars", "scan.py", 3, &csv),
        readings_mib: mib(&readings),
        open: measured(3, &[PROGRAM, "--book", &book]),
        scan_of_readings: python("polars", "scan.py", 3, &readings),
    }
}

fn main() {
    let given = |flag: &str| std::env::args().any(|argument| argument == flag);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let sizes = if given("--quick") { &SIZES[..2] } else { &SIZES[..] };
    let cases: Vec<Case> = sizes.iter().map(|&size| case(folder.path(), size)).collect();
    let long: Vec<Long> = LONG.iter().map(|&size| long(folder.path(), size)).collect();
    let page = page::page(&cases, &long);
    println!("{page}");
    if given("--write") {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/performance.md");
        std::fs::write(path, page).expect("docs/performance.md is written");
    }
}
