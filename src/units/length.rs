//! Parses lengths: millimetres inside, any common unit at the edge.

use super::fraction::{parse_fraction, with_plain_fractions};
use super::length_unit::LengthUnit;
use super::millimetres::Millimetres;
use super::number::{NumberError, cleaned, parse_decimal, parse_plain};
use super::shown::shown;
use std::str::FromStr;
use thiserror::Error;

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum LengthError {
    #[error(transparent)]
    Number(#[from] NumberError),
    #[error(
        "'{found}' is not a unit of length; expected mm, cm, um (micron), in, \" or thou (mil)"
    )]
    Unit { found: String },
    #[error(
        "'{found}' is not a unit for plain numbers; expected mm, um (micron), in or thou (mil)"
    )]
    PlainUnit { found: String },
    #[error(
        "'{found}' can be {found} in ({}) or {found} {unit}; write the unit: {found}in or {found}{unit}",
        inches
    )]
    WhichUnit {
        found: String,
        unit: LengthUnit,
        /// The length if it is read in inches, shown in that unit.
        inches: String,
    },
    #[error("list too long: {length} bytes; the limit is {LONGEST_LIST}")]
    ListTooLong { length: usize },
    #[error("'{found}' has a separator with no value beside it; leave out the extra one")]
    Gap { found: String },
    #[error("{}", halves(.found, *.values, .fewer, .more))]
    OneOrTwo {
        found: String,
        /// The number of values if no comma is a decimal mark.
        values: usize,
        /// Read with decimal marks, as half as many values.
        fewer: String,
        /// Read as this many values.
        more: String,
    },
}

fn halves(found: &str, values: usize, fewer: &str, more: &str) -> String {
    match values {
        2 => format!(
            "'{found}' can be one value ({fewer}) or two; write {fewer} for one, or '{more}' for two"
        ),
        _ => format!(
            "'{found}' can be {half} values or {values}; write '{fewer}' for {half}, or '{more}' \
             for {values}",
            half = values / 2
        ),
    }
}

/// The typed names of the units, each with the size of one in a [`LengthUnit`].
const NAMED: [(&[&str], LengthUnit, f64); 5] = [
    (
        &["mm", "mms", "millimetre", "millimetres", "millimeter", "millimeters"],
        LengthUnit::Millimetre,
        1.0,
    ),
    (
        &["cm", "cms", "centimetre", "centimetres", "centimeter", "centimeters"],
        LengthUnit::Millimetre,
        10.0,
    ),
    (
        &[
            "um",
            "\u{b5}m",
            "\u{3bc}m",
            "\u{b5}",
            "\u{3bc}",
            "micron",
            "microns",
            "micrometre",
            "micrometres",
            "micrometer",
            "micrometers",
        ],
        LengthUnit::Micrometre,
        1.0,
    ),
    (
        &["in", "ins", "inch", "inches", "\"", "\u{2033}", "\u{201d}", "\u{201c}", "''"],
        LengthUnit::Inch,
        1.0,
    ),
    (&["thou", "thous", "mil", "mils", "thousandth", "thousandths"], LengthUnit::Thou, 1.0),
];

/// The unit named by `text`, and how many of it the name means: a centimetre is ten millimetres.
fn unit_named(text: &str) -> Result<(LengthUnit, f64), LengthError> {
    let lower = text.trim().to_lowercase();
    let name = lower.strip_suffix('.').unwrap_or(&lower);
    let found = NAMED.iter().find(|(names, ..)| names.contains(&name));
    found
        .map(|(_, unit, factor)| (*unit, *factor))
        .ok_or_else(|| LengthError::Unit { found: shown(text) })
}

impl FromStr for LengthUnit {
    type Err = LengthError;

    fn from_str(text: &str) -> Result<Self, LengthError> {
        match unit_named(text) {
            Ok((unit, 1.0)) => Ok(unit),
            _ => Err(LengthError::PlainUnit { found: shown(text) }),
        }
    }
}

