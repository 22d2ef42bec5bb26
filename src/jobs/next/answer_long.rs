//! The long trial block that a long book needs.

use super::answer_candidates::{SHORTEST, long_enough};
use super::answer_choice::TrialChoice;
use crate::jobs::forecast::answer_tried::Tried;
use crate::model::{Plan, TrialBlock};
use serde::Serialize;

/// A book with more than twice the sections of the longest trial block, or a book before the first
/// trial. Whatever short blocks teach, the effect of length is a guess until a long one is sewn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct LongBook {
    pub planned: u32,
    /// Sections of the longest trial block; `None` before the first trial.
    pub longest: Option<u32>,
    /// The least sections of a long block.
    #[serde(rename = "at_least")]
    pub least: u16,
}

impl LongBook {
    pub(crate) fn of(tried: &Tried, plan: &Plan) -> Option<Self> {
        let (planned, longest) = (plan.sections(), tried.longest());
        let least = long_enough(plan, &plan.runs()[0]);
        let is_far =
            longest.is_none_or(|longest| planned > 2 * longest && longest < u32::from(least));
        (is_far && least > SHORTEST).then_some(Self { planned, longest, least })
    }

    pub fn is_met_by(self, block: &TrialBlock) -> bool {
        block.run.sewing.sections() >= self.least
    }

    pub(crate) fn best(self, choices: &[TrialChoice]) -> Option<&TrialChoice> {
        choices.iter().find(|choice| self.is_met_by(&choice.block))
    }
}
