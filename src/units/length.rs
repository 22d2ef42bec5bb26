//! Lengths: millimetres inside, any common unit at the edge.

use super::number::{DecimalMark, NumberError, cleaned, parse_decimal, parse_plain};
use super::shown::shown;
use serde::{Serialize, Serializer};
use std::fmt;
use std::num::NonZeroU64;
use std::str::FromStr;
use thiserror::Error;

/// A length in millimetres, finite; may be negative (a difference of two lengths).
///
/// It holds the bits of the number against those of `ABSENT`, so that an `Option` of it is no
/// larger: a book may hold millions.
#[derive(Clone, Copy)]
pub struct Millimetres(NonZeroU64);

/// What no length is.
const ABSENT: f64 = f64::NAN;

/// A length in micrometres: 1 µm = 0.001 mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Micrometres(pub f64);

/// A length in inches: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inches(pub f64);

/// A length in thousandths of an inch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thou(pub f64);

impl Millimetres {
    /// A length in millimetres; `None` unless `value` is finite.
    pub fn new(value: f64) -> Option<Self> {
        value.is_finite().then(|| Self::of(value))
    }

    fn of(value: f64) -> Self {
        let bits = value.to_bits() ^ ABSENT.to_bits();
        // Only `ABSENT` itself has none; it becomes another number that is not one.
        Self(NonZeroU64::new(bits).unwrap_or(NonZeroU64::MIN))
    }

    /// The length as a plain number of millimetres.
    pub fn mm(self) -> f64 {
        f64::from_bits(self.0.get() ^ ABSENT.to_bits())
    }
}

impl PartialEq for Millimetres {
    fn eq(&self, other: &Self) -> bool {
        self.mm() == other.mm()
    }
}

impl PartialOrd for Millimetres {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        self.mm().partial_cmp(&other.mm())
    }
}

impl fmt::Debug for Millimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Millimetres").field(&self.mm()).finish()
    }
}

impl Serialize for Millimetres {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.mm())
    }
}

impl From<Micrometres> for Millimetres {
    fn from(length: Micrometres) -> Self {
        Self::of(length.0 / 1000.0)
    }
}

impl From<Inches> for Millimetres {
    fn from(length: Inches) -> Self {
        Self::of(length.0 * 25.4)
    }
}

impl From<Thou> for Millimetres {
    fn from(length: Thou) -> Self {
        Self::of(length.0 * 0.0254)
    }
}

impl fmt::Display for Millimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.mm())
    }
}

/// A unit in which a length is typed or shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LengthUnit {
    #[default]
    Millimetre,
    Micrometre,
    Inch,
    /// Thousandths of an inch.
    Thou,
}

impl LengthUnit {
    /// This many of the unit, in millimetres.
    pub fn to_mm(self, value: f64) -> f64 {
        match self {
            Self::Millimetre => value,
            Self::Micrometre => Millimetres::from(Micrometres(value)).mm(),
            Self::Inch => Millimetres::from(Inches(value)).mm(),
            Self::Thou => Millimetres::from(Thou(value)).mm(),
        }
    }

    pub fn count(self, length: Millimetres) -> f64 {
        length.mm() / self.to_mm(1.0)
    }

    /// The short name: `mm`, `um`, `in` or `thou`.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Micrometre => "um",
            Self::Inch => "in",
            Self::Thou => "thou",
        }
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.symbol())
    }
}

/// Why a text is not a length.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum LengthError {
    /// The number before the unit is at fault.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// The unit is not known.
    #[error("'{found}' is not a unit of length; known are mm, um, in, \" and thou")]
    Unit {
        /// The text where a unit was looked for.
        found: String,
    },
    /// A list longer than anybody types.
    #[error("list too long: {length} bytes; the limit is {LONGEST_LIST}")]
    ListTooLong {
        /// Its length in bytes.
        length: usize,
    },
    /// A list whose comma may be a decimal mark or may part two values.
    #[error(
        "'{found}' can be one value ({single}) or two; write {single} for one, or '{pair}' for two"
    )]
    OneOrTwo {
        /// The text as typed.
        found: String,
        /// It as one value.
        single: String,
        /// It as two values.
        pair: String,
    },
}

impl FromStr for LengthUnit {
    type Err = LengthError;

    fn from_str(text: &str) -> Result<Self, LengthError> {
        match text.trim().to_lowercase().as_str() {
            "mm" => Ok(Self::Millimetre),
            "um" | "\u{b5}m" | "\u{3bc}m" => Ok(Self::Micrometre),
            "in" | "inch" | "inches" | "\"" | "\u{2033}" | "\u{201d}" => Ok(Self::Inch),
            "thou" | "mil" => Ok(Self::Thou),
            _ => Err(LengthError::Unit { found: shown(text) }),
        }
    }
}

/// Where the number ends and the unit begins.
fn split_unit(text: &str) -> (&str, &str) {
    let numeric = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '/' | ' ');
    let end = text.find(|c| !numeric(c)).unwrap_or(text.len());
    (text[..end].trim(), text[end..].trim())
}

/// A whole number, a fraction or both: `1`, `3/16`, `1 3/16`.
fn parse_fraction(text: &str) -> Option<f64> {
    let (whole, fraction) = match text.rsplit_once(' ') {
        Some((whole, fraction)) => (whole.trim().parse::<u16>().ok()?, fraction),
        None => (0, text),
    };
    let (top, bottom) = fraction.split_once('/')?;
    let (top, bottom) = (top.parse::<u16>().ok()?, bottom.parse::<u16>().ok()?);
    (bottom > 0).then(|| f64::from(whole) + f64::from(top) / f64::from(bottom))
}

