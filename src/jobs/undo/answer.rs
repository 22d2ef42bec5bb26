//! The changes of a book, newest first.

use crate::book::{Book, Change, Turn};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::BTreeSet;

/// Whether a change counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Standing {
    /// It counts, and can be undone after the newer ones.
    Counts,
    Undone,
    /// It undid or redid another change.
    Turned,
    /// It cannot be undone, because its rows are not noted.
    Unknown,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Listed {
    pub date: Date,
    pub change: String,
    pub standing: Standing,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Changes {
    /// Newest first.
    pub changes: Vec<Listed>,
    /// What `undo` would undo.
    pub to_undo: Option<String>,
    /// What `undo --redo` would redo.
    pub to_redo: Option<String>,
}

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

/// What a change did; for an undo or redo, what the other change did.
pub(crate) fn undone_words(change: &Change) -> &str {
    let said = &*change.said;
    said.strip_prefix(UNDID).or_else(|| said.strip_prefix(REDID)).unwrap_or(said)
}

/// The note for undoing or redoing this change.
pub(crate) fn noted(turn: Turn, change: &Change) -> String {
    let verb = match turn {
        Turn::Undo => UNDID,
        Turn::Redo => REDID,
    };
    format!("{verb}{}", undone_words(change))
}
