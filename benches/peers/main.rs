//! Times whole processes of `fit`, `predict`, `plan` and `import` on invented books of 40 to a
//! million trials. Peers run on the same sheets: lme4 and statsmodels for fits, polars for reading.
//!
//! `cargo bench --bench peers` prints the tables, and `-- --quick` those of the two smallest books.
//! `-- --write` also writes docs/performance.md. The tables say if a peer is not installed. Run it
//! on an idle machine.

mod page;
mod process;
mod sheet;

use process::{Came, measured, works};
use sheet::Made;
use std::path::{Path, PathBuf};
use std::process::Command;

const PROGRAM: &str = env!("CARGO_BIN_EXE_swellbook");
/// The books, and how often the program and its peers run on each.
const SIZES: [Size; 6] = [
    Size { book: Made { trials: 40, ..MADE }, runs: 11, peer_runs: 5, times: Some(100.0) },
    Size { book: Made { trials: 1_024, ..MADE }, runs: 5, peer_runs: 3, times: Some(10.0) },
    Size { book: Made { trials: 10_000, ..MADE }, runs: 3, peer_runs: 3, times: Some(4.0) },
    Size { book: APART, runs: 3, peer_runs: 3, times: Some(4.0) },
    Size {
        book: Made { trials: 100_000, papers: 100, places: 2, ..MADE },
        runs: 1,
        peer_runs: 1,
        times: Some(1.0),
    },
    Size {
        book: Made { trials: 1_000_000, papers: 100, places: 1, ..MADE },
        runs: 1,
        peer_runs: 0,
        times: None,
    },
];
const MADE: Made = Made { trials: 0, papers: 8, places: 5, alike: true };
const APART: Made = Made { trials: 10_000, papers: 100, places: 5, alike: false };
/// From this many trials on, only the fit is timed, without statsmodels.
const LARGE: usize = 100_000;
/// The most trials in one sheet; larger sheets are refused.
const SHEET: usize = 200_000;
/// The most trials for statsmodels, because it holds a column for each trial.
const DENSE: usize = 1_024;
/// Books of a million readings.
const LONG: [Made; 2] =
    [Made { trials: 100_000, places: 5, ..MADE }, Made { trials: 10_000, places: 50, ..MADE }];

struct Size {
    book: Made,
    runs: usize,
    peer_runs: usize,
    /// How many times as long lme4 should take as a fit does.
    times: Option<f64>,
}

/// What a process should reach.
#[derive(Clone, Copy)]
pub(crate) enum Bar {
    Ms(f64),
    /// Times as fast as lme4.
    Times(f64),
}

/// A process, its measurement and its bar.
pub(crate) struct Row {
    pub(crate) name: &'static str,
    pub(crate) came: Came,
    pub(crate) bar: Option<Bar>,
}

pub(crate) struct Case {
    pub(crate) book: Made,
    pub(crate) rows: Vec<Row>,
    pub(crate) lme4: Came,
    pub(crate) mixedlm: Option<Came>,
}

/// How long and with how much memory a million readings were read.
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

/// Measures a peer, or reports that it is not installed.
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

/// Creates a book and writes its sheets for the peers. Imports them if one sheet is not enough.
fn begun(folder: &Path, made: Made) -> (PathBuf, String) {
    let csv = folder.join("sheet.csv");
    let book = folder.join("book").to_string_lossy().into_owned();
    done(&["init", &book]);
    for from in (0..made.trials).step_by(SHEET) {
        let trials = from..made.trials.min(from + SHEET);
        std::fs::write(&csv, sheet::sheet(made, trials)).expect("the sheet is written");
        if made.trials > SHEET {
            done(&["--book", &book, "import", &csv.to_string_lossy()]);
        }
    }
    (csv, book)
}

fn case(size: &Size) -> Case {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (made, runs) = (size.book, size.runs);
    let (csv, book) = begun(folder.path(), made);
    // Together twenty threads, 1 to 8 sheets, three ways of sewing, boned and not: 960 ways.
    for extra in 4..20 {
        let laid = format!("{:.2}mm", 0.30 + 0.02 * f64::from(extra));
        let name = format!("thread {extra}");
        done(&["--book", &book, "record", "thread", &name, "--laid", &laid]);
    }
    if made.trials <= SHEET {
        done(&["--book", &book, "import", &csv.to_string_lossy()]);
    }
    let run = |name, words: &[&str], runs, bar| {
        let words = [&[PROGRAM, "--book", &book], words, &["--json"]].concat();
        eprintln!("{}: {name}", made.title());
        Row { name, came: measured(runs, &words), bar }
    };
    let of_short = |bar| (made.trials == 40).then_some(Bar::Ms(bar));
    let mut rows = vec![run("fit", &["fit"], runs, size.times.map(Bar::Times))];
    if made.trials < LARGE {
        rows.push(run("predict", &PREDICT, runs, of_short(15.0)));
        rows.push(run("plan, 960 ways", &PLAN, runs, of_short(60.0)));
        rows.push(run("fit --compare", &["fit", "--compare"], 1, None));
    }
    eprintln!("{}: peers", made.title());
    let mixedlm =
        (made.trials <= DENSE).then(|| python("statsmodels", "mixedlm.py", size.peer_runs, &csv));
    let lme4 = match size.peer_runs {
        0 => Came::Not("not asked".to_owned()),
        runs => lme4(runs, &csv),
    };
    Case { book: made, rows, lme4, mixedlm }
}

fn long(made: Made) -> Long {
    eprintln!("a million readings of {} trials", made.trials);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (csv, book) = begun(folder.path(), made);
    let sheet = csv.to_string_lossy();
    let import = measured(1, &[PROGRAM, "--book", &book, "import", &sheet]);
    let readings = Path::new(&book).join("readings.csv");
    let mib = |path: &Path| path.metadata().map_or(f64::NAN, |file| file.len() as f64 / 1048576.0);
    Long {
        trials: made.trials,
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
    let sizes = if given("--quick") { &SIZES[..2] } else { &SIZES[..] };
    let cases: Vec<Case> = sizes.iter().map(case).collect();
    let long: Vec<Long> = LONG.into_iter().map(long).collect();
    let page = page::page(&cases, &long);
    println!("{page}");
    if given("--write") {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/performance.md");
        std::fs::write(path, page).expect("docs/performance.md is written");
    }
}
