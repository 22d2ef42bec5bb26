//! The best ways to sew a book beside what is wanted.

use crate::jobs::forecast::answer_beyond::Beyond;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::plan::answer::{Choice, Choices};
use crate::jobs::plan::answer_way::Way;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_question::Question;
use crate::trade::State;

/// One way to sew it.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanRow {
    pub way: Way,
    /// Swell in per cent of the fore-edge.
    pub percent: PercentRange,
    /// The chance of meeting the target.
    pub chance: f64,
    /// In what it lies beyond the trials.
    pub beyond: Beyond,
}

/// The best ways to sew a book, best first.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanView {
    pub paper: String,
    /// Leaves of the book.
    pub leaves: u32,
    /// The state that the target is meant for.
    pub state: State,
    /// The wanted swell.
    pub target: Band,
    /// The ways.
    pub rows: Vec<PlanRow>,
    /// How many ways were looked at.
    pub considered: usize,
    /// Whether the best odds are worth speaking of.
    pub is_met: bool,
}

/// The best `count` choices of a search.
pub fn plan_view(question: &Question, choices: &Choices, count: usize) -> PlanView {
    let row = |choice: Choice| PlanRow {
        way: choice.way,
        percent: choice.percent,
        chance: choice.chance,
        beyond: choice.beyond,
    };
    PlanView {
        paper: question.paper.name.to_string(),
        leaves: question.leaves,
        state: question.state,
        target: question.target.clone(),
        rows: choices.best(count).into_iter().map(row).collect(),
        considered: choices.considered(),
        is_met: choices.is_met(),
    }
}
