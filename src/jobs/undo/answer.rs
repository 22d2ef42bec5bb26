//! What was written to a book, the last first.

use crate::book::{Book, Change, Turn};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::BTreeSet;

/// Whether a change counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Standing {
    /// It counts, and can be undone after those above it.
    Counts,
    /// It was undone.
    Undone,
    /// It undid another, or brought another back.
    Turned,
    /// Nothing says which rows it added.
    Unknown,
}

/// A change, as it is listed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Listed {
    pub date: Date,
    pub change: String,
    pub standing: Standing,
}

/// The changes of a book.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Changes {
    /// The last first.
    pub changes: Vec<Listed>,
    /// What `undo` would take back.
    pub to_undo: Option<String>,
    /// What `undo --redo` would bring back.
    pub to_redo: Option<String>,
}

/// What was written to a book.
pub(crate) fn changes(book: &Book) -> Changes {
    let (all, history) = (book.changes(), book.history());
    let done: BTreeSet<usize> = history.done.iter().copied().collect();
    let standing = |(place, change): (usize, &Change)| match change.turn {
        _ if !change.can_be_undone() => Standing::Unknown,
        None if done.contains(&place) => Standing::Counts,
        None => Standing::Undone,
        Some(_) => Standing::Turned,
    };
    let listed = |(place, change): (usize, &Change)| Listed {
        date: change.date,
        change: change.said.clone(),
        standing: standing((place, change)),
    };
    let words = |place: Option<&usize>| place.map(|place| undone_words(&all[*place]).to_owned());
    Changes {
        changes: all.iter().enumerate().rev().map(listed).collect(),
        to_undo: words(history.done.last()),
        to_redo: words(history.taken.last()),
    }
}

const UNDID: &str = "undid: ";
const REDID: &str = "redid: ";

/// What a change did, or what it took back or brought back.
pub(crate) fn undone_words(change: &Change) -> &str {
    let said = &*change.said;
    said.strip_prefix(UNDID).or_else(|| said.strip_prefix(REDID)).unwrap_or(said)
}

/// What is noted of taking this change back, or of bringing it back.
pub(crate) fn noted(turn: Turn, change: &Change) -> String {
    let verb = match turn {
        Turn::Undo => UNDID,
        Turn::Redo => REDID,
    };
    format!("{verb}{}", undone_words(change))
}
