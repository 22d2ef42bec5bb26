//! Where coefficients are correlated and a book believes so, ranges hold as often as they say.
//!
//! Worlds are drawn from the correlated beliefs, two factors shared by all coefficients; a book has one
//! trial, so that beliefs say most.

use crate::evidence::coverage::{assert_even, assert_held};
use crate::support::simulated::{Asked, Extent, Held, Kind, Outcome, Simulation, World, simulate};
use crate::support::worlds::correlated_beliefs;
use std::sync::OnceLock;
use swellbook::model::Beliefs;

const BOOKS: u64 = 100;

/// The same worlds and books, believed to be these.
fn drawn(beliefs: Beliefs, posterior: bool) -> Vec<Outcome> {
    let what = Simulation {
        extent: Extent { papers: 1, trials_each: 1 },
        world: World { correlated: true, ..World::default() },
        asked: Asked { ranges: false, posterior },
        beliefs,
        ..Simulation::default()
    };
    (0..BOOKS).map(|book| simulate(70_000 + book, &what).expect("a fit")).collect()
}

fn outcomes() -> &'static [Outcome] {
    static DRAWN: OnceLock<Vec<Outcome>> = OnceLock::new();
    DRAWN.get_or_init(|| drawn(correlated_beliefs(), true))
}

/// 90 ± 10.5 % and 50 ± 17.5 %, the bars of the coverage of independent beliefs for so many books.
#[test]
fn ranges_under_correlated_beliefs_hold_as_often_as_they_say() {
    let shares = || outcomes().iter().flat_map(|outcome| outcome.held).map(|held| held.share_mm);
    let inside = shares().filter(|share| (0.05..=0.95).contains(share)).count();
    println!("{inside} of {} in the 90 % range", shares().count());
    assert_held(outcomes());
}

#[test]
fn ranks_of_correlated_coefficients_are_even() {
    assert_even(outcomes());
}

/// That coefficients go together is worth knowing: the same books are predicted better than under
/// beliefs that are as wide and independent. A prediction's score is `ln s + ½·((W − m)/s)²` with its
/// mean m and standard deviation s, which the truth's own distribution makes least on average (Dawid
/// and Sebastiani 1999, Annals of Statistics 27, 65–81, from memory); unlike a miss in mm it counts
/// long books and short ones alike. Books are paired, and the mean difference must be two standard
/// errors away from nothing.
#[test]
fn correlated_beliefs_predict_better_where_they_are_right() {
    let score = |outcome: &Outcome| {
        let of = |held: &Held| {
            held.sd_mm.ln() + 0.5 * ((held.swell_mm - held.mean_mm) / held.sd_mm).powi(2)
        };
        outcome.held.iter().map(of).sum::<f64>() / Kind::ALL.len() as f64
    };
    let independent = drawn(Beliefs::default(), false);
    let pairs = outcomes().iter().zip(&independent);
    let gains: Vec<f64> = pairs.map(|(ours, other)| score(other) - score(ours)).collect();
    let count = gains.len() as f64;
    let mean = gains.iter().sum::<f64>() / count;
    let variance = gains.iter().map(|gain| (gain - mean).powi(2)).sum::<f64>() / (count - 1.0);
    let error = (variance / count).sqrt();
    println!("better by {mean:.4} ± {error:.4}");
    assert!(mean > 2.0 * error, "better by {mean} ± {error}");
}
