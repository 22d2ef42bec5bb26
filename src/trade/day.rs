//! Parses a day as people write it.

use super::time_of_day::without_time;
use super::word::plain_word;
use crate::units::shown;
use jiff::ToSpan;
use jiff::civil::{Date, date};
use thiserror::Error;

/// The order of day and month in dates that do not begin with the year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateOrder {
    /// 14/03/2026.
    DayFirst,
    /// 3/14/2026.
    MonthFirst,
}

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum DayError {
    #[error("'{found}' is not a date; write it as 2026-03-14")]
    Form { found: String },
    #[error("'{found}' has no year of four digits; write it as 2026-03-14")]
    Year { found: String },
    #[error("'{found}' is not a day of the calendar in 1900..2200")]
    Calendar { found: String },
    /// `03/04/2026` without an order of day and month.
    #[error("'{found}' can be {day_first} (day first) or {month_first} (month first)")]
    TwoDays { found: String, day_first: Date, month_first: Date },
    /// `yesterday` in a file, where it means another day tomorrow.
    #[error("'{found}' means another day tomorrow; write the date, such as 2026-03-14")]
    Passing { found: String },
}

/// The possible years of a sewing.
const YEARS: std::ops::RangeInclusive<i16> = 1900..=2200;

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// The day in `text`, written as 2026-03-14, 20260314, 14.03.2026, 14.03.26 or 14 March 2026, or as
/// the day number of a spreadsheet. A time of day after it, as in 2026-03-14T14:30:00, does not
/// count. A two-digit year is in 1969 to 2068. `order` settles dates
/// such as 03/04/2026; without it, a date that is valid in only one order means that day.
pub fn parse_day(text: &str, order: Option<DateOrder>) -> Result<Date, DayError> {
    let found = || shown(text.trim());
    let text = without_time(text);
    if let Some(day) = number_of_spreadsheet(text.trim()) {
        return Ok(day);
    }
    if let Some(day) = without_marks(text.trim()) {
        return day.ok_or_else(|| DayError::Calendar { found: found() });
    }
    if let Some(parts) = parts(text) {
        return in_figures(parts, order, found());
    }
    if let Some((year, month, day)) = with_month_named(text) {
        return civil(&year, month, &day).ok_or_else(|| DayError::Calendar { found: found() });
    }
    match plain_word(text).as_str() {
        "today" | "yesterday" => Err(DayError::Passing { found: found() }),
        _ => Err(DayError::Form { found: found() }),
    }
}

/// A fast path for a date written as 2026-03-14, as nearly all are; `None` for any other text.
pub(crate) fn plain_day(text: &str) -> Option<Date> {
    let bytes: &[u8; 10] = text.as_bytes().try_into().ok()?;
    let number = |places: std::ops::Range<usize>| {
        bytes[places].iter().try_fold(0, |number: i16, byte| {
            byte.is_ascii_digit().then(|| number * 10 + i16::from(byte - b'0'))
        })
    };
    let (year, month, day) = (number(0..4)?, number(5..7)?, number(8..10)?);
    let is_dashed = [bytes[4], bytes[7]] == *b"--";
    let date = Date::new(year, month as i8, day as i8).ok()?;
    (is_dashed && YEARS.contains(&year)).then_some(date)
}

/// As [`parse_day`], or the word `today` or `yesterday`, said on the day `today`; `None` if the day
/// is unknown.
pub fn whole_or_named_day(text: &str, today: Date) -> Result<Option<Date>, DayError> {
    if matches!(text.trim(), "" | "-" | "?" | "n/a" | "N/A") {
        return Ok(None);
    }
    match plain_word(text).as_str() {
        "unknown" | "not known" => Ok(None),
        "today" => Ok(Some(today)),
        "yesterday" => Ok(Some(today.yesterday().unwrap_or(today))),
        _ => parse_day(text, None).map(Some),
    }
}

/// Whether `text` is the day number of a spreadsheet.
pub fn is_day_number(text: &str) -> bool {
    number_of_spreadsheet(text.trim()).is_some()
}

/// The day with this number in spreadsheets, counted from 1899-12-30, which is OpenDocument's usual
/// null date (OASIS OpenDocument 1.2). Five digits only: the days of 1927 to 2173.
fn number_of_spreadsheet(text: &str) -> Option<Date> {
    let figures = text.len() == 5 && text.bytes().all(|byte| byte.is_ascii_digit());
    let days: i64 = text.parse().ok().filter(|_| figures)?;
    let day = date(1899, 12, 30).checked_add(days.days()).ok()?;
    (days >= 10_000 && YEARS.contains(&day.year())).then_some(day)
}

