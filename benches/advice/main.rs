//! Simulates whether following the advice of `next` beats other trial blocks of the same cost.
//!
//! `cargo bench --bench advice` prints the tables. `-- --quick` makes a small run, and `-- --write`
//! also writes docs/advice.md.

// Other benches and the tests use the rest.
#[allow(dead_code)]
#[path = "../../tests/promises/support"]
mod support {
    pub mod advised;
    pub mod random_books;
    pub mod simulated;
    pub mod worlds;
}

mod page;

use support::advised::{Advised, advised};

/// Minutes at the bench.
const BUDGETS: [f64; 2] = [120.0, 240.0];
/// The first seed. Both budgets use the same worlds.
const SEEDS: u64 = 20_261_101;

pub(crate) struct Case {
    pub(crate) budget: f64,
    pub(crate) worlds: Vec<Advised>,
    /// Worlds whose fit was refused.
    pub(crate) refused: usize,
}

fn run(budget: f64, count: u64) -> Case {
    let cores = std::thread::available_parallelism().map_or(1, usize::from) as u64;
    let step = count.div_ceil(cores).max(1);
    let made: Vec<Option<Advised>> = std::thread::scope(|scope| {
        let one = move |world| advised(SEEDS + world, budget);
        let handles: Vec<_> = (0..count)
            .step_by(step as usize)
            .map(|from| {
                let range = from..count.min(from + step);
                scope.spawn(move || range.map(one).collect::<Vec<_>>())
            })
            .collect();
        handles.into_iter().flat_map(|handle| handle.join().expect("a simulation")).collect()
    });
    let worlds: Vec<Advised> = made.into_iter().flatten().collect();
    let refused = count as usize - worlds.len();
    eprintln!("{budget} minutes: {} worlds", worlds.len());
    Case { budget, worlds, refused }
}

fn main() {
    let given = |flag: &str| std::env::args().any(|argument| argument == flag);
    let count = if given("--quick") { 40 } else { 400 };
    let page = page::page(&BUDGETS.map(|budget| run(budget, count)));
    println!("{page}");
    if given("--write") {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/advice.md");
        std::fs::write(path, page).expect("docs/advice.md is written");
    }
}
