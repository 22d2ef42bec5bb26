//! A word that is none of those allowed.

use thiserror::Error;

/// A word that is none of the words allowed in its place.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{found}' is not one of {allowed}")]
pub struct UnknownWord {
    /// The text found.
    pub found: String,
    /// The words allowed, as a list.
    pub allowed: &'static str,
}

impl UnknownWord {
    pub(crate) fn new(found: &str, allowed: &'static str) -> Self {
        Self { found: crate::units::shown(found), allowed }
    }
}
