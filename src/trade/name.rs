//! The name of a paper, a thread, a trial or a target.

use super::formula::{formula_sign, formula_words};
use crate::units::{numbers_of, shown_whole, unseen};
use serde::{Serialize, Serializer};
use std::borrow::Borrow;
use std::fmt;
use std::str::FromStr;
use std::sync::Arc;
use thiserror::Error;

/// A name: 1 to 80 visible characters on one line, no spaces around it, and nothing that a
/// spreadsheet would take for a formula. Copies share one text and take a single pointer, because
/// every reading names its trial.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Name(Arc<Box<str>>);

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NameError {
    #[error("a name is missing")]
    Empty,
    #[error("name too long: {length} characters; the limit is {}", Name::LONGEST)]
    TooLong { length: usize },
    #[error("'{found}' contains invisible characters ({which}); type the name again")]
    Invisible { found: String, which: String },
    #[error("{}", formula_words(found, *sign))]
    Formula { found: String, sign: char },
}

impl Name {
    /// The greatest length of a name in characters.
    pub const LONGEST: usize = 80;

    pub fn as_str(&self) -> &str {
        &self.0
    }
}

fn is_word(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_alphanumeric())
}

impl FromStr for Name {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        // A fast path: letters and digits alone are always valid.
        if text.len() <= Self::LONGEST && is_word(text) {
            return Ok(Self(Arc::new(text.into())));
        }
        let trimmed = text.trim();
        let length = trimmed.chars().count();
        if length > Self::LONGEST {
            return Err(NameError::TooLong { length });
        }
        if trimmed.is_empty() {
            return Err(NameError::Empty);
        }
        let found = || shown_whole(trimmed);
        if trimmed.contains(unseen) {
            let which = numbers_of(trimmed, unseen);
            return Err(NameError::Invisible { found: found(), which });
        }
        match formula_sign(trimmed) {
            Some(sign) => Err(NameError::Formula { found: found(), sign }),
            None => Ok(Self(Arc::new(trimmed.into()))),
        }
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl Serialize for Name {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

impl AsRef<str> for Name {
    fn as_ref(&self) -> &str {
        &self.0
    }
}

impl Borrow<str> for Name {
    fn borrow(&self) -> &str {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_one_visible_line() {
        assert_eq!("  laid 120 ".parse::<Name>().unwrap().as_str(), "laid 120");
        for bad in ["", "  ", "a\u{202e}b", "a\nb", "=cmd()", "-x", "a;=x", &"x".repeat(81)] {
            assert!(bad.parse::<Name>().is_err(), "{bad:?}");
        }
    }
}
