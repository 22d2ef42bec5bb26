//! How far standard deviations are off because the spreads are integrated by draws: random books,
//! each fitted as the program does it and once more with 2^15 points, and with 2^17 where it is more
//! than half of what is allowed off those.
//!
//! `cargo bench --bench integration` runs 2,000 books of one to sixteen trials (half an hour);
//! `-- BOOKS FIRST FEWEST MOST` so many from that seed on, of so many trials. Odd seeds are books
//! drawn from the beliefs, even ones have blocks that differ as no belief has them.

#[path = "../tests/promises/deviations.rs"]
#[allow(dead_code)]
mod deviations;
#[path = "../tests/promises/random_books.rs"]
#[allow(dead_code)]
mod random_books;
#[path = "../tests/promises/simulated.rs"]
#[allow(dead_code)]
mod simulated;
#[path = "../tests/promises/worlds.rs"]
#[allow(dead_code)]
mod worlds;

use deviations::{BAR, Found, compared};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

const BOOKS: u64 = 2_000;
const FIRST: u64 = 40_000;

fn main() {
    let numbers: Vec<u64> = std::env::args().filter_map(|word| word.parse().ok()).collect();
    let books = numbers.first().copied().unwrap_or(BOOKS);
    let first = numbers.get(1).copied().unwrap_or(FIRST);
    let number = |at: usize, usual: u64| numbers.get(at).copied().unwrap_or(usual) as u16;
    let trials = (number(2, 1), number(3, 16));
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
                    let one = compared(seed, trials);
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
    let middle = |of: &dyn Fn(&Found) -> f64| {
        let mut values: Vec<f64> = found.iter().map(of).collect();
        values.sort_by(f64::total_cmp);
        let at = |share: f64| values[(share * (values.len() - 1) as f64) as usize];
        format!("{:.2} at the middle, {:.2} at 9 in 10, {:.2} at most", at(0.5), at(0.9), at(1.0))
    };
    println!("evaluations: {}", middle(&|one| one.evaluations as f64));
    println!("draws that do not count: {}", middle(&|one| 1.0 - one.effective / one.draws as f64));
    for (k, what) in ["prediction", "coefficient", "spread"].into_iter().enumerate() {
        found.sort_by(|a, b| b.off[k].total_cmp(&a.off[k]));
        let beyond = found.iter().filter(|one| one.off[k] > BAR).count();
        let at = |share: f64| 100.0 * found[(share * (found.len() - 1) as f64) as usize].off[k];
        println!(
            "sd of a {what}: half under {:.2} %, 99 in 100 under {:.2} %, worst {:.2} %; {beyond} \
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
                100.0 * one.off[k]
            );
        }
    }
}
