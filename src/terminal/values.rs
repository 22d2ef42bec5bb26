//! Parses values as they are typed, after a flag or at a prompt. The errors do not name the flag.

use super::suggest::closest;
use crate::trade::{
    DayError, NeitherYesNorNo, OutOfRange, Range, UnknownWord, parse_yes_no, whole_or_named_day,
};
use crate::units::{
    GaugeError, Grouped, LengthError, LengthUnit, Millimetres, NumberError, check_grouped,
    parse_decimal, parse_gauge_line, parse_length, shown, unit_typed,
};
use jiff::civil::Date;
use std::str::FromStr;
use thiserror::Error;

#[derive(Clone, Debug, PartialEq, Error)]
pub enum ValueError {
    #[error(transparent)]
    Number(#[from] NumberError),
    #[error(transparent)]
    Length(#[from] LengthError),
    #[error(transparent)]
    Gauge(#[from] GaugeError),
    #[error("{}", error.typed(*unit, *typed_in))]
    Outside {
        error: OutOfRange,
        unit: LengthUnit,
        /// How long one of the unit is that it was typed with.
        typed_in: Option<Millimetres>,
    },
    #[error("'{found}' is not a whole number; expected {expected}")]
    NotWhole { found: String, expected: Range },
    #[error(transparent)]
    Grouped(#[from] Grouped),
    #[error("expected one reading here, not {count}")]
    NotOne { count: usize },
    #[error("{}", about_day(.0))]
    Day(DayError),
    #[error(transparent)]
    YesNo(#[from] NeitherYesNorNo),
    #[error("{error}{}", perhaps(meant.as_deref()))]
    Word { error: UnknownWord, meant: Option<String> },
    /// An error of a single command.
    #[error("{0}")]
    Said(String),
}

impl From<OutOfRange> for ValueError {
    fn from(error: OutOfRange) -> Self {
        Self::Outside { error, unit: LengthUnit::default(), typed_in: None }
    }
}

impl ValueError {
    pub fn said(error: impl ToString) -> Self {
        Self::Said(error.to_string())
    }
}

fn about_day(error: &DayError) -> String {
    match error {
        DayError::TwoDays { day_first, month_first, .. } => {
            format!("{error}; write {day_first} or {month_first}")
        }
        DayError::Form { found } => format!(
            "'{found}' is not a day; write it as YYYY-MM-DD, or 'today', 'yesterday' or 'unknown'"
        ),
        error => error.to_string(),
    }
}

fn perhaps(meant: Option<&str>) -> String {
    meant.map_or_else(String::new, |meant| format!("; did you mean '{meant}'?"))
}

pub fn whole<T: TryFrom<i64>>(text: &str, range: Range) -> Result<T, ValueError> {
    let not_whole = || ValueError::NotWhole { found: shown(text), expected: range };
    check_grouped(text)?;
    let number = parse_decimal(text).map_err(|_| not_whole())?;
    if number.fract() != 0.0 {
        return Err(not_whole());
    }
    range.check(number)?;
    T::try_from(number as i64).map_err(|_| not_whole())
}

/// A length in a range, with its unit or in `unit`.
pub fn length(text: &str, unit: LengthUnit, range: Range) -> Result<Millimetres, ValueError> {
    within(parse_length(text, unit)?, text, unit, range)
}

fn within(
    length: Millimetres,
    text: &str,
    unit: LengthUnit,
    range: Range,
) -> Result<Millimetres, ValueError> {
    let typed_in = unit_typed(text);
    range.check(length.mm()).map_err(|error| ValueError::Outside { error, unit, typed_in })?;
    Ok(length)
}

/// One length from a person or a gauge at a prompt.
pub fn gauged(text: &str, unit: LengthUnit, range: Range) -> Result<Millimetres, ValueError> {
    match &parse_gauge_line(text, unit)?[..] {
        [reading] => within(reading.value, text, unit, range),
        readings => Err(ValueError::NotOne { count: readings.len() }),
    }
}

/// A plain number, which one of `units` may follow.
pub fn number(text: &str, units: &[&str]) -> Result<f64, ValueError> {
    let trimmed = text.trim();
    let without = |unit: &&str| {
        let start = trimmed.len().checked_sub(unit.len())?;
        let (number, found) = trimmed.split_at_checked(start)?;
        found.eq_ignore_ascii_case(unit).then_some(number)
    };
    let bare = units.iter().find_map(without).unwrap_or(trimmed);
    Ok(parse_decimal(bare)?)
}

/// A day: `today`, `yesterday`, or a date such as YYYY-MM-DD; `None` for an empty text or
/// `unknown`.
pub fn day(text: &str, today: Date) -> Result<Option<Date>, ValueError> {
    whole_or_named_day(text, today).map_err(ValueError::Day)
}

/// A date in exactly the form YYYY-MM-DD: no time of day after it, no shorter form.
pub fn iso_day(text: &str) -> Option<Date> {
    text.parse().ok().filter(|day: &Date| day.to_string() == text)
}

pub fn yes(text: &str) -> Result<bool, ValueError> {
    Ok(parse_yes_no(text)?)
}

/// `None` for an empty text, else the value that `parse` returns.
pub fn optional<T, E>(text: &str, parse: impl Fn(&str) -> Result<T, E>) -> Result<Option<T>, E> {
    if text.trim().is_empty() { Ok(None) } else { parse(text).map(Some) }
}

/// A word of the program, in any accepted spelling. For a slip, the error suggests the most similar
/// word.
pub fn word<T: FromStr<Err = UnknownWord>>(text: &str) -> Result<T, ValueError> {
    text.parse().map_err(|error: UnknownWord| {
        let allowed: Vec<&str> = error.allowed.split(", ").collect();
        let meant = closest(text.trim(), &allowed).map(str::to_owned);
        ValueError::Word { error, meant }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::{State, ranges};

    #[test]
    fn a_count_is_whole_and_in_range() {
        assert_eq!(whole::<u16>(" 24 ", ranges::SECTIONS), Ok(24));
        for thousand in ["1,000", "1.000"] {
            let message = whole::<u16>(thousand, ranges::PAGES).map_err(|error| error.to_string());
            let wanted = "may mean 1000; write whole numbers without a mark: 1000";
            assert_eq!(message, Err(format!("'{thousand}' {wanted}")));
        }
        assert_eq!(whole::<u16>("24.0", ranges::SECTIONS), Ok(24));
        for bad in ["0", "-3", "1.5", "NaN", "1e3", "", "99999999999999999999", "501"] {
            assert!(whole::<u16>(bad, ranges::SECTIONS).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_day_is_iso_or_a_word() {
        let today: Date = "2026-03-01".parse().unwrap();
        assert_eq!(day("today", today), Ok(Some(today)));
        assert_eq!(day("unknown", today), Ok(None));
        assert_eq!(day("Yesterday", today), Ok("2026-02-28".parse().ok()));
        let two = day("01/03/2026", today).unwrap_err().to_string();
        assert!(two.ends_with("; write 2026-03-01 or 2026-01-03"), "{two}");
        assert!(day("2026-02-30", today).is_err() && day("soon", today).is_err());
        assert!(day("2026031", today).is_err());
        assert_eq!(day("2026-03-01T10:00", today), Ok(Some(today)));
    }

    #[test]
    fn a_slip_in_a_word_gets_the_word_that_was_meant() {
        assert_eq!(word::<State>("As Sewn"), Ok(State::Sewn));
        let slip = word::<State>("swen").unwrap_err().to_string();
        assert!(slip.ends_with("did you mean 'sewn'?"), "{slip}");
        assert!(!word::<State>("flat").unwrap_err().to_string().contains("did you mean"));
    }

    #[test]
    fn a_number_may_carry_its_unit() {
        assert_eq!(number("80 GSM", &["gsm", "g/m\u{b2}"]), Ok(80.0));
        assert_eq!(number("-5%", &["%"]), Ok(-5.0));
        assert!(number("80 lb", &["gsm"]).is_err() && number("1e309", &[]).is_err());
    }

    #[test]
    fn one_reading_is_one_reading() {
        let read = |text| gauged(text, LengthUnit::Millimetre, ranges::CALIPER);
        assert_eq!(read("+0,103mm").unwrap().mm(), 0.103);
        assert!(read("0.1;0.2").is_err() && read("").is_err() && read("105").is_err());
    }
}
