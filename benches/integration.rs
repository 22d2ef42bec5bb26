//! Measures the error of integrating the spreads by draws. Each random book is fitted twice: as the
//! program does, and with 2^15 points. If these show more than half of the allowed error, it is
//! fitted with 2^17 points.
//!
//! `cargo bench --bench integration` runs 2,000 books of one to sixteen trials (ten minutes or
//! more). `-- BOOKS FIRST` runs BOOKS books from seed FIRST. `-- long BOOKS FIRST` runs books of
//! several hundred trials. Every second book is drawn from the beliefs; the blocks of the others
//! differ in ways that no belief describes.

// Other benches and the tests use the rest.
#[allow(dead_code)]
#[path = "../tests/promises/support"]
mod support {
    pub mod random_books;
    pub mod simulated;
    pub mod worlds;
}
#[path = "../tests/promises/evidence/deviations.rs"]
#[allow(dead_code)]
mod deviations;

use deviations::{BAR, Found, compared, compared_long};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

const BOOKS: u64 = 2_000;
const FIRST: u64 = 40_000;

fn main() {
    let numbers: Vec<u64> = std::env::args().filter_map(|word| word.parse().ok()).collect();
    let books = numbers.first().copied().unwrap_or(BOOKS);
    let first = numbers.get(1).copied().unwrap_or(FIRST);
    let long = std::env::args().any(|word| word == "long");
    let compared = if long { compared_long } else { compared };
    let (next, found) = (AtomicU64::new(first), Mutex::new((Vec::new(), 0)));
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                loop {
                    let seed = next.fetch_add(1, Ordering::Relaxed);
                    if seed >= first + books {
                        return;
                    }
                    let one = compared(seed);
                    let mut found = found.lock().expect("no thread panics with it");
                    match one {
                        Some(one) => found.0.push(one),
                        None => found.1 += 1,
                    }
                }
            });
        }
    });
    let (found, refused) = found.into_inner().expect("no thread panics with it");
    report(found, refused);
}

fn report(mut found: Vec<Found>, refused: usize) {
    println!("{} books, {refused} refused", found.len() + refused);
    found.sort_by_key(|one| one.evaluations);
    let mean = found.iter().map(|one| one.evaluations).sum::<usize>() / found.len();
    let [half, most] =
        [0.5, 0.9].map(|share| found[(share * (found.len() - 1) as f64) as usize].evaluations);
    println!("evaluations: half up to {half}, nine in ten up to {most}, on average {mean}");
    let asked = ["prediction", "coefficient", "spread", "prediction under wider beliefs"];
    for (k, what) in asked.into_iter().enumerate() {
        report_one(&mut found, what, "standard deviation", |one| one.off[k][0]);
        report_one(&mut found, what, "mean or quantile", |one| one.off[k][1]);
    }
}

fn report_one(found: &mut [Found], what: &str, figure: &str, off: impl Fn(&Found) -> f64) {
    found.sort_by(|a, b| off(b).total_cmp(&off(a)));
    let beyond = found.iter().filter(|one| off(one) > BAR).count();
    let at = |share: f64| 100.0 * off(&found[(share * (found.len() - 1) as f64) as usize]);
    println!(
        "{figure} of a {what}: half under {:.2} %, 99 in 100 under {:.2} %, worst {:.2} %; {beyond} \
         beyond {:.0} %",
        at(0.5),
        at(0.01),
        at(0.0),
        100.0 * BAR
    );
    for one in found.iter().take(4) {
        println!(
            "  seed {}: {} observations, {:.0} of {} draws count, off {:.2} %",
            one.seed,
            one.rows,
            one.effective,
            one.draws,
            100.0 * off(one)
        );
    }
}
