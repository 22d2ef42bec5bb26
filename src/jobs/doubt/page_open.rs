//! What an answer on a page says of the entries it rests on.

use super::answer::open_findings;
use super::command::open_words;
use crate::jobs::desk::Desk;
use crate::page::turned::Turned;

const OPEN: &str = "Looking through the book.";

/// That entries of the book look wrong and count all the same, where some do.
///
/// # Errors
/// As [`Desk::of_today`].
pub(crate) fn open_line(desk: &Desk) -> Result<Option<String>, Turned> {
    let open = desk.of_today(OPEN, |kept, today| {
        Ok(open_findings(&kept.book, &kept.bench.observations, today))
    })?;
    Ok(open_words(*open))
}