/// The day written in eight digits, such as 20260314; `None` if `text` has another form.
fn without_marks(text: &str) -> Option<Option<Date>> {
    let is_day = text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit());
    let [year, month, day] = is_day.then(|| [&text[..4], &text[4..6], &text[6..]])?;
    Some(civil(year, number(month), day))
}

fn in_figures(parts: Parts<'_>, order: Option<DateOrder>, found: String) -> Result<Date, DayError> {
    let [first, second, third] = parts.groups;
    if first.len() == 4 {
        return civil(first, number(second), third).ok_or(DayError::Calendar { found });
    }
    let Some(year) = parts.year() else { return Err(DayError::Year { found }) };
    let day_first = civil(&year, number(second), first);
    let month_first = civil(&year, number(first), second);
    match (order, day_first, month_first) {
        (Some(DateOrder::DayFirst), day, _) | (Some(DateOrder::MonthFirst), _, day) => day,
        (None, Some(one), Some(other)) if one != other => {
            return Err(DayError::TwoDays { found, day_first: one, month_first: other });
        }
        (None, one, other) => one.or(other),
    }
    .ok_or(DayError::Calendar { found })
}

/// Three groups of digits, and the mark between them.
struct Parts<'t> {
    groups: [&'t str; 3],
    mark: char,
}

impl Parts<'_> {
    /// The year if it comes last, in four digits or two. Two digits after hyphens do not count,
    /// because the first two may be the year, as in 26-03-14.
    fn year(&self) -> Option<String> {
        full_year(self.groups[2]).filter(|_| self.groups[2].len() == 4 || self.mark != '-')
    }
}

/// A year of four digits, or of two digits: from 1969 to 2068, as in POSIX (`%y`). It must not
/// depend on today, because a file of a book must mean the same day next year.
fn full_year(figures: &str) -> Option<String> {
    match figures.len() {
        4 => Some(figures.to_owned()),
        2 => Some(format!("{}{figures}", if figures >= "69" { 19 } else { 20 })),
        _ => None,
    }
}

/// Three groups of digits with the same separator between them: `-`, `/` or `.`.
fn parts(text: &str) -> Option<Parts<'_>> {
    let text = without_time(text);
    let mark = text.chars().find(|c| matches!(c, '-' | '/' | '.'))?;
    let mut groups = text.split(mark).map(str::trim);
    let parts = [groups.next()?, groups.next()?, groups.next()?];
    let digits = |part: &&str| {
        (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit())
    };
    let is_date = groups.next().is_none() && parts.iter().all(digits);
    is_date.then_some(Parts { groups: parts, mark })
}

/// Whether `text` is three groups of digits.
pub(crate) fn is_in_figures(text: &str) -> bool {
    parts(text).is_some()
}

/// Whether `text` is three groups of digits that begin with the year.
pub(crate) fn is_year_first(text: &str) -> bool {
    parts(text).is_some_and(|parts| parts.groups[0].len() == 4)
}

/// The order of day and month that a date proves by a value above 12.
pub(crate) fn proved_order(text: &str) -> Option<DateOrder> {
    let parts = parts(text).filter(|parts| parts.year().is_some())?;
    let [first, second, _] = parts.groups;
    let above = |part: &str| part.parse::<u16>().is_ok_and(|value| (13..=31).contains(&value));
    match (above(first), above(second)) {
        (true, false) => Some(DateOrder::DayFirst),
        (false, true) => Some(DateOrder::MonthFirst),
        (true, true) | (false, false) => None,
    }
}

/// Year, month and day of a date such as `14 March 2026`, `Mar 14, 2026` or `14-Mar-2026`.
fn with_month_named(text: &str) -> Option<(String, i8, String)> {
    // Longer than any date with its month in words.
    if text.len() > 40 {
        return None;
    }
    let plain = plain_word(text);
    let words: Vec<&str> = plain.split(' ').collect();
    let [first, second, third] = words[..] else { return None };
    let month = |word: &str| {
        let is = |name: &&str| word.len() >= 3 && name.starts_with(word);
        MONTHS.iter().position(is).and_then(|at| i8::try_from(at + 1).ok())
    };
    let day = |word: &str| {
        let figures = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        let ending = &word[figures.len()..];
        matches!(ending, "" | "st" | "nd" | "rd" | "th").then(|| figures.to_owned())
    };
    let is_figures = third.bytes().all(|byte| byte.is_ascii_digit());
    let year = full_year(third).filter(|_| is_figures)?;
    match (month(first), month(second)) {
        (None, Some(month)) => Some((year, month, day(first)?)),
        (Some(month), None) => Some((year, month, day(second)?)),
        (Some(_), Some(_)) | (None, None) => None,
    }
}

