//! The long block that a long book asks for.

use super::answer_candidates::{LONGEST, SHORTEST};
use super::answer_choice::TrialChoice;
use crate::jobs::forecast::answer_tried::Tried;
use crate::model::{Plan, TrialBlock};
use serde::Serialize;

/// A book with more than twice the sections of the longest trial block, or one before the first
/// trial: whatever short blocks teach, its length is a guess until a long one was sewn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct LongBook {
    /// Its sections.
    pub planned: u32,
    /// Sections of the longest trial block; `None` before the first.
    pub longest: Option<u32>,
    /// A block of so many sections or more is a long one: half the book, or as many as are asked
    /// for at most.
    #[serde(rename = "at_least")]
    pub least: u16,
}

impl LongBook {
    pub(crate) fn of(tried: &Tried, plan: &Plan) -> Option<Self> {
        let (planned, longest) = (plan.sections(), tried.longest());
        let least = u16::try_from(planned.div_ceil(2)).unwrap_or(LONGEST).min(LONGEST);
        let is_far = longest.is_none_or(|longest| planned > 2 * longest);
        (is_far && least > SHORTEST).then_some(Self { planned, longest, least })
    }

    /// Whether a block is a long one for it.
    pub fn is_met_by(self, block: &TrialBlock) -> bool {
        block.run.sewing.sections() >= self.least
    }

    /// The best long block of a ranking.
    pub(crate) fn best(self, choices: &[TrialChoice]) -> Option<&TrialChoice> {
        choices.iter().find(|choice| self.is_met_by(&choice.block))
    }
}
