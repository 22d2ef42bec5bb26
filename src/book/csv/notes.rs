//! Texts of the binder's own.

use crate::trade::{formula_sign, formula_words};
use crate::units::{numbers_of, shown, steering};
use thiserror::Error;

/// The longest note, in characters.
const LONGEST_NOTE: usize = 500;
/// The longest title, in characters.
const LONGEST_TITLE: usize = 200;

/// Why a text may not be written.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NoteError {
    /// Nobody reads so much.
    #[error("text too long: {length} characters; the limit is {limit}")]
    TooLong {
        /// How many characters it has.
        length: usize,
        /// How many it may have.
        limit: usize,
    },
    /// It has characters that change what others look like.
    #[error("'{found}' contains invisible characters ({numbers}); type the text again")]
    Unseen {
        /// The text.
        found: String,
        /// Their numbers.
        numbers: String,
    },
    /// A spreadsheet would run it.
    #[error("{}", formula_words(found, *sign))]
    Formula {
        /// The text.
        found: String,
        /// What it would begin a formula with.
        sign: char,
    },
}

/// The note in a cell: line ends in it become spaces.
pub(super) fn one_line(text: &str) -> Result<String, NoteError> {
    let parts = text.split(['\n', '\r', '\t']).filter(|part| !part.is_empty());
    let text = parts.collect::<Vec<_>>().join(" ");
    check_text(&text, LONGEST_NOTE)?;
    Ok(text)
}

/// Refuses text that is too long, or that holds invisible characters which change the visible ones.
fn check_text(text: &str, limit: usize) -> Result<(), NoteError> {
    let length = text.chars().count();
    if length > limit {
        return Err(NoteError::TooLong { length, limit });
    }
    if text.contains(steering) {
        let (found, numbers) = (shown(text), numbers_of(text, steering));
        return Err(NoteError::Unseen { found, numbers });
    }
    Ok(())
}

/// The title of a book: one line of at most 200 characters.
///
/// # Errors
/// [`NoteError`].
pub fn title(text: &str) -> Result<String, NoteError> {
    check_text(text, LONGEST_TITLE)?;
    Ok(text.to_owned())
}

/// A text of at most 500 characters that is in no spreadsheet.
///
/// # Errors
/// [`NoteError`].
pub(in crate::book) fn plain(text: &str) -> Result<String, NoteError> {
    check_text(text, LONGEST_NOTE)?;
    Ok(text.to_owned())
}

/// A note as it may be written: on one line, at most 500 characters, and nothing that a
/// spreadsheet takes for a formula.
///
/// # Errors
/// [`NoteError`].
pub fn note(text: &str) -> Result<String, NoteError> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(String::new());
    }
    check_text(text, LONGEST_NOTE)?;
    match formula_sign(text) {
        Some(sign) => Err(NoteError::Formula { found: shown(text), sign }),
        None => Ok(text.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_is_safe_to_open_in_a_spreadsheet() {
        assert_eq!(note("  a, \"b\" "), Ok("a, \"b\"".to_owned()));
        for bad in ["=1+1", "+x", "-x", "@x", "a\nb", "a\u{202e}b", &"x".repeat(501)] {
            assert!(note(bad).is_err(), "{bad:?}");
        }
    }
}
