use crate::trade::limits::{OutOfRange, ranges};
use crate::units::{check_grouped, parse_decimal, shown};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// The sections at the start and at the end that are sewn all along, whatever the others share.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ends {
    pub first: u16,
    pub last: u16,
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum EndsError {
    #[error(transparent)]
    Range(#[from] OutOfRange),
    #[error(
        "'{found}' is not a whole number; expected {}, or two such as 3+4 for the first and the last sections",
        ranges::ENDS
    )]
    Unknown { found: String },
}

impl Ends {
    pub fn most(self) -> u16 {
        self.first.max(self.last)
    }

    pub fn are_alike(self) -> bool {
        self.first == self.last
    }

    /// The ends that are sewn otherwise than the rest, with `on` sections in one traverse. If every
    /// section is sewn all along, there are no such ends.
    pub fn separate(self, on: u8) -> Self {
        if on > 1 { self } else { Self::default() }
    }
}

/// `3` for each end, or `3+4` for the first and the last sections.
impl FromStr for Ends {
    type Err = EndsError;

    fn from_str(text: &str) -> Result<Self, EndsError> {
        let unknown = || EndsError::Unknown { found: shown(text.trim()) };
        let end = |one: &str| {
            let number = whole(one).ok_or_else(unknown)?;
            Ok::<u16, EndsError>(ranges::ENDS.check(number)? as u16)
        };
        match text.split_once('+') {
            // A plus before the first number is its sign.
            Some((first, last)) if !first.trim().is_empty() => {
                Ok(Self { first: end(first)?, last: end(last)? })
            }
            _ => end(text).map(|ends| Self { first: ends, last: ends }),
        }
    }
}

fn whole(text: &str) -> Option<f64> {
    check_grouped(text).ok()?;
    parse_decimal(text).ok().filter(|number| number.fract() == 0.0)
}

/// As it is typed: one number, or `3+4` if the ends differ.
impl fmt::Display for Ends {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { first, last } = self;
        if self.are_alike() { write!(f, "{first}") } else { write!(f, "{first}+{last}") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_number_is_for_each_end_and_two_are_for_the_first_and_the_last() {
        let table = [
            ("3", 3, 3, "3"),
            (" 3.0 ", 3, 3, "3"),
            ("+4", 4, 4, "4"),
            ("3+4", 3, 4, "3+4"),
            ("3 + 0", 3, 0, "3+0"),
            ("4+4", 4, 4, "4"),
        ];
        for (text, first, last, written) in table {
            let ends: Ends = text.parse().unwrap();
            assert_eq!((ends.first, ends.last), (first, last), "{text}");
            assert_eq!(ends.to_string(), written);
        }
        for text in ["", "+", "3+", "3-4", "3+4+5", "2.5", "1,000", "three"] {
            let found = shown(text);
            assert_eq!(text.parse::<Ends>(), Err(EndsError::Unknown { found }), "{text}");
        }
        assert!(matches!("3+251".parse::<Ends>(), Err(EndsError::Range(_))));
    }
}
