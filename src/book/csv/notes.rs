//! Texts of the binder's own.

use crate::trade::{formula_advice, formula_sign};
use crate::units::{numbers_of, shown, steering};

/// The longest note, in characters.
const LONGEST_NOTE: usize = 500;
/// The longest title, in characters.
const LONGEST_TITLE: usize = 200;

/// The note in a cell: line ends in it become spaces.
pub(super) fn one_line(text: &str) -> Result<String, String> {
    let parts = text.split(['\n', '\r', '\t']).filter(|part| !part.is_empty());
    let text = parts.collect::<Vec<_>>().join(" ");
    check_text(&text, LONGEST_NOTE)?;
    Ok(text)
}

/// Refuses text that is too long, or that holds invisible characters which change the visible ones.
fn check_text(text: &str, longest: usize) -> Result<(), String> {
    let length = text.chars().count();
    if length > longest {
        return Err(format!("text too long: {length} characters; the limit is {longest}"));
    }
    if text.contains(steering) {
        return Err(format!(
            "'{}' contains invisible characters ({}); type the text again",
            shown(text),
            numbers_of(text, steering)
        ));
    }
    Ok(())
}

/// The title of a book: one line of at most 200 characters.
///
/// # Errors
/// A sentence that says what is wrong with it.
pub fn title(text: &str) -> Result<String, String> {
    check_text(text, LONGEST_TITLE).map_err(|error| format!("the title: {error}"))?;
    Ok(text.to_owned())
}

/// A note as it may be written: on one line, at most 500 characters, and nothing that a
/// spreadsheet takes for a formula.
///
/// # Errors
/// A sentence that says what is wrong with it.
pub fn note(text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(String::new());
    }
    check_text(text, LONGEST_NOTE)?;
    match formula_sign(text) {
        Some(sign) => Err(format!(
            "'{}' has '{sign}' at its start or after a separator such as a comma, and a \
             spreadsheet would run that as a formula; {}",
            shown(text),
            formula_advice(sign)
        )),
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
