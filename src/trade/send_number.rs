use crate::units::{is_hex, shown};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// The number of a form: 128 random bits, drawn when the form is shown. It stays the same however
/// often the form is sent, so that the form is written only once.
///
/// What is saved with the rows has a digest of the form's fields in place of the first half. So a
/// form that is sent again after a change is not taken for the one that was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SendNumber(u128);

#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error(
    "'{}' is not a send number; expected {} digits from 0 to 9 and a to f",
    shown(found),
    SendNumber::DIGITS
)]
pub struct SendNumberError {
    found: String,
}

impl SendNumber {
    /// The number of its hexadecimal digits.
    pub const DIGITS: usize = 32;

    /// The number of a form with the digest of what it holds.
    #[must_use]
    pub fn holding(self, digest: u64) -> Self {
        Self(u128::from(digest) << 64 | u128::from(self.of_form()))
    }

    /// Whether both numbers are of one form, whatever it holds.
    pub fn is_same_form(self, other: Self) -> bool {
        self.of_form() == other.of_form()
    }

    /// The second half, which is the same whatever the form holds.
    fn of_form(self) -> u64 {
        self.0 as u64
    }
}

impl From<u128> for SendNumber {
    fn from(bits: u128) -> Self {
        Self(bits)
    }
}

impl FromStr for SendNumber {
    type Err = SendNumberError;

    fn from_str(text: &str) -> Result<Self, SendNumberError> {
        // Only the exact written form, not other texts for the same number.
        let is_whole = is_hex(text, Self::DIGITS);
        let bits = is_whole.then(|| u128::from_str_radix(text, 16).ok()).flatten();
        bits.map(Self).ok_or_else(|| SendNumberError { found: text.to_owned() })
    }
}

impl fmt::Display for SendNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:0width$x}", self.0, width = Self::DIGITS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_reads_back_from_how_it_is_shown() {
        for bits in [0, 1, 0x0123_4567_89ab_cdef_u128 << 64, u128::MAX] {
            let shown = SendNumber::from(bits).to_string();
            assert_eq!(shown.len(), SendNumber::DIGITS);
            assert_eq!(shown.parse(), Ok(SendNumber(bits)), "{shown}");
        }
    }

    #[test]
    fn a_form_that_was_changed_is_the_same_form_under_another_number() {
        let drawn = SendNumber::from(u128::MAX / 3);
        let [one, other] = [1, 2].map(|digest| drawn.holding(digest));
        assert!(one != other && one.is_same_form(other) && one.is_same_form(drawn));
        assert_eq!(one.holding(2), other);
        assert!(!one.is_same_form(SendNumber::from(u128::MAX / 5).holding(1)));
    }

    #[test]
    fn nothing_else_is_taken_for_one() {
        let one = "0123456789abcdef0123456789abcdef";
        let padded = format!(" {one}");
        for bad in ["", &one[1..], &padded, &one.to_uppercase(), &one.replace('0', "+"), "é"] {
            let error = bad.parse::<SendNumber>().unwrap_err().to_string();
            assert!(error.ends_with("expected 32 digits from 0 to 9 and a to f"), "{error}");
        }
        assert!(one.replace("01", "é").parse::<SendNumber>().is_err(), "32 bytes of other letters");
    }
}
