//! Lists of `key=value`, as a run of a planned book is typed and saved.

use crate::units::shown;
use thiserror::Error;

/// `key=value` separated by commas, each key at most once. A value with a comma, a semicolon or an
/// equals sign is in double quotes, and each double quote in it is doubled.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pairs(Vec<(String, String)>);

/// The longest text in bytes that a cell of a book's file can hold.
pub(super) const LONGEST_IN_CELL: usize = 4000;
/// The longest list, in bytes: twice what a cell of a file can hold.
const LONGEST: usize = 8192;

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PairsError {
    #[error("'{found}' is not in the form KEY=VALUE{}", quotes(after.as_deref()))]
    NoValue {
        found: String,
        /// What it would be if the comma before it belongs to a value: `paper="bond, 80"`.
        after: Option<String>,
    },
    #[error("'{key}' is given twice; give it once")]
    Twice { key: String },
    #[error("list too long: {length} bytes; the limit is {LONGEST}")]
    TooLong { length: usize },
    #[error("the quotation mark in '{found}' is never closed")]
    Open { found: String },
    #[error("'{key}' is not known here; expected one of {known}")]
    Unknown { key: String, known: String },
}

impl Pairs {
    /// Parses a list. Keys are case-insensitive, and `_` is the same as `-`.
    pub fn parse(text: &str, known: &[&str]) -> Result<Self, PairsError> {
        let mut pairs = Self::default();
        for part in parts(text, ',')?.into_iter().filter(|part| !part.trim().is_empty()) {
            let (key, value) = part.split_once('=').ok_or_else(|| PairsError::NoValue {
                found: shown(part.trim()),
                after: pairs.last_with(part).map(|meant| shown(&meant)),
            })?;
            let key = key.trim().to_lowercase().replace('_', "-");
            if !known.contains(&key.as_str()) {
                let known = known.join(", ");
                return Err(PairsError::Unknown { key: shown(&key), known });
            }
            if pairs.get(&key).is_some() {
                return Err(PairsError::Twice { key });
            }
            pairs.0.push((key, unquoted(value.trim())));
        }
        Ok(pairs)
    }

    /// The last pair, as if this part belonged to its value.
    fn last_with(&self, part: &str) -> Option<String> {
        let (key, value) = self.0.last()?;
        Some(format!("{key}={}", quoted_value(&format!("{value},{}", part.trim_end()))))
    }

    pub fn get(&self, key: &str) -> Option<&str> {
        self.0.iter().find(|(known, _)| known == key).map(|(_, value)| value.as_str())
    }
}

fn quotes(after: Option<&str>) -> String {
    let hint =
        |meant| format!("; if the comma belongs to a name, put it in double quotes: {meant}");
    after.map(hint).unwrap_or_default()
}

/// Splits a text at every `mark` outside double quotes.
///
/// # Errors
/// [`PairsError::Open`] for a quotation mark that is never closed; [`PairsError::TooLong`].
pub fn parts(text: &str, mark: char) -> Result<Vec<&str>, PairsError> {
    if text.len() > LONGEST {
        return Err(PairsError::TooLong { length: text.len() });
    }
    let (mut parts, mut start, mut quoted) = (Vec::new(), 0, false);
    for (at, c) in text.char_indices() {
        if c == '"' {
            quoted = !quoted;
        } else if c == mark && !quoted {
            parts.push(&text[start..at]);
            start = at + c.len_utf8();
        }
    }
    if quoted {
        return Err(PairsError::Open { found: shown(text[start..].trim()) });
    }
    parts.push(&text[start..]);
    Ok(parts)
}

/// A value as it is written in a list, in double quotes if it needs them.
pub fn quoted_value(value: &str) -> String {
    let plain = !value.contains([',', ';', '=', '"']) && value.trim() == value;
    if plain { value.to_owned() } else { format!("\"{}\"", value.replace('"', "\"\"")) }
}

/// A value without the double quotes around it.
pub(super) fn unquoted(value: &str) -> String {
    let inner = value.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
    inner.map_or_else(|| value.to_owned(), |inner| inner.replace("\"\"", "\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOWN: &[&str] = &["paper", "per-section", "sheets"];

    #[test]
    fn pairs_are_found_by_their_key() {
        let pairs = Pairs::parse(" Paper = Alder bond , per_section=2,", KNOWN).unwrap();
        assert_eq!(pairs.get("paper"), Some("Alder bond"));
        assert_eq!((pairs.get("per-section"), pairs.get("sheets")), (Some("2"), None));
    }

    #[test]
    fn any_value_comes_back_from_its_quotes() {
        for value in ["bond, 80", "a=b;c", "the \"good\" one", "\"", " spaced ", "plain", ""] {
            let text = format!("sheets=3,paper={}", quoted_value(value));
            let pairs = Pairs::parse(&text, KNOWN).unwrap();
            assert_eq!(pairs.get("paper"), Some(value), "{text}");
        }
    }

    #[test]
    fn what_is_no_list_is_refused_with_the_reason() {
        let error = |text: &str| Pairs::parse(text, KNOWN).unwrap_err().to_string();
        assert_eq!(error("paper"), "'paper' is not in the form KEY=VALUE");
        assert_eq!(
            error("sheets=3,paper=Zerkall, 100 g,per-section=2"),
            "'100 g' is not in the form KEY=VALUE; if the comma belongs to a name, put it in double \
             quotes: paper=\"Zerkall, 100 g\""
        );
        assert_eq!(error("sheets=1,sheets=2"), "'sheets' is given twice; give it once");
        assert!(error("paper=\"x").contains("never closed"));
        assert_eq!(
            error("papr=x"),
            "'papr' is not known here; expected one of paper, per-section, sheets"
        );
    }
}
