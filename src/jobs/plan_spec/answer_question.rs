//! The question that `plan` answers.

use super::answer_band::Band;
use crate::jobs::fitted::Bench;
use crate::model::{Gaussian, Plan, PlannedPaper, PlannedThread};
use crate::trade::{Guards, Height, State};

/// A book whose sewing is to be chosen, the options, and the wanted swell.
#[derive(Clone, Debug)]
pub struct Question {
    pub paper: PlannedPaper,
    pub threads: Vec<PlannedThread>,
    pub leaves: u32,
    /// Fewest and most sheets in a section to choose from.
    pub sheets: (u16, u16),
    /// The state that the target applies to.
    pub state: State,
    /// The hand that will sew, as an index into the hands of the fit.
    pub hand: Option<usize>,
    pub guards: Option<Guards>,
    /// A fore-edge measured on the folded leaves, in mm, without the added blank leaves.
    pub fore_edge: Option<Gaussian>,
    pub height: Height,
    /// Number of tapes, cords or sewing stations, if known.
    pub supports: Option<u16>,
    pub exposed: bool,
    pub target: Band,
}

/// Whose sewing is predicted, in a book of several hands.
#[derive(Clone, Debug, PartialEq)]
pub enum Sewer {
    /// A hand that has not sewn in the book yet.
    New,
    /// A hand of the book; an empty name is that of trials without one.
    Known(String),
}

impl Sewer {
    /// Who sews a plan of this hand; `None` where one hand has sewn everything.
    pub fn of(bench: &Bench, hand: Option<usize>) -> Option<Self> {
        let hands = &bench.observations.hands;
        let who = || hand.map_or(Self::New, |level| Self::Known(hands[level].clone()));
        (hands.len() > 1).then(who)
    }
}

impl Question {
    /// The sheets in a section to choose from, unless somebody names others.
    pub const SHEETS: (u16, u16) = (1, 8);

    /// How else to sew the `leaves` of a plan with these threads; `None` for a mixed book.
    pub fn again(
        plan: &Plan,
        threads: Vec<PlannedThread>,
        leaves: u32,
        height: Height,
        target: Band,
    ) -> Option<Self> {
        let [run] = plan.runs() else { return None };
        Some(Self {
            paper: run.paper.clone(),
            threads,
            leaves,
            sheets: Self::SHEETS,
            state: plan.state,
            hand: plan.hand,
            guards: None,
            fore_edge: plan.fore_edge_of(leaves),
            height,
            supports: None,
            exposed: false,
            target,
        })
    }
}