/// A length with its unit (`9.8 mm`, `0.386 in`, `386 thou`, `980 um`, `1 3/16 in`), or a plain
/// number in `default`. A comma may mark the decimals.
///
/// # Errors
/// [`LengthError`] says what was found.
pub fn parse_length(text: &str, default: LengthUnit) -> Result<Millimetres, LengthError> {
    if let Some(length) = parse_plain(text).and_then(|plain| Millimetres::new(default.to_mm(plain)))
    {
        return Ok(length);
    }
    let clean = cleaned(text);
    let (number, unit_text) = split_unit(&clean);
    // `1e3` and `0x10` are a machine's numbers, not an unknown unit.
    let machine = unit_text.chars().any(|c| c.is_ascii_digit());
    if machine || (number.is_empty() && !unit_text.is_empty()) {
        return Err(NumberError::NotANumber { found: shown(&clean) }.into());
    }
    let unit = if unit_text.is_empty() { default } else { unit_text.parse()? };
    let value = match parse_fraction(number) {
        Some(value) => value,
        None => parse_decimal(number, DecimalMark::Either)?,
    };
    Millimetres::new(unit.to_mm(value))
        .ok_or_else(|| NumberError::NotANumber { found: shown(&clean) }.into())
}

/// The longest list of lengths, in bytes: a thousand readings.
const LONGEST_LIST: usize = 8192;

/// Several lengths in one text, separated by commas, or by semicolons where a comma marks the
/// decimals: `11.0,11.1` or `11,0;11,1`.
///
/// # Errors
/// As [`parse_length`]; [`LengthError::OneOrTwo`] for `9,8`, which may be either; and
/// [`LengthError::ListTooLong`].
pub fn parse_length_list(text: &str, default: LengthUnit) -> Result<Vec<Millimetres>, LengthError> {
    if text.len() > LONGEST_LIST {
        return Err(LengthError::ListTooLong { length: text.len() });
    }
    if text.contains(';') {
        return text.split(';').map(|field| parse_length(field, default)).collect();
    }
    let fields: Vec<&str> = text.split(',').collect();
    if let [left, right] = fields[..] {
        refuse_one_or_two(text, left, right)?;
    }
    fields.into_iter().map(|field| parse_length(field, default)).collect()
}

/// `9,8` is one length to some and two to others; only a person can tell.
fn refuse_one_or_two(text: &str, left: &str, right: &str) -> Result<(), LengthError> {
    let digits = |field: &str| !field.is_empty() && field.chars().all(|c| c.is_ascii_digit());
    let (right_number, unit) = split_unit(right);
    if digits(left.trim_start_matches(['+', '-']).trim()) && digits(right_number) {
        let (left, unit) = (left.trim(), unit.trim());
        return Err(LengthError::OneOrTwo {
            found: shown(text),
            single: shown(&format!("{left}.{right_number}{unit}")),
            pair: shown(&format!("{left};{right_number}{unit}")),
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(text: &str) -> f64 {
        parse_length(text, LengthUnit::Millimetre).expect(text).mm()
    }

    #[test]
    fn a_length_that_is_not_there_takes_no_room_and_lengths_compare_as_numbers() {
        assert_eq!(size_of::<Option<Millimetres>>(), size_of::<f64>());
        let length = |value| Millimetres::new(value).expect("finite");
        for value in [0.0, -0.0, 9.8, -1.5, f64::MAX, f64::MIN_POSITIVE] {
            assert_eq!(length(value).mm().to_bits(), value.to_bits());
        }
        assert_eq!(length(0.0), length(-0.0));
        assert!(length(-1.0) < length(0.5));
        assert_eq!(format!("{:?}", length(9.8)), "Millimetres(9.8)");
        assert_eq!(Millimetres::new(f64::NAN), None);
        assert!(Millimetres::from(Inches(f64::NAN)).mm().is_nan());
    }

    #[test]
    fn every_unit_of_the_bench_is_understood() {
        assert_eq!(mm("9.8 mm"), 9.8);
        assert_eq!(mm("9,8"), 9.8);
        assert!((mm("0.386 in") - 9.8044).abs() < 1e-12);
        assert!((mm("386 thou") - 9.8044).abs() < 1e-12);
        assert_eq!(mm("980 um"), 0.98);
        assert_eq!(mm("250\u{b5}m"), 0.25);
        assert!((mm("1 3/16 in") - 30.1625).abs() < 1e-12);
        assert!((mm("3/16\"") - 4.7625).abs() < 1e-12);
    }

    #[test]
    fn an_unknown_unit_is_named() {
        let error = parse_length("9.8 furlong", LengthUnit::Millimetre).unwrap_err();
        assert_eq!(error, LengthError::Unit { found: "furlong".into() });
        let machine = parse_length("1e309", LengthUnit::Millimetre).unwrap_err();
        assert!(matches!(machine, LengthError::Number(_)), "{machine}");
        assert!(parse_length("mm", LengthUnit::Millimetre).is_err());
        assert!(parse_length("1/0 in", LengthUnit::Millimetre).is_err());
    }

    #[test]
    fn a_list_parts_at_commas_unless_the_comma_may_be_a_decimal_mark() {
        let list = |text| parse_length_list(text, LengthUnit::Millimetre);
        let values = |text| list(text).expect(text).iter().map(|v| v.mm()).collect::<Vec<_>>();
        assert_eq!(values("11.0,11.1"), [11.0, 11.1]);
        assert_eq!(values("11,0;11,1"), [11.0, 11.1]);
        assert_eq!(values("8,9,10"), [8.0, 9.0, 10.0]);
        assert_eq!(values("11,11.1"), [11.0, 11.1]);
        assert!(matches!(list("9,8"), Err(LengthError::OneOrTwo { .. })));
        assert!(list("9.8,").is_err());
    }
}