/// Where the number ends and the unit begins.
fn split_unit(text: &str) -> (&str, &str) {
    let numeric = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '/' | ' ');
    let end = text.find(|c| !numeric(c)).unwrap_or(text.len());
    (text[..end].trim(), text[end..].trim())
}

/// Parses a length with its unit (`9.8 mm`, `0.98 cm`, `0.386 in`, `386 thou`, `980 um`,
/// `1 3/16 in`), or a plain number in `default`. A comma may be the decimal mark. A fraction
/// without a unit is in inches if plain numbers are.
pub fn parse_length(text: &str, default: LengthUnit) -> Result<Millimetres, LengthError> {
    if let Some(length) = parse_plain(text).and_then(|plain| Millimetres::new(default.said(plain)))
    {
        return Ok(length);
    }
    let clean = with_plain_fractions(&cleaned(text));
    let not_a_number = || NumberError::NotANumber { found: shown(text.trim()) };
    let (number, unit_text) = split_unit(&clean);
    // `1e3` and `0x10` are invalid numbers, not numbers with an unknown unit.
    let machine = unit_text.chars().any(|c| c.is_ascii_digit());
    if machine || (number.is_empty() && !unit_text.is_empty()) {
        return Err(not_a_number().into());
    }
    let (unit, factor) = if unit_text.is_empty() { (default, 1.0) } else { unit_named(unit_text)? };
    let value = match parse_fraction(number) {
        Some(inches) if unit_text.is_empty() && default != LengthUnit::Inch => {
            let inches = default.shown(LengthUnit::Inch.said(inches));
            return Err(LengthError::WhichUnit { found: shown(number), unit: default, inches });
        }
        Some(value) => value,
        None => parse_decimal(&without_gap(number))?,
    };
    Millimetres::new(unit.said(value * factor)).ok_or_else(|| not_a_number().into())
}

/// How long one of the unit is that a length was typed in; `None` without a unit.
pub fn unit_typed(text: &str) -> Option<Millimetres> {
    let (unit, factor) = unit_named(split_unit(&cleaned(text)).1).ok()?;
    Millimetres::new(unit.to_mm(factor))
}

/// Removes the gap between a sign and its digits; some gauges pad their values.
fn without_gap(number: &str) -> String {
    match number.strip_prefix(['+', '-']) {
        Some(figures) => format!("{}{}", &number[..1], figures.trim_start()),
        None => number.to_owned(),
    }
}

/// The longest list of lengths, in bytes: a thousand readings.
const LONGEST_LIST: usize = 8192;

/// Parses several lengths in one text, separated as [`split_length_list`] says.
///
/// # Errors
/// As [`parse_length`] and [`split_length_list`].
pub fn parse_length_list(text: &str, default: LengthUnit) -> Result<Vec<Millimetres>, LengthError> {
    split_length_list(text)?.into_iter().map(|field| parse_length(field, default)).collect()
}

/// The lengths in one text, each as it was typed. They are separated by commas, or by semicolons if
/// the comma is the decimal mark: `11.0,11.1` or `11,0;11,1`.
///
/// # Errors
/// [`LengthError::OneOrTwo`] for `9,8` and `9,8,9,9`, which may be either; [`LengthError::Gap`] for
/// `9.8,,9.7`; and [`LengthError::ListTooLong`].
pub fn split_length_list(text: &str) -> Result<Vec<&str>, LengthError> {
    if text.len() > LONGEST_LIST {
        return Err(LengthError::ListTooLong { length: text.len() });
    }
    let separator = if text.contains(';') { ';' } else { ',' };
    let fields: Vec<&str> = text.split(separator).collect();
    let is_empty = |field: &&str| field.trim().is_empty();
    if fields.iter().any(is_empty) && !fields.iter().all(is_empty) {
        return Err(LengthError::Gap { found: shown(text) });
    }
    if separator == ',' {
        refuse_one_or_two(text, &fields)?;
    }
    Ok(fields)
}

