//! Turns a book's entries into the slow model's observations, by docs/model.md alone.

use crate::support::dense::{Block, Linear, Own};
use swellbook::book::Book;
use swellbook::trade::{Edge, Reading, State, Trial};

/// The number of hands that sewed in the book.
pub fn hands(book: &Book) -> usize {
    let mut hands: Vec<_> = book.trials().iter().map(|trial| trial.hand.clone()).collect();
    hands.sort();
    hands.dedup();
    hands.len()
}

/// An observed swell, with its noise and its expectation.
pub struct Observed {
    pub swell: f64,
    pub noise: f64,
    pub expected: Linear,
}

fn set(book: &Book, trial: &Trial, state: State, edge: Edge) -> Vec<f64> {
    let here = |reading: &&Reading| reading.trial == trial.name && reading.state == state;
    let readings = book.readings().iter().filter(here);
    readings.filter_map(|reading| reading.edge(edge)).map(|value| value.mm()).collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// s², pooled over every set, with a prior of four degrees of freedom at a tenth of a millimetre.
pub fn repeatability(book: &Book) -> f64 {
    let (mut squares, mut freedom) = (4.0 * 0.10 * 0.10, 4.0);
    for trial in book.trials() {
        for state in State::ALL {
            for edge in [Edge::Spine, Edge::ForeEdge] {
                let values = set(book, trial, state, edge);
                if let Some(more) = values.len().checked_sub(1) {
                    let middle = mean(&values);
                    freedom += more as f64;
                    squares += values.iter().map(|value| (value - middle).powi(2)).sum::<f64>();
                }
            }
        }
    }
    squares / freedom
}

pub fn observations(book: &Book) -> Vec<Observed> {
    let s2 = repeatability(book);
    let shown = book.config().resolution.mm();
    let (mut all, hands) = (Vec::new(), hands(book) > 1);
    for trial in book.trials() {
        for state in State::ALL {
            let spine = set(book, trial, state, Edge::Spine);
            let fore = set(book, trial, state, Edge::ForeEdge);
            if spine.is_empty() || fore.is_empty() {
                continue;
            }
            let places = 1.0 / spine.len() as f64 + 1.0 / fore.len() as f64;
            let stage = format!("{}/{state}", trial.name);
            all.push(Observed {
                swell: mean(&spine) - mean(&fore) - trial.guards.mm(),
                noise: s2 * places + 2.0 * shown * shown / 12.0,
                expected: Block::of_trial(trial, book, hands)
                    .swell(state, Own { stage: &stage, ..Own::all(trial.name.as_str()) }),
            });
        }
    }
    all
}

/// Mean and variance of a paper's ratio of fore-edge to nominal thickness. For a paper without
/// trials they are the beliefs.
pub fn fore_edge_ratio(book: &Book, paper: &str) -> (f64, f64) {
    let mut precision = 1.0 / (0.05 * 0.05);
    let mut weighted = 1.04 * precision;
    for trial in book.trials().iter().filter(|trial| trial.paper.as_str() == paper) {
        let nominal = Block::of_trial(trial, book, false).nominal_fore_edge();
        let sets = State::ALL.into_iter().filter(|state| state.has_thread());
        let sets = sets.map(|state| set(book, trial, state, Edge::ForeEdge));
        let ratios: Vec<f64> =
            sets.filter(|set| !set.is_empty()).map(|set| mean(&set) / nominal).collect();
        if !ratios.is_empty() {
            precision += 1.0 / (0.02 * 0.02);
            weighted += mean(&ratios) / (0.02 * 0.02);
        }
    }
    (weighted / precision, 1.0 / precision)
}