fn number(text: &str) -> i8 {
    text.parse().unwrap_or_default()
}

fn civil(year: &str, month: i8, day: &str) -> Option<Date> {
    let year: i16 = year.parse().ok().filter(|year| YEARS.contains(year))?;
    Date::new(year, month, day.parse().ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_however_it_is_written() {
        for text in [
            "2026-03-14",
            "2026/3/14",
            "14.03.2026",
            "14/3/2026",
            "3/14/2026",
            "14 March 2026",
            "14 Mar 2026",
            "March 14, 2026",
            "14-Mar-2026",
            "14th march 2026",
            "46095",
            "20260314",
            "14.03.26",
            "14/3/26",
            "3/14/26",
            "14 Mar 26",
            "14-Mar-26",
            "2026-03-14T10:00",
            "2026-03-14 14:30:00",
            "2026-03-14T00:00:00.000000",
            "2026-03-14T23:59:59.5+01:00",
            "2026-03-14 14:30:00Z",
            "14.03.2026 9:05",
            "14 March 2026 14:30",
        ] {
            assert_eq!(parse_day(text, None), Ok(date(2026, 3, 14)), "{text}");
        }
    }

    #[test]
    fn two_digits_of_a_year_are_of_the_years_around_2000() {
        for (text, year) in
            [("14.03.69", 1969), ("14/3/98", 1998), ("14 Mar 00", 2000), ("14.03.68", 2068)]
        {
            assert_eq!(parse_day(text, None), Ok(date(year, 3, 14)), "{text}");
        }
    }

    /// Day 1 of a spreadsheet is 1899-12-31; 2000-01-01 is 36526 in all of them (common knowledge,
    /// from memory).
    #[test]
    fn the_number_of_a_day_counts_as_spreadsheets_do() {
        assert_eq!(parse_day("36526", None), Ok(date(2000, 1, 1)));
        assert!(is_day_number("46095") && !is_day_number("4609") && !is_day_number("09999"));
    }

    #[test]
    fn two_days_are_named_unless_the_order_is_known() {
        let two = parse_day("03/04/2026", None).unwrap_err().to_string();
        assert!(two.contains("2026-04-03 (day first) or 2026-03-04 (month first)"), "{two}");
        assert_eq!(parse_day("03/04/2026", Some(DateOrder::MonthFirst)), Ok(date(2026, 3, 4)));
        assert_eq!(parse_day("04/04/2026", None), Ok(date(2026, 4, 4)));
        let two = parse_day("03/04/26", None).unwrap_err().to_string();
        assert!(two.contains("2026-04-03 (day first)"), "{two}");
        assert!(parse_day("14/3/2026", Some(DateOrder::MonthFirst)).is_err());
    }

    #[test]
    fn a_word_for_a_day_is_said_on_a_day() {
        let today = date(2026, 3, 1);
        assert_eq!(whole_or_named_day("Yesterday", today), Ok(Some(date(2026, 2, 28))));
        assert_eq!(whole_or_named_day(" TODAY", today), Ok(Some(today)));
        for text in ["", "unknown", "Unknown", "?", "n/a"] {
            assert_eq!(whole_or_named_day(text, today), Ok(None), "{text}");
        }
        assert!(matches!(parse_day("yesterday", None), Err(DayError::Passing { .. })));
    }

    #[test]
    fn what_is_no_date_is_refused() {
        for bad in [
            "",
            "soon",
            "2026-13-01",
            "2026-02-30",
            "14-03-26",
            "14.03.6",
            "14.03.026",
            "0226-03-14",
            "1-2",
            "2026-1-1-1",
            "20261314",
            "02260314",
            "2026031",
            "14 Mar xx",
            "2026-03-14T24:00",
            "2026-03-14T10",
            "2026-03-14T10:60",
            "2026-03-14 10:00:00:00",
            "2026-03-14T10:00.5",
            "2026-03-14T10:00+1",
            "2026-03-14 noon",
            "T10:00",
            "10:00",
            "ma 14 2026",
            "march 2026",
            "14 xx 2026",
            "é march 2026",
        ] {
            assert!(parse_day(bad, Some(DateOrder::DayFirst)).is_err(), "{bad:?}");
        }
    }
}
