//! Ways to predict a block that was left out.

use super::block::{Block, Expected, Seen};
use super::line::PredictiveLine;
use super::predictive::Predictive;
use super::share::share_at;
use crate::model::plain::lines::points;
use crate::model::{ModelError, SwellFit};
use crate::observe::Observations;
use serde::Serialize;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// The book's own fit.
    #[serde(rename = "own_fit")]
    Own,
    /// The beliefs alone.
    Nominal,
    /// One straight line of swell on thread build-up for all papers.
    OneLine,
    /// One such line for each paper.
    LinePerPaper,
    /// Each paper's mean swell over thread build-up, as a binder works it out by hand.
    SharePerPaper,
}

impl Way {
    /// All ways, the book's own fit first.
    pub const ALL: [Self; 5] =
        [Self::Own, Self::Nominal, Self::OneLine, Self::LinePerPaper, Self::SharePerPaper];
}

/// One value for each of [`Way::ALL`], in the same order; `None` where there are too few trials.
pub type OfWays<T> = [Option<T>; Way::ALL.len()];

/// The answers of all ways, for each measured state of a block.
pub type WayAnswers = Vec<OfWays<Predictive>>;

/// Predicts a block in every way: from the fit of the other trials (`expected`), from the beliefs
/// alone, and from straight lines and shares of the other trials.
pub fn predict_ways(
    block: &Block,
    expected: &Expected,
    others: &Observations,
    nominal: &SwellFit,
) -> Result<WayAnswers, ModelError> {
    let untried = block.plans()?.into_iter().map(|plan| nominal.predict(&plan.untried()).swell);
    let mixtures = expected.swells.iter().zip(untried);
    let answers = block.seen.iter().zip(mixtures).map(|(seen, (own, untried))| {
        [
            Some(Predictive::Mixture(own.with_noise(seen.variance))),
            Some(Predictive::Mixture(untried.with_noise(seen.variance))),
            line(block, seen, others, None),
            line(block, seen, others, block.run.paper.level),
            share_at(&block.run, seen.state, others).map(Predictive::Student),
        ]
    });
    Ok(answers.collect())
}

/// The line through the other trials in this state, or through those of `paper` if it is given.
fn line(
    block: &Block,
    seen: &Seen,
    others: &Observations,
    paper: Option<usize>,
) -> Option<Predictive> {
    let (build_up, swell) = points(others, paper, seen.state);
    let line = PredictiveLine::new(build_up, &swell).ok().flatten()?;
    Some(Predictive::Student(line.at(block.run.build_up_mm())))
}
