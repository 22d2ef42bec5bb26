//! How far standard deviations are off because the spreads are integrated by draws: random books,
//! each fitted as the program does it and once more with 2^17 points.
//!
//! `cargo bench --bench integration` runs 2,000 books of one to sixteen trials (most of an hour);
//! `-- BOOKS FIRST` so many from that seed on. Each book is made up twice: drawn from the beliefs,
//! and with blocks that differ as no belief has them.

#[path = "../tests/promises/random_books.rs"]
#[allow(dead_code)]
mod random_books;
#[path = "../tests/promises/simulated.rs"]
#[allow(dead_code)]
mod simulated;
#[path = "../tests/promises/worlds.rs"]
#[allow(dead_code)]
mod worlds;

use random_books::{Random, Size, mm};
use simulated::{Extent, Truth, World};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use swellbook::book::Entries;
use swellbook::model::mixed::MixedParams;
use swellbook::model::{Beliefs, Plan, PlannedPaper, PlannedThread, Run, SwellFit};
use swellbook::observe::{Observations, Weighing, observe_entries};
use swellbook::trade::{Hardness, Sewing, State};

const BOOKS: u64 = 2_000;
const FIRST: u64 = 40_000;
const POINTS: usize = 131_072;
/// What a standard deviation may be off by, as a share of it.
const BAR: f64 = 0.02;

/// What was found in one book.
struct Found {
    seed: u64,
    rows: usize,
    draws: usize,
    effective: f64,
    /// The farthest standard deviation of a prediction, of a coefficient and of a spread.
    off: [f64; 3],
}

fn main() {
    let numbers: Vec<u64> = std::env::args().filter_map(|word| word.parse().ok()).collect();
    let books = numbers.first().copied().unwrap_or(BOOKS);
    let first = numbers.get(1).copied().unwrap_or(FIRST);
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

/// Odd seeds are drawn from the beliefs, even ones are not.
fn entries_of(seed: u64) -> Entries {
    let random = &mut Random::new(seed);
    let trials = random.whole(1, 16);
    if seed.is_multiple_of(2) {
        let size = Size { trials: (trials, trials), ..Size::ANY };
        return random_books::entries(seed, size);
    }
    let papers = usize::from(random.whole(1, trials.min(4)));
    let extent = Extent { papers, trials_each: usize::from(trials) / papers };
    let truth = Truth::draw(random, extent, World::default());
    truth.entries(random, extent.trials_each).0
}

/// A book of a paper and a thread that were tried, short and long, and one of a new paper.
fn plans(all: &Observations) -> Vec<Plan> {
    let (paper, thread) = (&all.papers[0], &all.threads[0]);
    let known = PlannedPaper {
        name: paper.name.clone(),
        level: Some(0),
        caliper_mm: paper.caliper_mm,
        hardness: paper.hardness,
    };
    let new = PlannedPaper {
        name: random_books::name("never tried"),
        level: None,
        caliper_mm: 0.12,
        hardness: Hardness::Soft,
    };
    let thread = PlannedThread {
        name: thread.name.clone(),
        level: Some(0),
        diameter_mm: thread.diameter_mm,
    };
    let plan = |paper: &PlannedPaper, sections, on, state| {
        let sewing = Sewing::new(sections, 4, on, 1).expect("a sewing");
        let (paper, thread) = (paper.clone(), thread.clone());
        Plan::new(vec![Run { paper, thread, sewing, boned: false }], state).expect("a plan")
    };
    vec![
        plan(&known, 10, 1, State::Sewn),
        plan(&known, 32, 2, State::Knocked),
        plan(&new, 24, 1, State::Knocked),
    ]
}

/// Standard deviations of predictions, coefficients and spreads.
fn deviations(fit: &SwellFit, plans: &[Plan]) -> [Vec<f64>; 3] {
    let predictions = fit.predict_each(plans);
    [
        predictions.iter().map(|one| one.swell.sd()).collect(),
        fit.coefficients().iter().map(|(_, one)| one.sd()).collect(),
        fit.spreads().iter().map(|(_, one, _)| one.sd).collect(),
    ]
}

fn compared(seed: u64) -> Option<Found> {
    let all = observe_entries(&entries_of(seed), mm(0.01), Weighing::Judged).expect("a book");
    let beliefs = Beliefs::default();
    let fit = SwellFit::new(&all, &beliefs).ok()?;
    let params = MixedParams::new().draws(POINTS).minimum_effective(1.0);
    let truth = SwellFit::with(&all, &beliefs, params).expect("so many points");
    let plans = plans(&all);
    let (ours, theirs) = (deviations(&fit, &plans), deviations(&truth, &plans));
    let off = |k: usize| {
        ours[k].iter().zip(&theirs[k]).map(|(a, b)| (a / b - 1.0).abs()).fold(0.0, f64::max)
    };
    let record = fit.record();
    let (draws, effective) = (record.draws, record.effective_draws);
    Some(Found { seed, rows: all.rows.len(), draws, effective, off: [off(0), off(1), off(2)] })
}

fn report(mut found: Vec<Found>, refused: usize) {
    println!("{} books, {refused} refused", found.len() + refused);
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