/// `9,8` is one length to some and two to others; only a person can tell. So is `9,8,9,9`. In a
/// longer list, a space after a comma shows that it separates values.
fn refuse_one_or_two(text: &str, fields: &[&str]) -> Result<(), LengthError> {
    let digits = |field: &str| !field.is_empty() && field.chars().all(|c| c.is_ascii_digit());
    let (pairs, odd) = fields.as_chunks::<2>();
    let spaced = fields.iter().skip(1).any(|field| field.starts_with(char::is_whitespace));
    let is_list = pairs.is_empty() || pairs.len() > 1 && spaced;
    let is_pair = |[left, right]: &[&str; 2]| {
        digits(left.trim_start_matches(['+', '-']).trim()) && digits(split_unit(right).0)
    };
    if is_list || !odd.is_empty() || !pairs.iter().all(is_pair) {
        return Ok(());
    }
    let joined = |mark: char, between: &str| {
        let pair = |[left, right]: &[&str; 2]| {
            let (right, unit) = split_unit(right);
            format!("{}{mark}{right}{unit}", left.trim())
        };
        shown(&pairs.iter().map(pair).collect::<Vec<_>>().join(between))
    };
    Err(LengthError::OneOrTwo {
        found: shown(text),
        values: fields.len(),
        fewer: joined('.', ","),
        more: joined(';', ";"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(text: &str) -> f64 {
        parse_length(text, LengthUnit::Millimetre).expect(text).mm()
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
        assert_eq!((mm("0.98 cm"), mm("980 microns"), mm("980 \u{b5}")), (9.8, 0.98, 0.98));
        assert_eq!((mm("1.5 Millimetres"), mm("10 thousandths"), mm("1 in.")), (1.5, 0.254, 25.4));
    }

    #[test]
    fn a_fraction_is_of_an_inch_and_says_so_where_plain_numbers_are_not() {
        for text in ["3/64\"", "3/64 in", "3\u{2044}64\u{2033}", "3 / 64 inch"] {
            assert_eq!(mm(text), 1.190_625, "{text}");
        }
        for (text, inches) in
            [("\u{bd}", 0.5), ("1\u{bc}", 1.25), ("1-3/8", 1.375), ("17/32", 0.53125)]
        {
            let length = parse_length(text, LengthUnit::Inch).expect(text);
            assert!((length.mm() - inches * 25.4).abs() < 1e-12, "{text}: {length}");
            let which = parse_length(text, LengthUnit::Millimetre).expect_err(text);
            assert!(matches!(which, LengthError::WhichUnit { .. }), "{which}");
        }
        let which = parse_length("17/32", LengthUnit::Millimetre).unwrap_err().to_string();
        assert!(which.starts_with("'17/32' can be 17/32 in (13.494 mm) or 17/32 mm;"), "{which}");
        for bad in ["1/0 in", "1/ in", "/2 in", "1/2/3 in", "1.5/2 in", "-1/2 in"] {
            assert!(parse_length(bad, LengthUnit::Inch).is_err(), "{bad}");
        }
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
        for gap in ["9.6,,9.5", "9.6,", ";9.6", "9.6; ;9.5"] {
            assert_eq!(list(gap), Err(LengthError::Gap { found: gap.to_owned() }));
        }
        let values = |text| list(text).expect(text).iter().map(|v| v.mm()).collect::<Vec<_>>();
        assert_eq!(values("11.0,11.1"), [11.0, 11.1]);
        assert_eq!(values("11,0;11,1"), [11.0, 11.1]);
        assert_eq!(values("8,9,10"), [8.0, 9.0, 10.0]);
        assert_eq!(values("11,11.1"), [11.0, 11.1]);
        assert_eq!(values("26, 15, 26, 20"), [26.0, 15.0, 26.0, 20.0]);
        for text in ["9,8", "9, 8", "9,8mm", "26,15,26,20", "9,8,9,8,9,9mm"] {
            assert!(matches!(list(text), Err(LengthError::OneOrTwo { .. })), "{text}");
        }
        let either = list("26,15,26,20").unwrap_err().to_string();
        assert!(either.ends_with("write '26.15,26.20' for 2, or '26;15;26;20' for 4"), "{either}");
        assert!(list("9.8,").is_err());
    }
}
