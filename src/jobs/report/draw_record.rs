//! The outcomes of kept forecasts, the drift of the hand, and the struck entries.

use crate::book::{Book, Strike};
use crate::draw::html::{Block, Column, PageTable};
use crate::jobs::fit::answer::Learnt;
use crate::jobs::history::answer::Drift;
use crate::jobs::history::answer_hands::HandSewings;
use crate::jobs::history::text::{hand_words, history_text};
use crate::jobs::track::answer::{Followed, TrackRecord};
use crate::jobs::track::text::{PROMISED, TRACK_COLUMNS, bin_row, track_words};
use crate::terminal::number::{decimals_for_width, plural, rounded};
use crate::terminal::odds::chance_in_figures;

pub(crate) fn track(track: &TrackRecord) -> Vec<Block> {
    if track.forecasts.is_empty() {
        return vec![Block::Words(
            "No forecast was kept yet: \u{2018}predict --keep\u{2019} saves one, to compare with \
             the sewing."
                .to_owned(),
        )];
    }
    let none = "None of the kept forecasts has an outcome yet: record the sewing as a trial of the \
                same name and measure it in the same state.";
    let mut blocks = vec![Block::Words(track_words(track).unwrap_or_else(|| none.to_owned()))];
    if !track.reliability.is_empty() {
        let rows = track.reliability.iter().map(|bin| bin_row(bin).to_vec());
        let table = PageTable::new(PROMISED, Column::of(&TRACK_COLUMNS, &[]), rows);
        blocks.push(Block::Table(table));
    }
    let columns = ["forecast", "made", "state", "90 % range, %", "target", "came out, %"];
    let rows = track.forecasts.iter().map(forecast);
    let table = PageTable::new("Kept forecasts", Column::of(&columns, &[]), rows);
    blocks.push(Block::long(table, "All kept forecasts"));
    blocks
}

fn forecast(one: &Followed) -> Vec<String> {
    let (low, high) = one.swell.nine_in_ten();
    let show = |value| rounded(value, decimals_for_width((high - low) * 3.0).min(1));
    let promised = one.promised.map(|chance| format!(", chance {}", chance_in_figures(chance)));
    let target =
        one.target.as_ref().map(|target| format!("{target}{}", promised.unwrap_or_default()));
    let came = one.outcome.map(|outcome| {
        if !one.sewn_otherwise.is_empty() {
            return format!("{}, sewn otherwise", show(outcome.percent));
        }
        if one.made_too_late {
            return format!("{}, forecast made later", show(outcome.percent));
        }
        let place = if outcome.within_90 { "" } else { ", outside" };
        let met = match outcome.hit {
            None => "",
            Some(true) => ", target met",
            Some(false) => ", target missed",
        };
        format!("{}{place}{met}", show(outcome.percent))
    });
    vec![
        one.name.to_string(),
        one.made.to_string(),
        one.state.phrase().to_owned(),
        format!("{} to {}", show(low), show(high)),
        target.unwrap_or_default(),
        came.unwrap_or_else(|| "not known yet".to_owned()),
    ]
}

/// Whether the hand has changed, or each of several hands.
pub(crate) fn drift(learnt: &Learnt) -> Block {
    let (history, hands) = (&learnt.history, &learnt.hands);
    let each = |hand: &HandSewings| hand_words(&hand.hand, &hand.history);
    let too_few = || match history.drift {
        _ if hands.len() > 1 => hands.iter().map(each).collect::<Vec<_>>().join(" "),
        Drift::TooFew { have, needed } => format!(
            "There {1} {0} with a date; {needed} are needed to tell whether your hand drifts.",
            plural(have, "measured sewing"),
            if have == 1 { "is" } else { "are" }
        ),
        Drift::Steady | Drift::Drifting { .. } => String::new(),
    };
    Block::Words(history_text(history, hands, usize::MAX).unwrap_or_else(too_few))
}

pub(crate) fn struck(book: &Book) -> Vec<Block> {
    if book.struck().is_empty() {
        return Vec::new();
    }
    let columns = Column::of(&["struck", "on", "because"], &[]);
    let row = |strike: &Strike| {
        let Strike { what, id, reason, date } = strike;
        vec![format!("{what} {id}"), date.to_string(), reason.clone()]
    };
    let table = PageTable::new("", columns, book.struck().iter().map(row));
    let words = "These stay in the book's files, but are not used.".to_owned();
    vec![
        Block::Heading("Struck entries".to_owned()),
        Block::Words(words),
        Block::long(table, "All struck entries"),
    ]
}
