//! Whole-process times of `fit`, `predict`, `predict --help` and `plan`, beside a peer in the same
//! run.
//!
//! The peer is an R script (benches/peer_lme4.R) that loads the same sheet and runs one mixed
//! model of lme4; without R it is said that it was not run. Run with `cargo bench --bench speed`.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_swellbook");
/// Runs of the program; the median of them is reported.
const RUNS: usize = 31;
/// Runs of the peer, which takes seconds.
const PEER_RUNS: usize = 5;

/// Uniform numbers in 0..1 from a fixed seed (splitmix64).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Roughly normal with this standard deviation.
    fn normal(&mut self, sd: f64) -> f64 {
        let sum: f64 = (0..12).map(|_| self.next()).sum();
        sd * (sum - 6.0)
    }
}

/// An invented sheet of 40 trials and 400 readings: 8 papers, 4 threads, two states, five places.
fn sheet() -> String {
    let mut numbers = Numbers(20_260_301);
    let mut text = String::from(
        "trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,spine_mm,fore_edge_mm\n",
    );
    for trial in 0..40 {
        let (paper, thread) = (trial % 8, (trial / 8 + trial) % 4);
        let hardness = ["hard", "medium", "soft"][paper % 3];
        let caliper = 0.09 + 0.01 * paper as f64;
        let laid = [0.37, 0.47, 0.55, 0.71][thread];
        let (sections, sheets) = (8 + trial % 5, 3 + trial % 3);
        let leaves = 2.0 * (sections * sheets) as f64 * caliper * 1.04;
        let factor = 0.5 + 0.03 * paper as f64 + numbers.normal(0.04);
        for (state, out) in [("sewn", 0.0), ("knocked", 0.1)] {
            let swell = sections as f64 * (0.018 + laid * (factor - out));
            for _ in 0..5 {
                let (spine, edge) =
                    (leaves + swell + numbers.normal(0.05), leaves + numbers.normal(0.05));
                text += &format!(
                    "t{trial:02},2026-01-{:02},paper {paper},{hardness},,{caliper:.3},thread {thread},{laid},{sections},{sheets},1,0,no,{state},{spine:.2},{edge:.2}\n",
                    1 + trial % 28
                );
            }
        }
    }
    text
}

/// The median time of `runs` runs; `None` where the program cannot be run.
fn median(runs: usize, mut command: impl FnMut() -> Command) -> Option<Duration> {
    let mut times = Vec::new();
    for _ in 0..runs {
        let mut command = command();
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        let start = Instant::now();
        if !command.status().ok()?.success() {
            return None;
        }
        times.push(start.elapsed());
    }
    times.sort();
    Some(times[runs / 2])
}

fn swellbook(book: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(PROGRAM);
    command.arg("--book").arg(book).args(arguments);
    command
}

fn milliseconds(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

fn report(what: &str, time: Option<Duration>, bar: f64) -> Option<f64> {
    let Some(time) = time.map(milliseconds) else {
        println!("{what:<18} could not be run");
        return None;
    };
    let verdict = if time < bar { "met" } else { "MISSED" };
    println!("{what:<18} {time:>8.1} ms   bar {bar} ms: {verdict}");
    Some(time)
}

/// The same book with twenty threads to choose from instead of four.
fn twenty_threads(folder: &Path, sheet: &Path) -> PathBuf {
    let book = folder.join("twenty");
    let run = |command: &mut Command| {
        let done = command.output().expect("the program runs");
        assert!(done.status.success(), "{done:?}");
    };
    run(Command::new(PROGRAM).arg("init").arg(&book));
    run(swellbook(&book, &["import"]).arg(sheet));
    for extra in 4..20 {
        let (name, laid) =
            (format!("thread {extra}"), format!("{:.2}mm", 0.30 + 0.02 * extra as f64));
        run(&mut swellbook(&book, &["record", "thread", &name, "--laid", &laid]));
    }
    book
}

/// Every thread with 1 to 8 sheets, three ways of sewing, boned and not: 960 ways.
const CHOICES: [&str; 8] =
    ["plan", "--paper", "paper 0", "--leaves", "192", "--target", "25..35", "--json"];

fn main() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let book: PathBuf = folder.path().join("book");
    let sheet_path = folder.path().join("sheet.csv");
    std::fs::write(&sheet_path, sheet()).expect("the sheet is written");
    let made = Command::new(PROGRAM).arg("init").arg(&book).output().expect("init runs");
    assert!(made.status.success(), "{made:?}");
    let imported = swellbook(&book, &["import"]).arg(&sheet_path).output().expect("import runs");
    assert!(imported.status.success(), "{imported:?}");
    let plan = [
        "predict",
        "--paper",
        "paper 0",
        "--thread",
        "thread 1",
        "--sections",
        "24",
        "--sheets",
        "4",
        "--target",
        "25..35",
        "--json",
    ];
    println!("40 trials, 400 readings; median of {RUNS} whole processes");
    let fit = report("fit --json", median(RUNS, || swellbook(&book, &["fit", "--json"])), 60.0);
    let predict = report("predict --json", median(RUNS, || swellbook(&book, &plan)), 60.0);
    report("predict --help", median(RUNS, || swellbook(&book, &["predict", "--help"])), 10.0);
    let many = twenty_threads(folder.path(), &sheet_path);
    let choices = report("plan, 960 ways", median(RUNS, || swellbook(&many, &CHOICES)), 300.0);
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/peer_lme4.R");
    let peer = median(PEER_RUNS, || {
        let mut command = Command::new("Rscript");
        command.arg(script).arg(&sheet_path);
        command
    });
    match peer.map(milliseconds) {
        Some(peer) => {
            println!("R, one lme4 fit    {peer:>8.1} ms   median of {PEER_RUNS}");
            for (what, time, bar) in
                [("fit", fit, 20.0), ("predict", predict, 20.0), ("plan", choices, 5.0)]
            {
                let Some(ratio) = time.map(|time| peer / time) else { continue };
                let verdict = if ratio >= bar { "met" } else { "MISSED" };
                println!("{what} is {ratio:.0} times as fast; bar {bar} times: {verdict}");
            }
        }
        None => println!("R with lme4 is not there, so the peer was not run"),
    }
}
