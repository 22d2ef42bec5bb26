//! Parses the cells of one row. A cell that does not parse is noted as a fault, and parsing goes
//! on.

use super::columns::{Column, ColumnMap};
use super::kinds::{Aids, CellValue, SaidBack};
use super::rows::Row;
use super::table::Table;
use crate::book::check::faults::Faults;
use crate::book::location::Location;
use crate::units::{LengthUnit, shown};
use std::fmt::Display;

/// The cell has a fault, which has been noted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) struct Faulted;

/// The value of a cell; `Ok(None)` if it is empty.
pub(in crate::book) type Given<T> = Result<Option<T>, Faulted>;

pub(in crate::book) struct Cells<'a> {
    pub(in crate::book) table: &'a Table<'a>,
    pub(in crate::book) row: &'a Row<'a>,
    pub(in crate::book) map: &'a ColumnMap,
    pub(in crate::book) aids: Aids<'a>,
    pub(in crate::book) faults: &'a mut Faults,
}

/// Whether a cell holds a sign or word that people write instead of leaving it empty.
fn is_nothing(text: &str) -> bool {
    const WORDS: [&str; 10] =
        ["n/a", "na", "#n/a", "n.a.", "none", "null", "nil", "nan", "unknown", "missing"];
    let is_sign = |c: char| matches!(c, '-' | '\u{2013}' | '\u{2014}' | '?' | '.' | '/' | '*');
    let text = text.trim();
    text.chars().all(is_sign) || WORDS.iter().any(|word| text.eq_ignore_ascii_case(word))
}

/// In a converted workbook, the text of a cell whose formula has no result in the file.
pub(in crate::book) const WITHOUT_RESULT: &str = "#FORMULA!";

/// Whether a cell holds the error text of a spreadsheet formula: `#REF!`, `#NAME?`, `Err:502`.
fn is_failed_formula(text: &str) -> bool {
    let named = text.strip_prefix('#').and_then(|name| name.strip_suffix(['!', '?']));
    let named = named.is_some_and(|name| {
        name.bytes().all(|byte| byte.is_ascii_uppercase() || b"/0".contains(&byte))
    });
    let number = text.strip_prefix("Err:").unwrap_or_default();
    named || (!number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()))
}

impl<'a> Cells<'a> {
    /// The text of the cell; empty if the cell or its column is missing.
    pub(in crate::book) fn text(&self, column: &str) -> &'a str {
        let field = self.map.index(column).and_then(|index| self.row.get(index));
        field.unwrap_or_default()
    }

    pub(in crate::book) fn fault(&mut self, column: &str, message: impl Display) -> Faulted {
        let place = Location::cell(self.table.file, self.row.number, column);
        self.faults.add(place, message);
        Faulted
    }

    pub(in crate::book) fn row_fault(&mut self, message: impl Display) -> Faulted {
        let place = Location::row(self.table.file, self.row.number);
        self.faults.add(place, message);
        Faulted
    }

    /// Checks that the row has as many fields as the header. Spreadsheets leave out empty cells at
    /// the end of a row. So optional columns may be missing there, unless the line end is missing
    /// too.
    pub(in crate::book) fn check_width(&mut self) -> Result<(), Faulted> {
        let (found, expected) = (self.row.len(), self.table.header.len());
        if found == expected {
            return Ok(());
        }
        if found > expected {
            return Err(self.row_fault(format!(
                "{found} fields where the header has {expected}; does a text or a number contain \
                 the field separator without quotation marks around it?"
            )));
        }
        let lost = self.map.present().filter(|(_, index)| *index >= found);
        let lost: Vec<&str> = lost
            .filter(|(column, _)| !self.row.ended || column.required)
            .map(|(column, _)| column.name)
            .collect();
        if lost.is_empty() {
            return Ok(());
        }
        let torn = if self.row.ended { "" } else { ", and no line end: was it cut off?" };
        Err(self.row_fault(format!(
            "{found} fields where the header has {expected}: {} missing{torn}",
            lost.join(", ")
        )))
    }

    pub(in crate::book) fn read<T: CellValue>(&mut self, column: &Column) -> Given<T> {
        self.aids.written_in = self.unit_of(column.name);
        match self.text(column.name) {
            "" => Ok(None),
            text => match T::read(text, column.range, &mut self.aids) {
                Ok(_) | Err(_) if self.aids.is_new && is_failed_formula(text) => {
                    Err(self.failed_formula(column.name, text))
                }
                Ok(_) if self.aids.is_new && T::IS_NAME && is_nothing(text) => {
                    Err(self.nothing(column.name, text))
                }
                Err(_) if is_nothing(text) => Err(self.nothing(column.name, text)),
                Ok(value) => {
                    if self.aids.is_new {
                        self.say_back(column.name, text, &value);
                    }
                    Ok(Some(value))
                }
                Err(misread) => Err(self.fault(column.name, misread.0)),
            },
        }
    }

    fn unit_of(&self, column: &str) -> LengthUnit {
        let units = &self.table.units;
        let index = if units.is_empty() { None } else { self.map.index(column) };
        let unit = units.iter().find(|(at, _)| Some(*at) == index);
        unit.map_or(LengthUnit::Millimetre, |(_, unit)| *unit)
    }

    fn failed_formula(&mut self, column: &str, text: &str) -> Faulted {
        if text == WITHOUT_RESULT {
            let message = "the file has a formula here, but not its result; open the file in a \
                           spreadsheet program and save it there";
            return self.fault(column, message);
        }
        let found = shown(text);
        let message =
            format!("'{found}' is an error of the spreadsheet; correct the formula there");
        self.fault(column, message)
    }

    fn nothing(&mut self, column: &str, text: &str) -> Faulted {
        let message = format!("'{}' is not a value; empty the cell", shown(text));
        self.fault(column, message)
    }

    /// Notes how a cell was read if that is not obvious from its text, once for each column.
    pub(in crate::book) fn say_back<T: CellValue>(
        &mut self,
        column: &'static str,
        text: &str,
        value: &T,
    ) {
        let Some(meant) = value.read_as(text, self.aids.unit) else { return };
        if self.aids.said_back.iter().all(|said| said.column != column) {
            let (row, found) = (self.row.number, shown(text));
            self.aids.said_back.push(SaidBack { column, row, found, meant });
        }
    }

    /// Refuses an empty cell in a column that expects a value.
    pub(in crate::book) fn check_said(
        &mut self,
        column: &Column,
        is_said: bool,
    ) -> Result<(), Faulted> {
        if is_said || column.expected.is_empty() {
            return Ok(());
        }
        Err(self.fault(column.name, format_args!("the cell is empty; {}", column.expected)))
    }

    /// The value of the cell, which must not be empty.
    pub(in crate::book) fn filled<T: CellValue>(&mut self, column: &Column) -> Result<T, Faulted> {
        let value = self.read(column)?;
        self.check_said(column, value.is_some())?;
        value.ok_or(Faulted)
    }
}
