//! The states in which a block is measured.

use super::word::UnknownWord;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A state of a text block between folding and rounding.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// Folded and pressed, no thread in it yet.
    Unsewn,
    /// Sewn, untouched.
    Sewn,
    /// Sewn and pressed.
    Pressed,
    /// Sewn and knocked down.
    Knocked,
    /// Sewn, knocked down and pressed.
    #[serde(rename = "knocked+pressed")]
    KnockedPressed,
}

impl State {
    /// Every state, in the order of the work.
    pub const ALL: [Self; 5] =
        [Self::Unsewn, Self::Sewn, Self::Pressed, Self::Knocked, Self::KnockedPressed];

    /// The words, as a list for messages.
    pub const WORDS: &'static str = "unsewn, sewn, pressed, knocked, knocked+pressed";

    /// Whether there is thread in the folds.
    pub fn has_thread(self) -> bool {
        self != Self::Unsewn
    }

    /// Whether the block was knocked down.
    pub fn is_knocked(self) -> bool {
        matches!(self, Self::Knocked | Self::KnockedPressed)
    }

    /// Whether the sewn block was pressed.
    pub fn is_pressed(self) -> bool {
        matches!(self, Self::Pressed | Self::KnockedPressed)
    }

    /// The word in the files: `knocked+pressed`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Unsewn => "unsewn",
            Self::Sewn => "sewn",
            Self::Pressed => "pressed",
            Self::Knocked => "knocked",
            Self::KnockedPressed => "knocked+pressed",
        }
    }

    /// The state in a sentence: `knocked down`.
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Unsewn => "unsewn",
            Self::Sewn => "as sewn",
            Self::Pressed => "pressed",
            Self::Knocked => "knocked down",
            Self::KnockedPressed => "knocked down and pressed",
        }
    }
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl FromStr for State {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let named = |word: &str| Self::ALL.into_iter().find(|state| state.word() == word);
        named(text)
            .or_else(|| named(&text.trim().to_lowercase()))
            .ok_or_else(|| UnknownWord::new(text, Self::WORDS))
    }
}
