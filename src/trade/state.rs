//! The states in which a block is measured.

use super::word::words;
use serde::{Deserialize, Serialize};

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

words!(
    State:
    Unsewn = "unsewn", Sewn = "sewn", Pressed = "pressed", Knocked = "knocked",
    KnockedPressed = "knocked+pressed"
);
