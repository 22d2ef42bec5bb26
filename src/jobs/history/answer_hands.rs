//! Sewings in order of date, each hand by itself: another hand's sewings say neither what is usual
//! for a hand nor how it changed.

use super::answer::{History, history};
use crate::model::SewingEffect;
use crate::observe::Observations;
use crate::units::fields_of;

/// The sewings of one hand in order of date.
#[derive(Clone, Debug, PartialEq)]
pub struct HandSewings {
    /// Empty if the trials name no hand.
    pub hand: String,
    pub history: History,
}

// Without the points, which are those of the history of all hands.
fields_of! { HandSewings, |it|
    let (verdict, since) = it.history.verdict();
    "hand": it.hand,
    "sewings": it.history.points.len(),
    "verdict": verdict,
    "since": since,
    "centre": it.history.centre,
    "scatter": it.history.scatter,
    "undated": it.history.undated,
}

/// The hands with at least one dated sewing, sorted by name. The effects are those of one fit.
pub fn by_hand(all: &Observations, effects: &[SewingEffect]) -> Vec<HandSewings> {
    let mut hands: Vec<&String> =
        effects.iter().map(|effect| &all.hands[all.trials[effect.trial].hand]).collect();
    hands.sort_unstable();
    hands.dedup();
    let hand = |hand: &String| HandSewings { hand: hand.clone(), history: of(all, effects, hand) };
    let mut hands: Vec<HandSewings> = hands.into_iter().map(hand).collect();
    hands.retain(|hand| !hand.history.points.is_empty());
    hands
}

pub(crate) fn of(all: &Observations, effects: &[SewingEffect], hand: &str) -> History {
    let is_own = |effect: &&SewingEffect| all.hands[all.trials[effect.trial].hand] == hand;
    history(all, &effects.iter().filter(is_own).copied().collect::<Vec<_>>())
}
