//! Sewings in order of date, as sentences.

use super::answer::{BASELINE, Drift, History, HistoryPoint};
use super::answer_hands::HandSewings;
use crate::terminal::number::{plural, rounded};
use crate::terminal::words::wrapped;
use crate::trade::Name;
use std::fmt::Display;

/// Of sewings that differ by chance alone, one in this many lies outside three standard deviations.
const ONE_IN: usize = 370;
const LOOK: &str = "Look at what changed then (needle, wax, tension, hammer); if the change is \
                    permanent, older sewings say less about the next one.";

/// The verdict on drift, hand by hand if several sewed; `None` while every hand has too few dated
/// sewings.
pub(crate) fn history_text(
    history: &History,
    hands: &[HandSewings],
    width: usize,
) -> Option<String> {
    let first = match hands {
        [_, _, ..] => text_of_hands(hands)?,
        [] | [_] => text_of_all(history)?,
    };
    let names: Vec<String> = history.out_of_limits().map(out_name).collect();
    let out = out_words(names.len(), history.points.len(), &format!(": {}", names.join(", ")));
    let undated = (history.undated > 0)
        .then(|| format!("Left out: {} without a date.", plural(history.undated, "sewing")));
    let sentences = [Some(first), out, undated];
    Some(wrapped(&sentences.into_iter().flatten().collect::<Vec<_>>().join(" "), width))
}

fn text_of_all(history: &History) -> Option<String> {
    let count = plural(history.points.len(), "sewing");
    match &history.drift {
        Drift::TooFew { .. } => None,
        Drift::Steady => {
            Some(format!("Over {count} in order of date your hand is steady: no drift."))
        }
        Drift::Drifting { trial, since, change } => {
            let (word, size) = if *change < 0.0 { ("less", -change) } else { ("more", *change) };
            Some(format!(
                "Over {count} in order of date your hand is drifting: since {since} (trial \
                 {trial}) sewings take about {} of the thread {word} than your first {BASELINE} \
                 did. {LOOK}",
                rounded(size, 2)
            ))
        }
    }
}

fn text_of_hands(hands: &[HandSewings]) -> Option<String> {
    let drift = |hand: &HandSewings| hand.history.drift.clone();
    if hands.iter().all(|hand| matches!(drift(hand), Drift::TooFew { .. })) {
        return None;
    }
    let each = hands.iter().map(|hand| hand_words(&hand.hand, &hand.history));
    let mut sentences = vec!["Each hand in order of date.".to_owned()];
    sentences.extend(each);
    let drifts = hands.iter().any(|hand| matches!(drift(hand), Drift::Drifting { .. }));
    sentences.extend(drifts.then(|| LOOK.to_owned()));
    Some(sentences.join(" "))
}

pub(crate) fn hand_words(hand: &str, history: &History) -> String {
    let (name, sewings) = (named(hand), plural(history.points.len(), "sewing"));
    match &history.drift {
        Drift::TooFew { needed, .. } => format!("{name}: {sewings}, of {needed} needed."),
        Drift::Steady => format!("{name}: steady over {sewings}."),
        Drift::Drifting { trial, since, change } => {
            format!("{name}: drifting over {sewings}: {}", since_words(trial, since, *change))
        }
    }
}

/// `since 2026-02-17 (trial B7) about 0.04 less of the thread shows than in the first 8.`
pub(crate) fn since_words(trial: &Name, since: impl Display, change: f64) -> String {
    let word = if change < 0.0 { "less" } else { "more" };
    let size = rounded(change.abs(), 2);
    format!(
        "since {since} (trial {trial}) about {size} {word} of the thread shows than in the first \
         {BASELINE}."
    )
}

pub(crate) fn named(hand: &str) -> String {
    if hand.is_empty() { "hand not named".to_owned() } else { hand.to_owned() }
}

fn out_name(point: &HistoryPoint) -> String {
    let mean = point.effect.mean;
    let (size, word) = (rounded(mean.abs(), 2), if mean < 0.0 { "less" } else { "more" });
    format!("{} of {} (about {size} of the thread {word})", point.trial, point.date)
}

/// How many sewings are outside the limits of a single one, and how many would be by chance; `None`
/// for zero. `names` comes after the limits.
pub(crate) fn out_words(out: usize, of: usize, names: &str) -> Option<String> {
    let lies = if out == 1 { "lies" } else { "lie" };
    (out > 0).then(|| {
        format!(
            "{out} of {} {lies} outside the limits of a single sewing{names}; by chance about one \
             in {ONE_IN} does.",
            plural(of, "sewing")
        )
    })
}
