//! What each hand adds, and the factors of papers in the hands that sew them.

use super::fit::{Effects, SwellFit};
use crate::model::mixed::{Functional, Summary};
use crate::observe::Observations;
use crate::trade::State;

impl SwellFit {
    /// What each hand in the observations of the fit adds to the factor, compared with an average
    /// hand. Empty if only one hand ever sewed.
    pub fn hand_effects(&self, all: &Observations) -> Vec<Summary> {
        self.summaries(&self.each_hand(all))
    }

    /// The effect of each hand, alone. A single hand has no effect of its own.
    pub(super) fn each_hand(&self, all: &Observations) -> Vec<Functional> {
        let hands = if all.hands.len() > 1 { all.hands.len() } else { 0 };
        (0..hands).map(|level| self.parts.hand(Some(level), 1.0)).collect()
    }

    /// As [`SwellFit::effects`], with the factors of each paper averaged over its own hands.
    /// `hands` lists, for each paper, indices of hands in the fit.
    pub fn effects_in_hands(&self, states: &[State], hands: &[Vec<usize>]) -> Effects {
        let own = |paper: usize| {
            let own = hands.get(paper).map_or(&[][..], Vec::as_slice);
            let share = 1.0 / own.len() as f64;
            own.iter().fold(Functional::default(), |sum, &hand| {
                sum.plus_all(&self.parts.hand(Some(hand), share))
            })
        };
        self.effects_with(states, &own)
    }
}
