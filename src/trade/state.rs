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
    pub fn has_thread(self) -> bool {
        self != Self::Unsewn
    }

    pub fn is_knocked(self) -> bool {
        matches!(self, Self::Knocked | Self::KnockedPressed)
    }

    pub fn is_pressed(self) -> bool {
        matches!(self, Self::Pressed | Self::KnockedPressed)
    }

    /// The state in a sentence: `knocked down`.
    pub const fn phrase(self) -> &'static str {
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
    Unsewn = "unsewn" | "not sewn" | "folded" | "folded and pressed",
    Sewn = "sewn" | "as sewn",
    Pressed = "pressed" | "sewn and pressed",
    Knocked = "knocked" | "knocked down" | "sewn and knocked down",
    KnockedPressed = "knocked+pressed" | "knocked down and pressed" | "knocked, pressed"
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_state_is_read_as_it_is_shown_in_a_sentence_too() {
        for state in State::ALL {
            for text in [state.phrase().to_owned(), state.word().to_uppercase()] {
                assert_eq!(text.parse(), Ok(state), "{text}");
            }
        }
        for text in ["Knocked-Down & Pressed", "knocked + pressed", "knocked_down and pressed"] {
            assert_eq!(text.parse(), Ok(State::KnockedPressed), "{text}");
        }
        for text in ["", "and", "down", "knock", "knocked sewn"] {
            assert!(text.parse::<State>().is_err(), "{text}");
        }
    }
}
