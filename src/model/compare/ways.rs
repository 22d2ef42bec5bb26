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

/// For each state seen of a block the answer of each of [`Way::ALL`]; `None` where there are not
/// enough trials for a line.
pub type WayAnswers = Vec<[Option<Predictive>; 4]>;

/// Predicts a block from what the fit of the other trials expects of it, from the beliefs alone
/// and from straight lines through the other trials.
///
/// # Errors
/// As [`Block::plan`].
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
        ]
    });
    Ok(answers.collect())
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
