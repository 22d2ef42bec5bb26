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

/// The word of each variant, said once: shown, read, and listed in messages.
macro_rules! words {
    ($type:ident: $first:ident = $word:literal $(, $other:ident = $words:literal)*) => {
        impl $type {
            /// Every one, in order.
            pub const ALL: [Self; [$word $(, $words)*].len()] = [Self::$first $(, Self::$other)*];

            /// The words, as a list for messages.
            pub const WORDS: &'static str = concat!($word $(, ", ", $words)*);

            /// The word in the files.
            pub fn word(self) -> &'static str {
                match self {
                    Self::$first => $word,
                    $(Self::$other => $words,)*
                }
            }
        }

        impl std::fmt::Display for $type {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.word())
            }
        }

        impl std::str::FromStr for $type {
            type Err = $crate::trade::UnknownWord;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                // Mostly a word is written as it is shown, and there may be millions.
                let named = |text: &str| match text {
                    $word => Some(Self::$first),
                    $($words => Some(Self::$other),)*
                    _ => None,
                };
                let found = named(text).or_else(|| named(&text.trim().to_lowercase()));
                found.ok_or_else(|| $crate::trade::UnknownWord::new(text, Self::WORDS))
            }
        }
    };
}
pub(crate) use words;
