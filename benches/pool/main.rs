//! Simulates worlds of benches: how far a new bench misses and how often its ranges hold, with and
//! without a pool of what other benches learnt.
//!
//! `cargo bench --bench pool` prints the page, `-- --quick` makes a small run, and `-- --write`
//! also writes docs/pool.md. `-- --help` lists the other options.

// Other benches and the tests use the rest.
#[allow(dead_code)]
#[path = "../../tests/promises/support"]
mod support {
    pub mod many_benches;
    pub mod random_books;
    pub mod simulated;
    pub mod worlds;
}

mod answer;
mod options;
mod page;
mod tally;
mod worlds;

use clap::Parser;
use options::Options;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;
use support::many_benches::{BenchWorld, Benches, spread_evenly};
use worlds::{NewBenches, Outcome, Start, outcome};

const SEEDS: u64 = 20_261_201;
const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/pool.md");

pub(crate) struct Case {
    pub(crate) benches: Benches,
    pub(crate) worlds: Vec<Outcome>,
}

pub(crate) struct Run {
    pub(crate) starts: Vec<Start>,
    pub(crate) cases: Vec<Case>,
    pub(crate) new_benches: NewBenches,
    pub(crate) minutes: f64,
}

/// Runs `work` on every number below `count`; results are in order for any number of cores.
fn on_every_core<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let (next, done) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    let take = || {
        while let Some(at) = Some(next.fetch_add(1, Ordering::Relaxed)).filter(|at| *at < count) {
            let made = work(at);
            done.lock().expect("the other core goes on").push((at, made));
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(take);
        }
    });
    let mut done = done.into_inner().expect("every core is done");
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, made)| made).collect()
}

/// All kinds of world use the same draws, so the effect of a kind is seen on the same worlds.
fn case(options: &Options, starts: &[Start], benches: Benches) -> Case {
    let start = Instant::now();
    let seed = SEEDS + 1_000 * options.seed;
    let drawn = spread_evenly(seed, options.worlds(benches));
    let worlds = on_every_core(drawn.len(), |at| {
        let world = BenchWorld::new(benches, drawn[at], seed + at as u64);
        let outcome = outcome(&world, starts, options.new_benches());
        eprintln!("{}, world {at}: {:.0?}", benches.words(), start.elapsed());
        outcome
    });
    Case { benches, worlds }
}

fn main() {
    let options = Options::parse();
    let start = Instant::now();
    let starts = Start::all(options.sizes());
    let cases = Benches::ALL.map(|benches| case(&options, &starts, benches));
    let minutes = start.elapsed().as_secs_f64() / 60.0;
    let run = Run { starts, cases: cases.into(), new_benches: options.new_benches(), minutes };
    let page = page::page(&run);
    println!("{page}");
    if options.write {
        let before = std::fs::read_to_string(PAGE).unwrap_or_default();
        std::fs::write(PAGE, page + page::kept(&before)).expect("docs/pool.md is written");
    }
}
