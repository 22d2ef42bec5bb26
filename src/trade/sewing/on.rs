//! Parses how many sections are sewn in one traverse, as binders say it.

use crate::trade::limits::{OutOfRange, ranges};
use crate::trade::word::plain_word;
use crate::units::{parse_decimal, shown};
use thiserror::Error;

/// Words for the possible numbers of sections in a traverse.
const WORDS: [&str; 6] = ["one", "two", "three", "four", "five", "six"];

#[derive(Clone, Debug, PartialEq, Error)]
pub enum OnError {
    #[error(transparent)]
    Range(#[from] OutOfRange),
    #[error(
        "'{found}' is not a number of sections in one traverse; expected {}, or words such as 'all along', 'two-on'",
        ranges::ON
    )]
    Unknown { found: String },
}

/// Sections sewn in one traverse: `2`, `two-on`, `2 on`, `all along`.
pub fn parse_on(text: &str) -> Result<u8, OnError> {
    let unknown = || OnError::Unknown { found: shown(text.trim()) };
    if let Ok(number) = parse_decimal(text) {
        let number = ranges::ON.check(number)?;
        return if number.fract() == 0.0 { Ok(number as u8) } else { Err(unknown()) };
    }
    let word = plain_word(text);
    if word == "all along" {
        return Ok(1);
    }
    let count = word.strip_suffix(" on").unwrap_or(&word);
    let named = WORDS.iter().position(|word| *word == count).map(|at| at + 1);
    let number = named.or_else(|| count.parse().ok()).and_then(|count| u8::try_from(count).ok());
    Ok(ranges::ON.check(f64::from(number.ok_or_else(unknown)?))? as u8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sections_are_counted_in_figures_or_in_the_words_of_the_trade() {
        for (text, on) in [
            ("1", 1),
            ("2.0", 2),
            ("all along", 1),
            ("All-Along", 1),
            ("two-on", 2),
            ("2-on", 2),
            ("Two On", 2),
            ("three", 3),
            ("one-on", 1),
        ] {
            assert_eq!(parse_on(text), Ok(on), "{text}");
        }
        for text in ["0", "7", "2.5", "seven-on", "on", "", "two", "1e0", "-2"] {
            assert_eq!(parse_on(text).is_ok(), text == "two", "{text}");
        }
    }
}
