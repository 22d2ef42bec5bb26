//! The best ways to sew a book, beside its target.

use crate::jobs::fitted::Bench;
use crate::jobs::forecast::answer_beyond::Beyond;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::plan::answer::{Choice, Choices};
use crate::jobs::plan::answer_way::Way;
use crate::jobs::plan_spec::answer_band::Band;
use crate::jobs::plan_spec::answer_question::{Question, Sewer};
use crate::trade::{Caution, State};
use crate::units::Millimetres;

/// One way to sew the book.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanRow {
    pub way: Way,
    /// Swell in per cent of the fore-edge.
    pub percent: PercentRange,
    /// The chance of meeting the target.
    pub chance: f64,
    /// Length of thread to lay ready.
    pub thread: Millimetres,
    pub cautions: Vec<Caution>,
    /// Whether it meets the target, with odds as good as the best as far as the model can tell.
    pub is_among_best: bool,
    /// How it goes beyond the trials.
    pub beyond: Beyond,
}

/// The best ways to sew a book, best first; the nearest first if none meets the target.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanView {
    pub paper: String,
    pub leaves: u32,
    /// The state that the target applies to.
    pub state: State,
    /// The wanted swell.
    pub target: Band,
    /// Whose sewing is predicted, in a book of several hands.
    pub sewer: Option<Sewer>,
    pub rows: Vec<PlanRow>,
    /// Number of ways considered.
    pub considered: usize,
    /// Whether the best odds are high enough to say that a way meets the target.
    pub is_met: bool,
    /// The best chance of any way.
    pub most: f64,
}

impl PlanView {
    /// How many of the first ways have odds as good as the best, as far as the model can tell.
    pub fn among_best(&self) -> usize {
        self.rows.iter().take_while(|row| row.is_among_best).count()
    }

    /// The cautions of the ways, each once, in the order in which they appear.
    pub fn cautions(&self) -> Vec<Caution> {
        let mut found = Vec::new();
        for caution in self.rows.iter().flat_map(|row| &row.cautions) {
            if !found.contains(caution) {
                found.push(*caution);
            }
        }
        found
    }
}

/// The best `count` choices of a search.
pub fn plan_view(bench: &Bench, question: &Question, choices: &Choices, count: usize) -> PlanView {
    let is_met = choices.is_met();
    let row = |choice: Choice| PlanRow {
        way: choice.way,
        percent: choice.percent,
        chance: choice.chance,
        thread: choice.thread,
        cautions: choice.cautions,
        is_among_best: is_met && choice.group == 1,
        beyond: choice.beyond,
    };
    PlanView {
        paper: question.paper.name.to_string(),
        leaves: question.leaves,
        state: question.state,
        target: question.target.clone(),
        sewer: Sewer::of(bench, question.hand),
        rows: choices.best(count).into_iter().map(row).collect(),
        considered: choices.considered(),
        is_met,
        most: choices.most(),
    }
}
