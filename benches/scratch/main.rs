#[allow(dead_code)]
#[path = "../../tests/promises/support"]
mod support {
    pub mod random_books;
    pub mod simulated;
    pub mod worlds;
}
use std::fmt::Write as _;
use std::time::Instant;
use support::random_books::mm;
use support::simulated::*;
use swellbook::model::*;
use swellbook::observe::{Weighing, observe_entries};
fn main() {
    let out = std::env::var("SCRATCH_OUT").unwrap();
    let n: u64 = std::env::var("SCRATCH_N").ok().and_then(|x| x.parse().ok()).unwrap_or(4);
    for (papers, each) in [(1, 1), (1, 4), (3, 4), (5, 8)] {
        for seed in 0..n {
            let entries = simulated_entries(
                900 + seed,
                Extent { papers, trials_each: each },
                World::default(),
            );
            let all = observe_entries(&entries, mm(0.01), Weighing::Judged).unwrap();
            let beliefs = Beliefs::default();
            let t = Instant::now();
            let fit = match SwellFit::new(&all, &beliefs) {
                Ok(f) => f,
                Err(e) => {
                    println!("{e}");
                    continue;
                }
            };
            let took = t.elapsed();
            let t = Instant::now();
            let learnt = Learnt::of(&fit, &beliefs).unwrap();
            println!(
                "{papers}x{each} {seed}: rows {} fit {took:?} learnt {:?} draws {}",
                all.rows.len(),
                t.elapsed(),
                fit.record().draws
            );
            let mut text = String::new();
            let line = |text: &mut String, xs: &[f64]| {
                for x in xs {
                    let _ = write!(text, "{x:e} ");
                }
                text.push('\n');
            };
            learnt.information.iter().for_each(|r| line(&mut text, r));
            line(&mut text, &learnt.weighted);
            learnt.spreads.iter().for_each(|r| line(&mut text, r));
            for (w, m, c) in Learnt::scratch(&fit) {
                line(&mut text, &[vec![w], m, c].concat());
            }
            std::fs::write(format!("{out}/{papers}x{each}-{seed}.txt"), text).unwrap();
        }
    }
}
