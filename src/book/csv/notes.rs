use crate::trade::{formula_sign, formula_words};
use crate::units::{numbers_of, shown, steering};
use thiserror::Error;

/// In characters.
const LONGEST_NOTE: usize = 500;
/// In characters.
const LONGEST_TITLE: usize = 200;

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NoteError {
    #[error("text too long: {length} characters; the limit is {limit}")]
    TooLong { length: usize, limit: usize },
    /// It has invisible characters that change how others look.
    #[error("'{found}' contains invisible characters ({numbers}); type the text again")]
    Unseen { found: String, numbers: String },
    #[error("{}", formula_words(found, *sign))]
    Formula { found: String, sign: char },
}

/// A note on one line: line ends and tabs become spaces.
pub(super) fn one_line(text: &str) -> Result<String, NoteError> {
    let parts = text.split(['\n', '\r', '\t']).filter(|part| !part.is_empty());
    let text = parts.collect::<Vec<_>>().join(" ");
    check_text(&text, LONGEST_NOTE)?;
    Ok(text)
}

/// Refuses a text that is too long or has invisible characters that change the visible ones.
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
pub fn title(text: &str) -> Result<String, NoteError> {
    check_text(text, LONGEST_TITLE)?;
    Ok(text.to_owned())
}

/// A text of at most 500 characters that does not go into a spreadsheet.
pub(in crate::book) fn plain(text: &str) -> Result<String, NoteError> {
    check_text(text, LONGEST_NOTE)?;
    Ok(text.to_owned())
}

/// A note that may be written: one line, at most 500 characters, nothing that a spreadsheet takes
/// for a formula.
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
