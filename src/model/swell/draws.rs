//! A fit as draws, for who wants to work on with it elsewhere.

use super::beliefs::{Coefficient, SwellSpread};
use super::fit::SwellFit;
use crate::model::mixed::{Functional, Mixture};
use crate::observe::Observations;

/// An unknown of the swell model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    Coefficient(Coefficient),
    /// u of a paper: what it adds to the factor.
    Paper(usize),
    /// w of a paper: what it adds to knocking down.
    PaperKnocked(usize),
    /// f of a paper: what it adds to the fold, in mm per section.
    PaperFold(usize),
    /// What a thread adds to the factor.
    Thread(usize),
    /// What a hand adds to the factor.
    Hand(usize),
}

/// The draws of the spreads, with what is known of everything else at each of them.
#[derive(Clone, Debug)]
pub struct WeightedDraws {
    /// The weights, which sum to one.
    pub weights: Vec<f64>,
    pub spreads: Vec<(SwellSpread, Vec<f64>)>,
    /// Each unknown: given the spreads of a draw it is normal.
    pub unknowns: Vec<(Unknown, Mixture)>,
}

/// Draws of everything together that all count alike.
#[derive(Clone, Debug)]
pub struct PlainDraws {
    pub count: usize,
    pub spreads: Vec<(SwellSpread, Vec<f64>)>,
    pub unknowns: Vec<(Unknown, Vec<f64>)>,
}

impl SwellFit {
    /// The draws of the spreads with their weights, and mean and standard deviation of every
    /// unknown of the observations `all` that the fit is of.
    pub fn weighted_draws(&self, all: &Observations) -> WeightedDraws {
        let (unknowns, asked) = self.unknowns(all);
        let spread = |&(name, id): &(_, _)| (name, self.posterior.spread_draws(id));
        WeightedDraws {
            weights: self.posterior.weights().to_vec(),
            spreads: self.parts.spreads().iter().map(spread).collect(),
            unknowns: unknowns.into_iter().zip(self.posterior.project(&asked)).collect(),
        }
    }

    /// So many draws of all spreads and unknowns together; the same seed gives the same draws.
    pub fn plain_draws(&self, all: &Observations, count: usize, seed: u64) -> PlainDraws {
        let (unknowns, asked) = self.unknowns(all);
        let rows = self.posterior.sample(&asked, count, seed);
        let spreads = self.parts.spreads().iter().map(|&(name, id)| {
            let drawn = self.posterior.spread_draws(id);
            (name, rows.iter().map(|row| drawn[row.draw]).collect())
        });
        let column = |(at, unknown)| (unknown, rows.iter().map(|row| row.values[at]).collect());
        PlainDraws {
            count: rows.len(),
            spreads: spreads.collect(),
            unknowns: unknowns.into_iter().enumerate().map(column).collect(),
        }
    }

    fn unknowns(&self, all: &Observations) -> (Vec<Unknown>, Vec<Functional>) {
        let coefficients = Coefficient::ALL.into_iter().map(|name| {
            let one = Functional::default().plus(self.parts.coefficient(name), 1.0);
            (Unknown::Coefficient(name), one)
        });
        let papers = (0..all.papers.len()).flat_map(|level| {
            let [own, knocked, fold] = self.parts.of_paper(level);
            [
                (Unknown::Paper(level), own),
                (Unknown::PaperKnocked(level), knocked),
                (Unknown::PaperFold(level), fold),
            ]
        });
        let threads = (0..all.threads.len())
            .map(|level| (Unknown::Thread(level), self.parts.thread(Some(level), 1.0)));
        // With a single hand it has no effect of its own.
        let hands = if all.hands.len() > 1 { all.hands.len() } else { 0 };
        let hands =
            (0..hands).map(|level| (Unknown::Hand(level), self.parts.hand(Some(level), 1.0)));
        coefficients.chain(papers).chain(threads).chain(hands).unzip()
    }
}
