//! Four ways to predict a block that was left out.

use super::block::{Block, Expected, Seen};
use super::line::PredictiveLine;
use super::predictive::Predictive;
use crate::model::lines::points;
use crate::model::{ModelError, SwellFit};
use crate::observe::Observations;

/// A way to predict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Way {
    /// The book's own fit.
    Own,
    /// The beliefs alone.
    Nominal,
    /// One straight line of swell on thread build-up for all papers.
    OneLine,
    /// One such line for each paper.
    LinePerPaper,
}

impl Way {
    /// Every way, the book's own fit first.
    pub const ALL: [Self; 4] = [Self::Own, Self::Nominal, Self::OneLine, Self::LinePerPaper];

    /// Its name in JSON.
    pub fn name(self) -> &'static str {
        match self {
            Self::Own => "own_fit",
            Self::Nominal => "nominal",
            Self::OneLine => "one_line",
            Self::LinePerPaper => "line_per_paper",
        }
    }
}

/// What the ways say of a block, and the own fit in more detail.
#[derive(Clone, Debug)]
pub struct WayAnswers {
    /// For each state seen the answer of each of [`Way::ALL`]; `None` where there are not enough
    /// trials for a line.
    pub states: Vec<[Option<Predictive>; 4]>,
    /// What the own fit expects.
    pub expected: Expected,
}

/// Predicts `block` from the observations of the other trials, their fit and the beliefs alone.
///
/// # Errors
/// As [`Block::plan`].
pub fn predict_ways(
    block: &Block,
    others: &Observations,
    fit: &SwellFit,
    nominal: &SwellFit,
) -> Result<WayAnswers, ModelError> {
    let expected = fit.expect(block)?;
    let untried = block.plans()?.into_iter().map(|plan| nominal.predict(&plan.untried()).swell);
    let states =
        (block.seen.iter().zip(&expected.swells).zip(untried)).map(|((seen, own), untried)| {
            [
                Some(Predictive::Mixture(own.with_noise(seen.variance))),
                Some(Predictive::Mixture(untried.with_noise(seen.variance))),
                line(block, seen, others, None),
                line(block, seen, others, block.run.paper.level),
            ]
        });
    Ok(WayAnswers { states: states.collect(), expected })
}

/// The line of the other trials in this state; of one paper where there is one.
fn line(
    block: &Block,
    seen: &Seen,
    others: &Observations,
    paper: Option<usize>,
) -> Option<Predictive> {
    let (build_up, swell) = points(others, paper, seen.state);
    let line = PredictiveLine::new(build_up, &swell).ok().flatten()?;
    Some(Predictive::Line(line.at(block.run.build_up_mm())))
}
