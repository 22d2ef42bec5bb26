//! Values as they are typed, by flag or at a prompt.

use super::suggest::closest;
use crate::trade::{DayError, Range, UnknownWord, parse_yes_no, whole_or_named_day};
use crate::units::{
    DecimalMark, LengthUnit, Millimetres, parse_decimal, parse_gauge_line, parse_length, shown,
};
use jiff::civil::Date;
use std::str::FromStr;

/// A whole number in a range.
///
/// # Errors
/// A sentence without the flag.
pub fn whole<T: TryFrom<i64>>(text: &str, range: Range) -> Result<T, String> {
    let not_whole = || format!("'{}' is not a whole number; expected {range}", shown(text));
    let number = parse_decimal(text, DecimalMark::Either).map_err(|_| not_whole())?;
    if number.fract() != 0.0 {
        return Err(not_whole());
    }
    range.check(number).map_err(|error| error.to_string())?;
    T::try_from(number as i64).map_err(|_| not_whole())
}

/// A length in a range, with its unit or in `unit`.
///
/// # Errors
/// A sentence without the flag.
pub fn length(text: &str, unit: LengthUnit, range: Range) -> Result<Millimetres, String> {
    let length = parse_length(text, unit).map_err(|error| error.to_string())?;
    range.check(length.mm()).map_err(|error| error.in_unit(unit))?;
    Ok(length)
}

/// One length from a person or a gauge at a prompt.
///
/// # Errors
/// A sentence: what was found.
pub fn gauged(text: &str, unit: LengthUnit, range: Range) -> Result<Millimetres, String> {
    let readings = parse_gauge_line(text, unit).map_err(|error| error.to_string())?;
    let [reading] = &readings[..] else {
        return Err(format!("expected one reading here, not {}", readings.len()));
    };
    range.check(reading.value.mm()).map_err(|error| error.in_unit(unit))?;
    Ok(reading.value)
}

/// A plain number, with a unit that may stand behind it.
///
/// # Errors
/// A sentence without the flag.
pub fn number(text: &str, units: &[&str]) -> Result<f64, String> {
    let trimmed = text.trim();
    let without = |unit: &&str| {
        let start = trimmed.len().checked_sub(unit.len())?;
        let (number, found) = trimmed.split_at_checked(start)?;
        found.eq_ignore_ascii_case(unit).then_some(number)
    };
    let bare = units.iter().find_map(without).unwrap_or(trimmed);
    parse_decimal(bare, DecimalMark::Either).map_err(|error| error.to_string())
}

/// A day: `today`, `yesterday`, or a date such as YYYY-MM-DD; `None` for an empty text or
/// `unknown`.
///
/// # Errors
/// A sentence without the flag.
pub fn day(text: &str, today: Date) -> Result<Option<Date>, String> {
    whole_or_named_day(text, today).map_err(|error| match error {
        DayError::TwoDays { day_first, month_first, .. } => {
            format!("{error}; write {day_first} or {month_first}")
        }
        DayError::Form { found } => format!(
            "'{found}' is not a day; write it as YYYY-MM-DD, or 'today', 'yesterday' or 'unknown'"
        ),
        error => error.to_string(),
    })
}

/// A date as YYYY-MM-DD and nothing else: no time of day behind it, no shorter form.
pub fn iso_day(text: &str) -> Option<Date> {
    text.parse().ok().filter(|day: &Date| day.to_string() == text)
}

/// Yes or no.
///
/// # Errors
/// A sentence without the flag.
pub fn yes(text: &str) -> Result<bool, String> {
    parse_yes_no(text).map_err(|error| error.to_string())
}

/// Nothing for an empty text, else what `parse` makes of it.
///
/// # Errors
/// Those of `parse`, as a sentence.
pub fn optional<T>(
    text: &str,
    parse: impl Fn(&str) -> Result<T, String>,
) -> Result<Option<T>, String> {
    if text.trim().is_empty() { Ok(None) } else { parse(text).map(Some) }
}

/// A word of the program, however it is written. A slip gets the word that is most like it.
///
/// # Errors
/// A sentence without the flag.
pub fn word<T: FromStr<Err = UnknownWord>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|error: UnknownWord| {
        let allowed: Vec<&str> = error.allowed.split(", ").collect();
        match closest(text.trim(), &allowed) {
            Some(meant) => format!("{error}; did you mean '{meant}'?"),
            None => error.to_string(),
        }
    })
}

/// Anything that reads itself from text.
///
/// # Errors
/// Its own, as a sentence.
pub fn parsed<T: FromStr<Err: ToString>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|error: T::Err| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::{State, ranges};

    #[test]
    fn a_count_is_whole_and_in_range() {
        assert_eq!(whole::<u16>(" 24 ", ranges::SECTIONS), Ok(24));
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
        let two = day("01/03/2026", today).unwrap_err();
        assert!(two.ends_with("; write 2026-03-01 or 2026-01-03"), "{two}");
        assert!(day("2026-02-30", today).is_err() && day("soon", today).is_err());
        assert!(day("2026031", today).is_err() && day("2026-03-01T10:00", today).is_err());
    }

    #[test]
    fn a_slip_in_a_word_gets_the_word_that_was_meant() {
        assert_eq!(word::<State>("As Sewn"), Ok(State::Sewn));
        let slip = word::<State>("swen").unwrap_err();
        assert!(slip.ends_with("did you mean 'sewn'?"), "{slip}");
        assert!(!word::<State>("flat").unwrap_err().contains("did you mean"));
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
