//! The name and the note of a new entry.

use crate::book::note;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::values::{ValueError, parsed};
use crate::trade::Name;
use crate::units::Millimetres;

/// A name that no entry of its kind has yet.
pub(crate) fn new_name(kind: &str, text: &str, taken: &[&str]) -> Result<Name, ValueError> {
    let name: Name = parsed(text).map_err(ValueError::said)?;
    if taken.contains(&name.as_str()) {
        let found = format!("the book already holds a {kind} '{name}'; take another name");
        return Err(ValueError::Said(found));
    }
    Ok(name)
}

/// A length with all its digits, as it may be typed.
pub(crate) fn exact(length: Millimetres) -> String {
    format!("{}mm", length.mm())
}

/// The note of `--note`; none is an empty one.
pub(crate) fn note_of(given: Option<&str>) -> Result<String, CliError> {
    by_flag("--note", given.unwrap_or_default(), note)
}
