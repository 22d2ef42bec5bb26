//! The title and caption of `history`.

use super::answer_history::{HandHistory, HistoryView};
use crate::jobs::history::answer::{Drift, HistoryPoint};
use crate::jobs::history::answer_control::LIMIT;
use crate::jobs::history::text::{hand_words, named, out_words, since_words};
use crate::terminal::number::plural;

/// A struck sewing further out than this is drawn at the edge, so that one slip does not squeeze
/// all the others together.
pub(crate) const FARTHEST: f64 = 4.0 * LIMIT;
/// With more drifting hands than this, a title counts them instead of naming them.
const NAMED_HANDS: usize = 2;

pub(crate) fn title(view: &HistoryView) -> String {
    let sewings: usize = view.hands.iter().map(|hand| hand.dates().count()).sum();
    match (sewings, &view.hands[..]) {
        (0, _) => "No sewing with a date yet".to_owned(),
        (1, _) => "One sewing with a date so far".to_owned(),
        (_, [hand]) => match &hand.history.drift {
            Drift::TooFew { have, needed } => {
                format!("{} so far: {needed} are needed to show a drift", plural(*have, "sewing"))
            }
            Drift::Steady => steady(hand),
            Drift::Drifting { since, change, .. } => {
                let word = if *change < 0.0 { "less" } else { "more" };
                format!("The hand drifts: since {since} {word} of the thread shows")
            }
        },
        (_, hands) => title_of_hands(hands),
    }
}

fn steady(hand: &HandHistory) -> String {
    let count = plural(hand.history.points.len(), "sewing");
    let out: Vec<&HistoryPoint> = hand.history.out_of_limits().collect();
    match out[..] {
        [] => format!("The hand is steady over {count}"),
        [one] => format!("The hand is steady over {count}, apart from {}", one.trial),
        _ => format!("The hand is steady over {count}, apart from {} of them", out.len()),
    }
}

fn title_of_hands(hands: &[HandHistory]) -> String {
    let is = |wanted: fn(&Drift) -> bool| -> Vec<&HandHistory> {
        hands.iter().filter(|hand| wanted(&hand.history.drift)).collect()
    };
    let drifting = is(|drift| matches!(drift, Drift::Drifting { .. }));
    let few = is(|drift| matches!(drift, Drift::TooFew { .. }));
    let count = hands.len();
    match (drifting.len(), few.len()) {
        (0, few) if few == count => {
            format!("{count} hands, too few sewings of each to show a drift")
        }
        (0, 0) if count == 2 => "Both hands are steady".to_owned(),
        (0, 0) => format!("All {count} hands are steady"),
        (0, few) => {
            format!("No drift in {} of {count} hands; too few sewings of the rest", count - few)
        }
        (found, _) if found <= NAMED_HANDS => {
            let names: Vec<String> = drifting.iter().map(|hand| named(&hand.hand)).collect();
            format!("Drifting among {count} hands: {}", names.join(" and "))
        }
        (found, _) => format!("{found} of {count} hands drift"),
    }
}

pub(crate) fn caption(view: &HistoryView) -> String {
    let count: usize = view.hands.iter().map(|hand| hand.dates().count()).sum();
    let mut sentences = match count {
        0 => vec!["No sewing with a date has been measured yet.".to_owned()],
        1 => vec!["One sewing has a date; two or more are drawn in order of date.".to_owned()],
        _ => {
            let several = view.hands.len() > 1;
            let words = |hand: &HandHistory| match several {
                true => hand_words(&hand.hand, &hand.history),
                false => verdict(hand.history.points.len(), &hand.history.drift),
            };
            view.hands.iter().map(words).collect()
        }
    };
    let out: Vec<&HistoryPoint> =
        view.hands.iter().flat_map(|hand| hand.history.out_of_limits()).collect();
    let names = match out[..] {
        [one] => format!(": {} of {}", one.trial, one.date),
        _ => String::new(),
    };
    let counted = view.hands.iter().map(|hand| hand.history.points.len()).sum();
    sentences.extend(out_words(out.len(), counted, &names));
    let struck = || view.hands.iter().flat_map(|hand| &hand.struck);
    sentences.extend(struck().next().map(|_| {
        "A struck sewing is shown by how far it lies from what the others predict, and is not \
         used."
            .to_owned()
    }));
    let beyond = struck().filter(|point| point.standardised.abs() > FARTHEST).count();
    sentences.extend((beyond > 0).then(|| {
        let lie = if beyond == 1 { "lies" } else { "lie" };
        format!("{} {lie} beyond the edge.", plural(beyond, "struck sewing"))
    }));
    sentences.extend(
        (view.undated > 0)
            .then(|| format!("Left out: {} without a date.", plural(view.undated, "sewing"))),
    );
    sentences.extend((count > 1).then(|| {
        "Up: more of the thread shows than expected; 1 is how much sewings usually differ."
            .to_owned()
    }));
    sentences.join(" ")
}

fn verdict(count: usize, drift: &Drift) -> String {
    let sewings = plural(count, "sewing");
    match drift {
        Drift::TooFew { needed, .. } => {
            format!("{sewings} with a date: too few to show a change, which takes {needed}.")
        }
        Drift::Steady => format!("Over {sewings} the hand is steady: no drift."),
        Drift::Drifting { trial, since, change } => {
            let since = since_words(trial, since, *change);
            format!("Over {sewings} the hand is drifting: {since}")
        }
    }
}
