//! Defaults for a new trial: a free name, and the values of the last trial.

use crate::book::{Book, entry_named};
use crate::trade::{Name, Trial};

/// The trial recorded last. The next one is likely to have the same values.
pub(crate) fn last_trial(book: &Book) -> Option<&Trial> {
    book.trials().last()
}

/// The next free name in the pattern of the last trial: `B15` after `B14`, `T1` in a new book.
pub(crate) fn free_name(book: &Book) -> String {
    let last = last_trial(book).map_or("T0", |trial| trial.name.as_str());
    let stem = last.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits = &last[stem.len()..];
    let (stem, from, width) = match digits.parse::<u32>() {
        Ok(number) => (stem, number, digits.len()),
        Err(_) => ("T", 0, 1),
    };
    let is_free =
        |name: &String| name.parse::<Name>().is_ok() && entry_named(book.trials(), name).is_none();
    let count = book.trials().len();
    let names = |stem: &str, from: u32, width: usize| {
        let stem = stem.to_owned();
        let numbers = (1..).map(move |step| from.saturating_add(step));
        numbers.map(move |number| format!("{stem}{number:0width$}")).take(count + 1)
    };
    // Falls back to T-names, because the last name may already have the greatest length.
    names(stem, from, width).chain(names("T", 0, 1)).find(is_free).unwrap_or_default()
}

/// Whether any trial of the book names the hand that sewed it.
pub(crate) fn tells_hands_apart(book: &Book) -> bool {
    book.trials().iter().any(|trial| trial.hand.is_some())
}
