//! Parses decimal numbers as people and gauges type them.

use super::shown::shown;
use thiserror::Error;

/// The longest number that is parsed; a gauge or a person never needs more.
const MAX_DIGITS: usize = 32;

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NumberError {
    #[error("nothing was given")]
    Empty,
    #[error("'{found}' can be read as {first} or as {second}; type it with one decimal mark")]
    Ambiguous { found: String, first: String, second: String },
    #[error("'{found}' is not a plain number such as 9.8")]
    NotANumber {
        /// The text as typed, shortened.
        found: String,
    },
}

/// Replaces special spaces, minus signs and dashes by plain ones, and removes line ends, NUL and
/// byte-order marks.
pub(crate) fn cleaned(text: &str) -> String {
    text.chars()
        .filter(|c| !matches!(c, '\r' | '\n' | '\0' | '\u{feff}'))
        .map(|c| match c {
            '\u{a0}' | '\u{2007}' | '\u{2009}' | '\u{200a}' | '\u{202f}' => ' ',
            '\u{2212}' | '\u{2013}' => '-',
            other => other,
        })
        .collect::<String>()
        .trim()
        .to_owned()
}

/// Whether a text is this many digits from 0 to 9 and a to f.
pub(crate) fn is_hex(text: &str, digits: usize) -> bool {
    let is_digit = |byte: u8| matches!(byte, b'0'..=b'9' | b'a'..=b'f');
    text.len() == digits && text.bytes().all(is_digit)
}

/// A fast path for digits with at most one point, as nearly all numbers are. Such a text means the
/// same in every notation.
pub(crate) fn parse_plain(text: &str) -> Option<f64> {
    let (mut whole, mut digits, mut decimals, mut points) = (0_u64, 0, 0, 0);
    for byte in text.bytes() {
        match byte {
            b'0'..=b'9' => {
                whole = whole.wrapping_mul(10).wrapping_add(u64::from(byte - b'0'));
                (digits, decimals) = (digits + 1, decimals + points);
            }
            b'.' => points += 1,
            _ => return None,
        }
    }
    if digits == 0 || points > 1 || text.len() > MAX_DIGITS {
        return None;
    }
    // With so few digits both numbers are exact, and their quotient is rounded once (Clinger 1990).
    let power = TENS.get(decimals).filter(|_| digits <= 15);
    power.map_or_else(|| text.parse().ok(), |power| Some(whole as f64 / power))
}

const TENS: [f64; 16] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// A decimal number: an optional sign, digits, at most one decimal mark (`.` or `,`). No exponent, no hex,
/// no `inf` and no `nan`.
pub fn parse_decimal(text: &str) -> Result<f64, NumberError> {
    if let Some(plain) = parse_plain(text) {
        return Ok(plain);
    }
    let clean = cleaned(text);
    if clean.is_empty() {
        return Err(NumberError::Empty);
    }
    let not_a_number = || NumberError::NotANumber { found: shown(&clean) };
    let unsigned = clean.strip_prefix(['+', '-']).unwrap_or(&clean);
    if unsigned.len() > MAX_DIGITS || !unsigned.chars().any(|c| c.is_ascii_digit()) {
        return Err(not_a_number());
    }
    if !unsigned.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',') {
        return Err(not_a_number());
    }
    check_marks(&clean, unsigned)?;
    let sign = if clean.starts_with('-') { -1.0 } else { 1.0 };
    let plain = unsigned.replace(',', ".");
    plain.parse::<f64>().map(|magnitude| sign * magnitude).map_err(|_| not_a_number())
}

/// Refuses a whole number with a mark before exactly three digits, such as `1,000` or `1.000`. As a
/// decimal number it would be a thousandth of what was meant.
pub fn check_grouped(text: &str) -> Result<(), Grouped> {
    if !text.contains(['.', ',']) {
        return Ok(());
    }
    let clean = cleaned(text);
    let Some((before, after)) = clean.split_once(['.', ',']) else { return Ok(()) };
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if !(1..=3).contains(&before.len()) || after.len() != 3 || !digits(before) || !digits(after) {
        return Ok(());
    }
    let plain = format!("{before}{after}");
    Err(Grouped { found: clean, plain })
}

/// A whole number that may be grouped in thousands.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{found}' may mean {plain}; write whole numbers without a mark: {plain}")]
pub struct Grouped {
    found: String,
    plain: String,
}

/// Refuses more than one mark, and shows both meanings if there are two.
fn check_marks(clean: &str, unsigned: &str) -> Result<(), NumberError> {
    let points = unsigned.matches('.').count();
    let commas = unsigned.matches(',').count();
    if points == 1 && commas == 1 {
        let thousands =
            if unsigned.find('.') < unsigned.find(',') { ['.', ','] } else { [',', '.'] };
        let [first, second] = thousands.map(|mark| unsigned.replace(mark, "").replace(',', "."));
        return Err(NumberError::Ambiguous { found: shown(clean), first, second });
    }
    if points + commas > 1 {
        return Err(NumberError::NotANumber { found: shown(clean) });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_or_a_comma_marks_the_decimals() {
        for text in ["1.25", "1,25", " 1.25 ", "+1.25", "+0001.250", "\u{feff}1.25\r\n"] {
            assert_eq!(parse_decimal(text), Ok(1.25), "{text:?}");
        }
        assert_eq!(parse_decimal(".5"), Ok(0.5));
        assert_eq!(parse_decimal("5."), Ok(5.0));
        assert_eq!(parse_decimal("\u{2212}0.5"), Ok(-0.5));
    }

    #[test]
    fn a_plain_number_is_the_same_the_long_way_round() {
        for text in ["0", "12", "6.19", ".5", "5.", "007.250", "123456789.123456789"] {
            let plain = parse_plain(text).expect(text);
            assert_eq!(parse_decimal(&format!("+{text}")), Ok(plain), "{text}");
        }
        let long = "1".repeat(MAX_DIGITS + 1);
        for text in ["", ".", "1,5", "-1", " 1", "1e3", "1.2.3", "\u{663}", &long] {
            assert_eq!(parse_plain(text), None, "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn a_plain_number_is_the_nearest_there_is(text in "[0-9]{0,12}[.]?[0-9]{0,12}") {
            proptest::prop_assert_eq!(parse_plain(&text), text.parse().ok(), "{}", text);
        }
    }

    #[test]
    fn what_is_not_a_plain_number_is_refused() {
        for text in ["1e3", "inf", "NaN", "0x10", "--1", "+", ".", "1.2.3", "1,2,3", "", "1 2"] {
            assert!(parse_decimal(text).is_err(), "{text:?}");
        }
        assert!(parse_decimal(&"9".repeat(5000)).is_err());
    }

    #[test]
    fn two_marks_show_both_meanings() {
        let Err(NumberError::Ambiguous { first, second, .. }) = parse_decimal("1.234,56") else {
            panic!("two marks were accepted")
        };
        assert_eq!((first.as_str(), second.as_str()), ("1234.56", "1.23456"));
    }
}
