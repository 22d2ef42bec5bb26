//! The choices to show, and facts about the whole ranking.

use super::answer::{Choice, Choices};
use super::answer_changes::Changed;
use crate::jobs::fitted::Bench;
use crate::jobs::plan_spec::answer_question::Question;
use crate::trade::Caution;

/// The best ways to sew a book, best first.
#[derive(Clone, Debug)]
pub struct ChoicesView {
    pub question: Question,
    pub best: Vec<Choice>,
    /// Number of ways considered.
    pub considered: usize,
    /// The sheets to a section that the guards rule out.
    pub unguarded: Vec<u16>,
    /// Whether the best chance counts as meeting the target.
    pub is_met: bool,
    /// The best chance of any choice.
    pub most: f64,
    /// The choice nearest to the target, if none meets it. It may not be one of the best.
    pub nearest: Option<Choice>,
    /// The current plan, if given, and the single changes that improve it.
    pub current: Option<(Choice, Vec<Changed>)>,
    /// Whether the height was given rather than assumed.
    pub height_given: bool,
    pub trials_used: usize,
}

impl ChoicesView {
    /// The best `count` choices, without a given height or a current plan.
    pub fn of(bench: &Bench, question: Question, choices: &Choices, count: usize) -> Self {
        let is_met = choices.is_met();
        Self {
            question,
            best: choices.best(count),
            considered: choices.considered(),
            unguarded: choices.unguarded().to_vec(),
            is_met,
            most: choices.most(),
            nearest: if is_met { None } else { choices.nearest() },
            current: None,
            height_given: false,
            trials_used: bench.fit.trials_used(),
        }
    }

    /// How many of the first choices have odds as good as the best, as far as the model can tell.
    pub fn among_best(&self) -> usize {
        self.best.iter().take_while(|choice| choice.group == 1).count()
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
