//! Parts of the sentences of notices.

use crate::units::shown;
use std::cmp::Ordering;

pub(super) fn skipped(count: usize) -> String {
    match count {
        1 => "an empty row was skipped".to_owned(),
        _ => format!("{count} empty rows from here on were skipped"),
    }
}

pub(super) fn read_as(columns: &[(String, String)]) -> String {
    let each = columns.iter().map(|(heading, column)| format!("'{heading}' as {column}"));
    each.collect::<Vec<_>>().join(", ")
}

pub(super) fn as_it_is(more: usize, way: Option<&str>) -> String {
    let more = match more {
        0 => String::new(),
        1 => ", and so is another of this column".to_owned(),
        more => format!(", and so are {more} others of this column"),
    };
    let way = way.map(|way| format!("; to write it into the book: {way}"));
    format!("it is kept as it is{more}{}", way.unwrap_or_default())
}

pub(super) fn staying(files: &[&str]) -> String {
    match files.join(", ") {
        none if none.is_empty() => "none of it is used".to_owned(),
        files => format!("only what is in {files} is used"),
    }
}

/// A cell of a row, for a sentence. The files of a book may hold anything.
pub(super) fn cell_words(text: &str) -> String {
    if text.is_empty() { "nothing".to_owned() } else { shown(text) }
}

pub(super) fn others_too(more: usize) -> String {
    match more {
        0 => String::new(),
        1 => ", and so may another entry of this file".to_owned(),
        more => format!(", and so may {more} other entries of this file"),
    }
}

/// What to do about a file that has lost lines.
pub(super) fn where_lost(has_lost_lines: bool) -> &'static str {
    if has_lost_lines {
        "; if you did not do this, bring back the newer file; if you did: swellbook audit --accept"
    } else {
        ""
    }
}

pub(super) fn lines_since(then: u64, now: u64) -> String {
    let lines = if then.abs_diff(now) == 1 { "line" } else { "lines" };
    match now.cmp(&then) {
        Ordering::Less => format!("{} {lines} removed ({then} → {now})", then - now),
        Ordering::Equal => format!("the number of lines is the same ({now})"),
        Ordering::Greater => format!("{} {lines} added ({then} → {now})", now - then),
    }
}
