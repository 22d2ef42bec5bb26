//! Counts shares, with their standard errors.

use crate::support::simulated::{Held, Kind, Outcome};
use std::fmt;

/// The 97.5 % quantile of the standard normal.
const SIDES: f64 = 1.959_963_984_540_054;

/// A share and its standard error. It is shown in per cent with half its 95 % interval.
#[derive(Clone, Copy)]
pub struct Share {
    pub share: f64,
    pub error: f64,
}

impl Share {
    /// The share of `hits` among `all` independent cases.
    pub fn of(hits: usize, all: usize) -> Self {
        let share = hits as f64 / all as f64;
        Self { share, error: (share * (1.0 - share) / all as f64).sqrt() }
    }
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} ± {:.1}", 100.0 * self.share, 100.0 * SIDES * self.error)
    }
}

/// A mean over books with its standard error. For one yes or no per book, the error is the binomial
/// one. For several, it allows for correlation within a book.
pub fn over_books(outcomes: &[Outcome], each: impl Fn(&Outcome) -> f64) -> Share {
    let values: Vec<f64> = outcomes.iter().map(each).collect();
    let count = values.len() as f64;
    let share = values.iter().sum::<f64>() / count;
    let variance = values.iter().map(|x| (x - share).powi(2)).sum::<f64>() / count;
    Share { share, error: (variance / count).sqrt() }
}

/// The unit of the predicted number.
#[derive(Clone, Copy)]
pub enum Of {
    Mm,
    Percent,
}

/// 1 if the range with probability `level` holds the truth, else 0: the share of the prediction
/// below the truth must be between the two ends.
fn holds(held: &Held, of: Of, level: f64) -> f64 {
    let share = match of {
        Of::Mm => held.share_mm,
        Of::Percent => held.share_percent,
    };
    if (share - 0.5).abs() <= 0.5 * level { 1.0 } else { 0.0 }
}

/// A mean over the new books of one book.
pub fn over_kinds(outcome: &Outcome, each: impl Fn(&Held) -> f64) -> f64 {
    outcome.held.iter().map(each).sum::<f64>() / Kind::ALL.len() as f64
}

/// How often the range holds for one kind of new book, or for all of them.
pub fn coverage(outcomes: &[Outcome], kind: Option<usize>, of: Of, level: f64) -> Share {
    over_books(outcomes, |outcome| match kind {
        Some(kind) => holds(&outcome.held[kind], of, level),
        None => over_kinds(outcome, |held| holds(held, of, level)),
    })
}

/// Targets with a predicted chance from `low` to `high`: their count, mean chance and share hit.
pub fn calibration(outcomes: &[Outcome], low: f64, high: f64) -> Option<(usize, f64, Share)> {
    let given: Vec<Held> = outcomes
        .iter()
        .flat_map(|outcome| outcome.held)
        .filter(|held| held.chance >= low && held.chance < high)
        .collect();
    let count = given.len() as f64;
    let mean = given.iter().map(|held| held.chance).sum::<f64>() / count;
    let hits = given.iter().filter(|held| held.hit).count();
    (!given.is_empty()).then_some((given.len(), mean, Share::of(hits, given.len())))
}
