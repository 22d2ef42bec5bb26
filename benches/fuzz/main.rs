//! Fuzzes the readers of tests/promises/hostile/targets.rs without a special compiler. Inputs are
//! mutated from the corpus in tests/corpus, and each reader must keep its promises.
//!
//! `cargo bench --bench fuzz -- --runs 1000000` shares the runs among the readers. `--target NAME`
//! gives them all to one reader, and `--seed N` makes other inputs. `--shapes` instead measures the
//! memory that very large inputs take.
//!
//! An input that fails is written to target/fuzz, and the exit code is 1. An input with a new
//! outcome (another message, ignoring numbers and quoted text) becomes a parent of later inputs.
//! The search therefore builds on what it has found.

#[path = "../../tests/promises/hostile/corpus.rs"]
mod corpus;
mod mutate;
#[path = "../../tests/promises/hostile/shapes.rs"]
mod shapes;
#[path = "../../tests/promises/hostile/targets.rs"]
mod targets;

use mutate::{Numbers, WORDS, mutate};
use std::collections::BTreeSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use targets::{TARGETS, Taken, Target};

/// The most parents kept for one reader, including its corpus.
const MOST_PARENTS: usize = 4000;
/// A reader is abandoned after this many failures.
const MOST_FAILURES: usize = 20;
/// An input that takes longer counts as a hang.
const HANGS: Duration = Duration::from_secs(30);

struct Wanted {
    runs: u64,
    seed: u64,
    target: Option<String>,
    shapes: Option<usize>,
}

impl Wanted {
    fn read() -> Self {
        let args: Vec<String> = std::env::args().collect();
        let after = |flag: &str| {
            let at = args.iter().position(|arg| arg == flag)?;
            args.get(at + 1).cloned()
        };
        let number = |flag| after(flag).map(|text| text.parse::<u64>().expect("a whole number"));
        Self {
            runs: number("--runs").unwrap_or(100_000),
            seed: number("--seed").unwrap_or(1),
            target: after("--target"),
            shapes: number("--shapes").map(|mebibytes| mebibytes as usize * 1024 * 1024),
        }
    }
}

/// What the watchdog looks at: when reading began, the name of the reader and its input.
type Current = Arc<Mutex<(Instant, String, Vec<u8>)>>;

