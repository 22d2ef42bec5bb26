//! If coefficients are correlated and a book's beliefs say so, ranges hold as often as they say.
//!
//! Worlds are drawn from the correlated beliefs, with two factors shared by all coefficients. A
//! book has one trial, so that beliefs matter most.

use crate::evidence::coverage::{assert_even, assert_held};
use crate::support::simulated::{Asked, Extent, Held, Kind, Outcome, Simulation, World, simulate};
use crate::support::worlds::correlated_beliefs;
use std::sync::OnceLock;
use swellbook::model::Beliefs;

const BOOKS: u64 = 100;

/// The same worlds and books, fitted under these beliefs.
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

/// 90 ± 10.5 % and 50 ± 17.5 %: the bars for independent beliefs, with this many books.
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

/// Knowing the correlations helps: the same books are predicted better than under independent
/// beliefs of the same width. A prediction with mean m and standard deviation s has the score
/// `ln s + ½·((W − m)/s)²`. The true distribution makes this least on average (Dawid and Sebastiani
/// 1999, Annals of Statistics 27, 65–81, from memory). Unlike a miss in mm, it counts long and
/// short books alike. Books are paired, and the mean difference must be two standard errors above
/// zero.
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
