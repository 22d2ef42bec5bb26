//! A fit as draws, for further work in other programs.

use super::beliefs::{Coefficient, SwellSpread};
use super::fit::SwellFit;
use crate::model::mixed::{Functional, Mixture};
use crate::observe::Observations;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    Coefficient(Coefficient),
    /// u of a paper, added to the factor.
    Paper(usize),
    /// w of a paper, added to the effect of knocking down.
    PaperKnocked(usize),
    /// f of a paper, added to the fold, in mm per section.
    PaperFold(usize),
    /// Added to the factor by a thread.
    Thread(usize),
    /// Added to the factor by a hand.
    Hand(usize),
}

/// The draws of the spreads, with the distribution of everything else at each of them.
#[derive(Clone, Debug)]
pub struct WeightedDraws {
    /// They sum to one.
    pub weights: Vec<f64>,
    pub spreads: Vec<(SwellSpread, Vec<f64>)>,
    /// Each unknown. It is normal given the spreads of a draw.
    pub unknowns: Vec<(Unknown, Mixture)>,
}

/// Equally weighted draws of everything together.
#[derive(Clone, Debug)]
pub struct PlainDraws {
    pub count: usize,
    pub spreads: Vec<(SwellSpread, Vec<f64>)>,
    pub unknowns: Vec<(Unknown, Vec<f64>)>,
}

impl SwellFit {
    /// The weighted draws of the spreads, with the mean and standard deviation of every unknown at
    /// each. `all` are the observations of the fit.
    pub fn weighted_draws(&self, all: &Observations) -> WeightedDraws {
        let (unknowns, asked) = self.unknowns(all);
        let spread = |&(name, id): &(_, _)| (name, self.posterior.spread_draws(id));
        WeightedDraws {
            weights: self.posterior.weights().to_vec(),
            spreads: self.parts.spreads().iter().map(spread).collect(),
            unknowns: unknowns.into_iter().zip(self.posterior.project(&asked)).collect(),
        }
    }

    /// `count` draws of all spreads and unknowns together. The same seed gives the same draws.
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
        let coefficients = Coefficient::ALL.map(Unknown::Coefficient).into_iter();
        let coefficients = coefficients.zip(self.parts.each_coefficient());
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
        let hands = (0..).map(Unknown::Hand).zip(self.each_hand(all));
        coefficients.chain(papers).chain(threads).chain(hands).unzip()
    }
}
