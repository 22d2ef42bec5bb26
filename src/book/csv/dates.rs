//! Dates as people write them.

use super::table::Table;
use jiff::civil::Date;
use std::cell::OnceCell;

/// The order of day and month in dates that do not begin with the year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateOrder {
    /// 14/03/2026.
    DayFirst,
    /// 3/14/2026.
    MonthFirst,
}

/// What is known of the order of day and month in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) enum DateRule {
    /// Nothing: no date proves it.
    Unknown,
    /// Said by the binder or proved by a date.
    Known(DateOrder),
    /// Some dates prove one order and some the other.
    Both,
}

/// The dates of one column.
pub(in crate::book) struct Dates<'a> {
    table: &'a Table<'a>,
    /// Where they stand.
    index: Option<usize>,
    /// The rule, which takes a reading of the whole column and is hardly ever needed.
    rule: OnceCell<DateRule>,
}

impl<'a> Dates<'a> {
    /// Those at `index` of `table`, in the order `said`.
    pub(in crate::book) fn of(
        table: &'a Table<'a>,
        index: Option<usize>,
        said: Option<DateOrder>,
    ) -> Self {
        let rule = said.map(DateRule::Known).map_or_else(OnceCell::new, OnceCell::from);
        Self { table, index, rule }
    }

    /// The date `text` stands for.
    ///
    /// # Errors
    /// As [`DateRule::read`].
    pub(in crate::book) fn read(&self, text: &str) -> Result<Date, String> {
        let year_first = parts(text).is_some_and(|[first, ..]| first.len() == 4);
        let rule =
            if year_first { &DateRule::Unknown } else { self.rule.get_or_init(|| self.proved()) };
        rule.read(text)
    }

    /// What the cells of the column prove.
    fn proved(&self) -> DateRule {
        let Some(index) = self.index else { return DateRule::Unknown };
        let (mut rule, mut rows) = (DateRule::Unknown, self.table.rows());
        while let Some(row) = rows.next_row() {
            rule = rule.and(row.get(index).unwrap_or_default());
        }
        rule
    }
}

/// The years in which a sewing can have been done.
const YEARS: std::ops::RangeInclusive<i16> = 1900..=2200;

impl DateRule {
    /// The rule once another cell of the column is seen.
    pub(in crate::book) fn and(self, cell: &str) -> Self {
        match (self, proof(cell)) {
            (Self::Unknown, Some(proved)) => Self::Known(proved),
            (Self::Known(order), Some(proved)) if order != proved => Self::Both,
            (rule, _) => rule,
        }
    }

    /// The date `text` stands for.
    ///
    /// # Errors
    /// A sentence that says what was found and how to write it.
    pub(in crate::book) fn read(self, text: &str) -> Result<Date, String> {
        let found = || crate::units::shown(text);
        let Some([first, second, third]) = parts(text) else {
            return Err(format!("'{}' is not a date; write it as 2026-03-14", found()));
        };
        let (year, month, day) = if first.len() == 4 {
            (first, second, third)
        } else if third.len() != 4 {
            return Err(format!(
                "'{}' has no year of four digits; write it as 2026-03-14",
                found()
            ));
        } else {
            match self.order(&found(), first, second)? {
                DateOrder::DayFirst => (third, second, first),
                DateOrder::MonthFirst => (third, first, second),
            }
        };
        civil(year, month, day)
            .ok_or_else(|| format!("'{}' is not a day of the calendar in 1900..2200", found()))
    }

    fn order(self, found: &str, first: &str, second: &str) -> Result<DateOrder, String> {
        let way_out = "write dates as 2026-03-14, or say the order of day and month";
        match self {
            Self::Known(order) => Ok(order),
            Self::Unknown if first == second => Ok(DateOrder::DayFirst),
            Self::Unknown => Err(format!(
                "'{found}' can be read with the day or the month first, and no date in the \
                 column shows which; {way_out}"
            )),
            Self::Both => Err(format!(
                "'{found}': some dates of the column have the day first and some the month; \
                 {way_out}"
            )),
        }
    }
}

/// Three groups of digits separated by one and the same of `-`, `/` and `.`.
fn parts(text: &str) -> Option<[&str; 3]> {
    let mark = text.chars().find(|c| matches!(c, '-' | '/' | '.'))?;
    let mut groups = text.split(mark).map(str::trim);
    let parts = [groups.next()?, groups.next()?, groups.next()?];
    let digits = |part: &&str| {
        (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit())
    };
    (groups.next().is_none() && parts.iter().all(digits)).then_some(parts)
}

fn civil(year: &str, month: &str, day: &str) -> Option<Date> {
    let year: i16 = year.parse().ok().filter(|year| YEARS.contains(year))?;
    Date::new(year, month.parse().ok()?, day.parse().ok()?).ok()
}

/// The order that a date proves by a value above 12.
fn proof(text: &str) -> Option<DateOrder> {
    let [first, second, third] = parts(text)?;
    if third.len() != 4 {
        return None;
    }
    let above = |part: &str| part.parse::<u16>().is_ok_and(|value| (13..=31).contains(&value));
    match (above(first), above(second)) {
        (true, false) => Some(DateOrder::DayFirst),
        (false, true) => Some(DateOrder::MonthFirst),
        (true, true) | (false, false) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn column(cells: &[&str]) -> Vec<Result<Date, String>> {
        let rule = cells.iter().fold(DateRule::Unknown, |rule, cell| rule.and(cell));
        cells.iter().map(|cell| rule.read(cell)).collect()
    }

    #[test]
    fn the_year_first_is_always_understood() {
        assert_eq!(DateRule::Unknown.read("2026-03-14"), Ok(date(2026, 3, 14)));
        assert_eq!(DateRule::Unknown.read("2026/3/4"), Ok(date(2026, 3, 4)));
    }

    #[test]
    fn another_order_must_be_said_or_proved() {
        assert!(column(&["03/04/2026"])[0].as_ref().unwrap_err().contains("no date in the column"));
        assert_eq!(column(&["03/04/2026", "14/04/2026"])[0], Ok(date(2026, 4, 3)));
        assert_eq!(column(&["03.04.2026", "4.14.2026"])[0], Ok(date(2026, 3, 4)));
        assert!(column(&["14/04/2026", "04/14/2026"]).iter().all(Result::is_err));
        let said = DateRule::Known(DateOrder::MonthFirst);
        assert_eq!(said.read("3/4/2026"), Ok(date(2026, 3, 4)));
        assert!(said.read("14/3/2026").is_err());
    }

    #[test]
    fn what_is_no_date_is_refused() {
        for bad in
            ["", "soon", "2026-13-01", "2026-02-30", "14/03/26", "0226-03-14", "1-2", "2026-1-1-1"]
        {
            assert!(DateRule::Known(DateOrder::DayFirst).read(bad).is_err(), "{bad:?}");
        }
    }
}
