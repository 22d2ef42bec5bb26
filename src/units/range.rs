//! Parses two bounds in one text, as people write them: `25..35`, `25 to 35`, `25-35 %`.

use super::number::{NumberError, cleaned, parse_decimal};
use super::shown::shown;
use thiserror::Error;

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum RangeError {
    #[error(
        "'{found}' holds one number, and two bounds are needed; write the lowest and the highest, such as {example}"
    )]
    One { found: String, example: String },
    #[error(
        "'{found}' can be {single} or from {low} to {high}; write {low}..{high} for the two bounds"
    )]
    OneOrTwo { found: String, single: String, low: String, high: String },
    #[error(transparent)]
    Number(#[from] NumberError),
    #[error("'{found}' is not a range such as 12..22 or 12 to 22")]
    Form { found: String },
}

impl RangeError {
    /// Whether the text was meant as numbers, not as a name.
    pub fn is_of_numbers(&self) -> bool {
        !matches!(self, Self::Form { .. })
    }
}

/// The longest text that is parsed, in bytes.
const LONGEST: usize = 200;

/// Parses two bounds with `..`, `to`, a dash or `and` between them; a per cent sign may follow
/// each.
pub fn parse_range(text: &str) -> Result<(f64, f64), RangeError> {
    let found = || shown(text.trim());
    if text.len() > LONGEST {
        return Err(RangeError::Form { found: found() });
    }
    let clean = cleaned(text);
    let Some((low, high)) = bounds(&clean) else {
        return Err(alone(&clean, found()));
    };
    // If a word or a dash separates texts that are not numbers, the whole text is a name.
    let dotted = clean.contains("..") || clean.contains('\u{2026}');
    if let Some(only) = only_one(low, high).filter(|_| dotted) {
        return Err(alone(only, found()));
    }
    let number = |text: &str| {
        let number = parse_decimal(without_percent(text));
        number.map_err(|error| match (dotted, error) {
            (false, NumberError::NotANumber { .. } | NumberError::Empty) => {
                RangeError::Form { found: found() }
            }
            (_, error) => error.into(),
        })
    };
    Ok((number(low)?, number(high)?))
}

/// The texts on either side of the separator between two bounds.
fn bounds(text: &str) -> Option<(&str, &str)> {
    // Ignores capitals; ASCII letters keep their length.
    let lower = text.to_ascii_lowercase();
    let before = ["from ", "between "].into_iter().find(|word| lower.starts_with(word));
    let start = before.map_or(0, str::len);
    let marks = ["...", "..", "\u{2026}", " to ", "\u{2014}", " and "];
    let found = marks.into_iter().find_map(|mark| Some((start + lower[start..].find(mark)?, mark)));
    if let Some((at, mark)) = found {
        return Some((&text[start..at], &text[at + mark.len()..]));
    }
    // A dash before any digit is a sign. `cleaned` has made all other dashes plain.
    let figure = text.find(|c: char| c.is_ascii_digit())?;
    let dash = figure + text[figure..].find('-')?;
    Some((&text[start.min(dash)..dash], &text[dash + 1..]))
}

/// The only bound, if the other one is missing.
fn only_one<'t>(low: &'t str, high: &'t str) -> Option<&'t str> {
    match [low, high].map(|bound| bound.trim().is_empty()) {
        [true, false] => Some(high),
        [false, true] => Some(low),
        [true, true] | [false, false] => None,
    }
}

fn without_percent(text: &str) -> &str {
    let text = text.trim();
    let lower = text.to_ascii_lowercase();
    let unit = ["%", "per cent", "percent"].into_iter().find(|unit| lower.ends_with(unit));
    text[..text.len() - unit.map_or(0, str::len)].trim_end()
}

/// The error for a text without two bounds.
fn alone(clean: &str, found: String) -> RangeError {
    let number = without_percent(clean);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if let Some((low, high)) = number.split_once(',')
        && digits(low)
        && digits(high)
    {
        let single = format!("{low}.{high}");
        return RangeError::OneOrTwo { found, single, low: low.to_owned(), high: high.to_owned() };
    }
    match parse_decimal(number) {
        Ok(value) => {
            // Bounds around the number that may have been meant.
            let room = if value.abs() < 10.0 { 1.0 } else { 5.0 };
            let [low, high] = [value - room, value + room].map(|bound| (bound * 1e6).round() / 1e6);
            RangeError::One { found, example: format!("{low}..{high}") }
        }
        Err(_) => RangeError::Form { found },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_bounds_however_they_are_written() {
        for text in [
            "25..35",
            "25...35",
            "25\u{2026}35",
            "25 to 35",
            "25 TO 35",
            "25-35",
            "25 - 35 %",
            "25\u{2013}35",
            "25\u{2014}35",
            "25%-35%",
            "between 25 and 35",
            "from 25 to 35 per cent",
        ] {
            assert_eq!(parse_range(text), Ok((25.0, 35.0)), "{text}");
        }
        for text in ["-5..5", "-5 to 5", "-5-5", "\u{2212}5\u{2013}5"] {
            assert_eq!(parse_range(text), Ok((-5.0, 5.0)), "{text}");
        }
        assert_eq!(parse_range("-5--1"), Ok((-5.0, -1.0)));
        assert_eq!(parse_range("2,5-3,5"), Ok((2.5, 3.5)));
    }

    #[test]
    fn what_is_not_two_bounds_gets_what_to_type() {
        let said = |text: &str| parse_range(text).expect_err(text).to_string();
        assert!(said("30").ends_with("such as 25..35"), "{}", said("30"));
        assert!(said("4").ends_with("such as 3..5"));
        assert!(said("8.7").ends_with("such as 7.7..9.7"), "{}", said("8.7"));
        assert!(said("25..").ends_with("such as 20..30"), "{}", said("25.."));
        assert!(said("4,5").contains("can be 4.5 or from 4 to 5"), "{}", said("4,5"));
        for text in
            ["rounded", "two-on", "limp-24", "24-limp", "", "-", "1e3-5", "25..x", "25-30-35"]
        {
            assert!(parse_range(text).is_err(), "{text}");
        }
    }
}