fn main() -> ExitCode {
    let wanted = Wanted::read();
    if let Some(size) = wanted.shapes {
        measure_shapes(size);
        return ExitCode::SUCCESS;
    }
    let current: Current = Arc::new(Mutex::new((Instant::now(), String::new(), Vec::new())));
    watch(Arc::clone(&current));
    // The message of a panic is enough here; its input is saved to a file.
    std::panic::set_hook(Box::new(|info| eprintln!("{info}")));
    println!(
        "{:<10} {:>9} {:>7} {:>7} {:>9} {:>7}  failed",
        "target", "runs", "s", "kinds", "most KiB", "times"
    );
    let mut failed = 0;
    let shares: u64 = TARGETS.iter().map(|target| target.share).sum();
    for target in TARGETS.iter().copied() {
        let runs = match &wanted.target {
            None => wanted.runs * target.share / shares,
            Some(name) if name == target.name => wanted.runs,
            Some(_) => continue,
        };
        let mut hunt = Hunt::new(target, wanted.seed, Arc::clone(&current));
        let start = Instant::now();
        hunt.run(runs);
        println!(
            "{:<10} {:>9} {:>7.0} {:>7} {:>9.1} {:>7.2}  {}",
            target.name,
            hunt.done,
            start.elapsed().as_secs_f64(),
            hunt.seen.len(),
            hunt.most_kib,
            hunt.most_times,
            hunt.failures
        );
        failed += hunt.failures;
    }
    if failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// Ends the process when reading an input takes too long, and saves that input.
fn watch(current: Current) {
    std::thread::spawn(move || {
        loop {
            std::thread::sleep(Duration::from_secs(1));
            let Ok(held) = current.lock() else { continue };
            let (since, name, bytes) = &*held;
            if !bytes.is_empty() && since.elapsed() > HANGS {
                eprintln!("{name} hangs: {}", keep(name, bytes).display());
                std::process::exit(1);
            }
        }
    });
}

fn keep(target: &str, bytes: &[u8]) -> PathBuf {
    let dir = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/fuzz");
    std::fs::create_dir_all(&dir).expect("the folder target/fuzz");
    let path = dir.join(format!("{target}-{:016x}", hash(bytes)));
    std::fs::write(&path, bytes).expect("a file in target/fuzz");
    path
}

fn hash(what: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    what.hash(&mut hasher);
    hasher.finish()
}

/// The fuzzing of one reader, with its parents and totals.
struct Hunt {
    target: Target,
    numbers: Numbers,
    parents: Vec<Vec<u8>>,
    words: Vec<&'static str>,
    seen: BTreeSet<u64>,
    current: Current,
    done: u64,
    failures: usize,
    /// The most memory for an input under 16 KiB, and the most per byte of a larger one.
    most_kib: f64,
    most_times: f64,
}

impl Hunt {
    fn new(target: Target, seed: u64, current: Current) -> Self {
        let mut parents: Vec<Vec<u8>> =
            corpus::of(target.name).into_iter().map(|(_, bytes)| bytes).collect();
        parents.push(Vec::new());
        parents.extend(target.example());
        let words = [&WORDS[..], &target.words()].concat();
        let numbers = Numbers(seed ^ hash(target.name));
        let (seen, done, failures) = (BTreeSet::new(), 0, 0);
        Self {
            target,
            numbers,
            parents,
            words,
            seen,
            current,
            done,
            failures,
            most_kib: 0.0,
            most_times: 0.0,
        }
    }

    fn run(&mut self, runs: u64) {
        for parent in self.parents.clone() {
            self.try_one(parent);
        }
        while self.done < runs && self.failures < MOST_FAILURES {
            let count = self.parents.len();
            let from = self.numbers.below(count);
            let other = self.numbers.below(count);
            let (from, other) = (&self.parents[from], &self.parents[other]);
            let bytes = mutate(from, other, &self.words, &mut self.numbers);
            self.try_one(bytes);
        }
    }

    fn try_one(&mut self, bytes: Vec<u8>) {
        self.done += 1;
        if let Ok(mut current) = self.current.lock() {
            current.0 = Instant::now();
            self.target.name.clone_into(&mut current.1);
            current.2.clone_from(&bytes);
        }
        match catch_unwind(AssertUnwindSafe(|| targets::run(&self.target, &bytes))) {
            Ok(taken) => self.note(bytes, &taken),
            Err(_) => {
                self.failures += 1;
                eprintln!("  {}", keep(self.target.name, &bytes).display());
            }
        }
    }

    fn note(&mut self, bytes: Vec<u8>, taken: &Taken) {
        if bytes.len() < 16 * 1024 {
            self.most_kib = self.most_kib.max(taken.peak as f64 / 1024.0);
        } else {
            self.most_times = self.most_times.max(taken.peak as f64 / bytes.len() as f64);
        }
        let new = self.seen.insert(kind(taken));
        if new && self.parents.len() < MOST_PARENTS && bytes.len() < 2048 {
            self.parents.push(bytes);
        }
    }
}

/// A hash of the outcome: its first six distinct messages, without numbers and quoted text.
fn kind(taken: &Taken) -> u64 {
    let plain = |message: &String| {
        let unquoted: String = message.split('\'').step_by(2).collect();
        unquoted.chars().filter(|c| !c.is_ascii_digit()).take(80).collect::<String>()
    };
    let kinds: BTreeSet<String> = taken.outcome.iter().map(plain).collect();
    hash(kinds.into_iter().take(6).collect::<Vec<_>>())
}

/// The memory and time that very large inputs take.
fn measure_shapes(size: usize) {
    println!("{:<9} {:<32} {:>9} {:>7} {:>7}", "target", "input", "MiB", "times", "s");
    for shape in shapes::SHAPES.iter().chain(&shapes::SOUND) {
        let target = TARGETS.iter().find(|target| target.name == shape.target).expect("a target");
        let bytes = (shape.make)(size);
        let (length, start) = (bytes.len() as f64, Instant::now());
        let peak = targets::measure(target, &bytes).peak as f64;
        println!(
            "{:<9} {:<32} {:>9.1} {:>7.2} {:>7.2}",
            shape.target,
            shape.name,
            length / 1024.0 / 1024.0,
            peak / length,
            start.elapsed().as_secs_f64()
        );
    }
}
