//! The dates of a column: one date may prove the order of day and month for the others.

use super::table::Table;
use crate::trade::{
    DateOrder, DayError, is_in_figures, is_year_first, parse_day, plain_day, proved_order,
};
use crate::units::shown;
use jiff::civil::Date;
use std::sync::OnceLock;
use thiserror::Error;

/// What is known about the order of day and month in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) enum DateRule {
    /// No date proves an order.
    Unknown,
    /// The binder gave the order, or a date proves it.
    Known(DateOrder),
    /// Some dates prove one order and some the other.
    Both,
}

pub(in crate::book) struct Dates<'a> {
    table: &'a Table<'a>,
    /// The index of their column.
    index: Option<usize>,
    /// The rule. It is worked out only when needed, because that takes reading the whole column.
    rule: OnceLock<DateRule>,
}

impl<'a> Dates<'a> {
    /// The dates in the column `index` of `table`, in the order `said` if that is given.
    pub(in crate::book) fn of(
        table: &'a Table<'a>,
        index: Option<usize>,
        said: Option<DateOrder>,
    ) -> Self {
        let rule = said.map(DateRule::Known).map_or_else(OnceLock::new, OnceLock::from);
        Self { table, index, rule }
    }

    /// Parses `text` as a date. `is_sheet` says whether it is in a sheet: its import has an option
    /// for the order of day and month.
    pub(in crate::book) fn read(&self, text: &str, is_sheet: bool) -> Result<Date, DateError> {
        if let Some(day) = plain_day(text) {
            return Ok(day);
        }
        let rule = if is_year_first(text) {
            &DateRule::Unknown
        } else {
            self.rule.get_or_init(|| self.proved())
        };
        rule.read(text).map_err(|error| match error {
            DateError::Unsettled { what, .. } => DateError::Unsettled { what, is_sheet },
            other => other,
        })
    }

    /// The rule that the cells of the column prove.
    fn proved(&self) -> DateRule {
        let Some(index) = self.index else { return DateRule::Unknown };
        let (mut rule, mut rows) = (DateRule::Unknown, self.table.rows());
        while let Some(row) = rows.next_row() {
            rule = rule.and(row.get(index).unwrap_or_default());
        }
        rule
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub(in crate::book) enum DateError {
    #[error("{what}; write dates as 2026-03-14{}", or_say(*is_sheet))]
    Unsettled {
        what: String,
        /// Whether it is in a sheet, whose import has an option for the order.
        is_sheet: bool,
    },
    #[error(transparent)]
    Day(DayError),
}

fn or_say(is_sheet: bool) -> &'static str {
    if is_sheet { ", or give --date-order dmy or --date-order mdy" } else { "" }
}

impl DateRule {
    /// Updates the rule with another cell of the column.
    pub(in crate::book) fn and(self, cell: &str) -> Self {
        match (self, proved_order(cell)) {
            (Self::Unknown, Some(proved)) => Self::Known(proved),
            (Self::Known(order), Some(proved)) if order != proved => Self::Both,
            (rule, _) => rule,
        }
    }

    pub(in crate::book) fn read(self, text: &str) -> Result<Date, DateError> {
        let order = match self {
            Self::Known(order) => Some(order),
            Self::Unknown | Self::Both => None,
        };
        let day = parse_day(text, order);
        let unsettled = |what| Err(DateError::Unsettled { what, is_sheet: false });
        match (self, day) {
            (Self::Both, _) if !is_year_first(text) && is_in_figures(text) => unsettled(format!(
                "'{}': some dates of the column have the day first and some the month",
                shown(text)
            )),
            (_, Err(error @ DayError::TwoDays { .. })) => {
                unsettled(format!("{error}, and no date in the column settles it"))
            }
            (_, day) => day.map_err(DateError::Day),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn column(cells: &[&str]) -> Vec<Result<Date, DateError>> {
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
        assert!(
            column(&["03/04/2026"])[0]
                .as_ref()
                .unwrap_err()
                .to_string()
                .contains("no date in the column")
        );
        assert_eq!(column(&["03/04/2026", "14/04/2026"])[0], Ok(date(2026, 4, 3)));
        assert_eq!(column(&["03.04.2026", "4.14.2026"])[0], Ok(date(2026, 3, 4)));
        assert!(column(&["14/04/2026", "04/14/2026"]).iter().all(Result::is_err));
        let said = DateRule::Known(DateOrder::MonthFirst);
        assert_eq!(said.read("3/4/2026"), Ok(date(2026, 3, 4)));
        assert!(said.read("14/3/2026").is_err());
    }
}
