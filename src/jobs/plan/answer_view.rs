//! The choices to show, and facts about the whole ranking.

use super::answer::{Choice, Choices};
use super::answer_changes::Changes;
use crate::jobs::fitted::Bench;
use crate::jobs::plan_spec::answer_question::{Question, Sewer};
use crate::trade::Caution;

/// The best ways to sew a book, best first; the nearest first if none meets the target.
#[derive(Clone, Debug)]
pub struct ChoicesView {
    pub question: Question,
    pub sewer: Option<Sewer>,
    pub best: Vec<Choice>,
    pub considered: usize,
    pub unguarded: Vec<u16>,
    /// Whether the best chance counts as meeting the target.
    pub is_met: bool,
    pub most: f64,
    /// The current plan, if given, and the single changes that improve it.
    pub current: Option<Changes>,
    /// Whether the height was given rather than assumed.
    pub height_given: bool,
    pub trials_used: usize,
}

impl ChoicesView {
    /// The best `count` choices, without a given height or a current plan.
    pub fn of(bench: &Bench, question: Question, choices: &Choices, count: usize) -> Self {
        Self {
            sewer: Sewer::of(bench, question.hand),
            question,
            best: choices.best(count),
            considered: choices.considered(),
            unguarded: choices.unguarded.clone(),
            is_met: choices.is_met(),
            most: choices.most(),
            current: None,
            height_given: false,
            trials_used: bench.fit.trials_used(),
        }
    }

    /// How many of the first choices meet the target, with odds as good as the best as far as the
    /// model can tell.
    pub fn among_best(&self) -> usize {
        let met = if self.is_met { self.best.as_slice() } else { &[] };
        met.iter().take_while(|choice| choice.group == 1).count()
    }

    /// The cautions of the choices, each once, in the order in which they appear.
    pub fn noted(&self) -> Vec<Caution> {
        let mut notes = Vec::new();
        for caution in self.best.iter().flat_map(|choice| &choice.cautions) {
            if !notes.contains(caution) {
                notes.push(*caution);
            }
        }
        notes
    }
}
