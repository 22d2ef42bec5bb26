//! Parses the fixed words of the program, as people write them.

use thiserror::Error;

/// A word that is not among the words allowed in its place.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{found}' is not one of {allowed}{advice}")]
pub struct UnknownWord {
    pub found: String,
    /// The words allowed, as a list.
    pub allowed: &'static str,
    /// What to do if none of them fits, after a semicolon; usually empty.
    pub advice: &'static str,
}

impl UnknownWord {
    pub(crate) fn new(found: &str, allowed: &'static str, advice: &'static str) -> Self {
        Self { found: crate::units::shown(found), allowed, advice }
    }
}

/// A word without what people write in different ways: capitals, spaces, dashes, plus signs, and
/// the word *and*. `Knocked down & pressed` becomes `knocked down pressed`.
///
/// A text longer than any word of the program is not a word: its plain form is empty.
pub(crate) fn plain_word(text: &str) -> String {
    const LONGEST: usize = 200;
    if text.len() > LONGEST {
        return String::new();
    }
    let lower = text.to_lowercase();
    let parts = lower.split(|c: char| !c.is_alphanumeric());
    let parts = parts.filter(|part| !part.is_empty() && *part != "and");
    parts.collect::<Vec<_>>().join(" ")
}

/// A text that should have been yes or no.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{found}' is neither yes nor no")]
pub struct NeitherYesNorNo {
    pub found: String,
}

pub fn parse_yes_no(text: &str) -> Result<bool, NeitherYesNorNo> {
    match text {
        // A fast path: usually it is written as it is shown.
        "yes" => return Ok(true),
        "no" => return Ok(false),
        _ => {}
    }
    match text.trim().to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(true),
        "no" | "n" | "false" | "0" => Ok(false),
        _ => Err(NeitherYesNorNo { found: crate::units::shown(text) }),
    }
}

/// Defines the word of each variant once, for display, parsing and lists in messages. After it,
/// separated by `|`, come other accepted words: those of sentences, and usual ones.
macro_rules! words {
    (
        $type:ident $(or $advice:literal)?:
        $first:ident = $word:literal $(| $alias:literal)*
        $(, $other:ident = $words:literal $(| $aliases:literal)*)*
    ) => {
        impl $type {
            pub const ALL: [Self; [$word $(, $words)*].len()] = [Self::$first $(, Self::$other)*];

            /// The words, as a list for messages.
            pub const WORDS: &'static str = concat!($word $(, ", ", $words)*);

            pub const EACH: &'static [&'static str] = &[$word $(, $words)*];

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
                // A fast path: most words are written as they are shown, and there may be millions.
                match text {
                    $word => return Ok(Self::$first),
                    $($words => return Ok(Self::$other),)*
                    _ => {}
                }
                let typed = $crate::trade::plain_word(text);
                let named = |words: &[&str]| {
                    words.iter().any(|word| $crate::trade::plain_word(word) == typed)
                };
                if named(&[$word $(, $alias)*]) {
                    return Ok(Self::$first);
                }
                $(if named(&[$words $(, $aliases)*]) {
                    return Ok(Self::$other);
                })*
                Err($crate::trade::UnknownWord::new(text, Self::WORDS, concat!($("; ", $advice)?)))
            }
        }
    };
}
pub(crate) use words;
