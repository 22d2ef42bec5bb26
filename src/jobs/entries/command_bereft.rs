//! Notes on saved plans that name what is gone.

use crate::book::{Book, Finding};
use crate::terminal::session::Session;

/// The notes of an audit on saved plans that name what is gone, before a change.
pub(crate) struct Bereft(Vec<String>);

impl Bereft {
    pub fn of(book: &Book) -> Self {
        Self(bereft_notes(book, |_| true))
    }

    /// Prints the notes that the book has since.
    pub fn tell_since(&self, book: &Book, session: &mut Session<'_>) {
        let now = bereft_notes(book, |_| true);
        now.iter().filter(|note| !self.0.contains(note)).for_each(|note| session.tell(note));
    }
}

/// The notes on the saved plans that are `wanted` by their name.
pub(crate) fn bereft_notes(book: &Book, wanted: impl Fn(&str) -> bool) -> Vec<String> {
    let is_wanted = |finding: &Finding| match finding {
        Finding::Entry { name, .. } => wanted(name.as_str()),
        _ => false,
    };
    let found = book.bereft_plans().into_iter().filter(is_wanted);
    found.map(|finding| format!("note: {}", finding.sentence(book.config().unit))).collect()
}
