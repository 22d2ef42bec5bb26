//! One row's cells, read into values; what cannot be read is noted as a fault and reading goes on.

use super::columns::ColumnMap;
use super::dates::Dates;
use super::table::{Row, Table};
use crate::book::check::faults::Faults;
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::trade::{Name, NameError, Range, formula_advice, formula_sign};
use crate::units::{
    DecimalMark, LengthUnit, Millimetres, numbers_of, parse_decimal, parse_length, parse_plain,
    shown, steering,
};
use jiff::civil::Date;
use std::fmt::Display;
use std::str::FromStr;

/// The cell was at fault, and the fault was noted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) struct Faulted;

/// What a name's empty cell should hold.
const NAME_EXPECTED: &str = "a name is expected";
/// The longest note, in characters.
const LONGEST_NOTE: usize = 500;
/// The longest title, in characters.
const LONGEST_TITLE: usize = 200;

/// Names read lately, each where [`slot`] puts it. Every reading names its trial and its place, and
/// copies of a name share one text.
#[derive(Debug)]
pub(in crate::book) struct Names {
    lately: Vec<Option<Name>>,
}

impl Default for Names {
    fn default() -> Self {
        Self { lately: vec![None; Self::MOST] }
    }
}

/// Where a name is kept (the hash of Fowler, Noll and Vo). Two names in one place take turns.
fn slot(text: &str) -> usize {
    let hash = text
        .bytes()
        .fold(0x811c_9dc5_u32, |hash, byte| (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193));
    hash as usize % Names::MOST
}

impl Names {
    /// A file of names that are all different must not fill the memory with them twice.
    const MOST: usize = 4096;

    fn read(&mut self, text: &str) -> Result<Name, NameError> {
        let place = &mut self.lately[slot(text)];
        if let Some(name) = place.as_ref().filter(|name| name.as_str() == text) {
            return Ok(name.clone());
        }
        let name: Name = text.parse()?;
        *place = Some(name.clone());
        Ok(name)
    }
}

/// The cells of one row.
pub(in crate::book) struct Cells<'a> {
    pub(in crate::book) table: &'a Table<'a>,
    pub(in crate::book) row: &'a Row,
    pub(in crate::book) map: &'a ColumnMap,
    pub(in crate::book) dates: &'a Dates<'a>,
    pub(in crate::book) names: &'a mut Names,
    pub(in crate::book) faults: &'a mut Faults,
}

impl<'a> Cells<'a> {
    /// The cell's text; empty when it, or its column, is not there.
    pub(in crate::book) fn text(&self, column: &str) -> &'a str {
        let field = self.map.index(column).and_then(|index| self.row.get(index));
        field.unwrap_or_default()
    }

    /// Notes a fault in the cell.
    pub(in crate::book) fn fault(&mut self, column: &str, message: impl Display) -> Faulted {
        let place = Location::cell(self.table.file, self.row.number, column);
        self.faults.push(Fault::new(place, message));
        Faulted
    }

    /// Notes a fault of the row.
    pub(in crate::book) fn row_fault(&mut self, message: impl Display) -> Faulted {
        let place = Location::row(self.table.file, self.row.number);
        self.faults.push(Fault::new(place, message));
        Faulted
    }

    /// Whether the row has as many fields as the header. Spreadsheets leave out empty cells at the
    /// end of a row: those of columns that need not be there may be missing, unless the line end
    /// is missing too.
    pub(in crate::book) fn check_width(&mut self) -> Result<(), Faulted> {
        let (found, expected) = (self.row.len(), self.table.header.len());
        if found == expected {
            return Ok(());
        }
        if found > expected {
            return Err(self.row_fault(format!(
                "{found} fields where the header has {expected}; does a text or a number hold the mark that parts fields, without quotation marks around it?"
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

    /// The value `read` makes of the cell, `None` when it is empty.
    pub(in crate::book) fn optional_by<T, E: Display>(
        &mut self,
        column: &str,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Result<Option<T>, Faulted> {
        match self.text(column) {
            "" => Ok(None),
            text => read(text).map(Some).map_err(|error| self.fault(column, error)),
        }
    }

    /// The value in the cell, `None` when it is empty.
    pub(in crate::book) fn optional<T>(&mut self, column: &str) -> Result<Option<T>, Faulted>
    where
        T: FromStr,
        T::Err: Display,
    {
        self.optional_by(column, str::parse)
    }

    /// `value`, which an empty cell is not.
    pub(in crate::book) fn filled<T>(
        &mut self,
        column: &str,
        value: Result<Option<T>, Faulted>,
        expected: &str,
    ) -> Result<T, Faulted> {
        value?.ok_or_else(|| self.fault(column, format!("the cell is empty; {expected}")))
    }

    /// The value in the cell, which may not be empty.
    pub(in crate::book) fn required<T>(
        &mut self,
        column: &str,
        expected: &str,
    ) -> Result<T, Faulted>
    where
        T: FromStr,
        T::Err: Display,
    {
        let value = self.optional(column);
        self.filled(column, value, expected)
    }

    /// The name in the cell, `None` when it is empty.
    pub(in crate::book) fn name(&mut self, column: &str) -> Result<Option<Name>, Faulted> {
        match self.text(column) {
            "" => Ok(None),
            text => self.names.read(text).map(Some).map_err(|error| self.fault(column, error)),
        }
    }

    /// The name in the cell, which may not be empty.
    pub(in crate::book) fn required_name(&mut self, column: &str) -> Result<Name, Faulted> {
        let name = self.name(column);
        self.filled(column, name, NAME_EXPECTED)
    }

    /// A length in mm within `range`.
    pub(in crate::book) fn length(
        &mut self,
        column: &str,
        range: Range,
    ) -> Result<Option<Millimetres>, Faulted> {
        self.optional_by(column, |text| length(text, range))
    }

    /// A plain number within `range`; its unit may stand behind it.
    pub(in crate::book) fn number(
        &mut self,
        column: &str,
        range: Range,
    ) -> Result<Option<f64>, Faulted> {
        self.optional_by(column, |text| number(text, range))
    }

    /// A whole number within `range`.
    pub(in crate::book) fn whole(
        &mut self,
        column: &str,
        range: Range,
    ) -> Result<Option<u16>, Faulted> {
        self.optional_by(column, |text| whole(text, range))
    }

    /// `yes` or `no`.
    pub(in crate::book) fn yes_no(&mut self, column: &str) -> Result<Option<bool>, Faulted> {
        self.optional_by(column, yes_no)
    }

    /// A date.
    pub(in crate::book) fn date(&mut self, column: &str) -> Result<Option<Date>, Faulted> {
        let dates = self.dates;
        self.optional_by(column, |text| dates.read(text))
    }

    /// A text of the binder's own on one line: line ends in it become spaces.
    pub(in crate::book) fn note(&mut self, column: &str) -> Result<String, Faulted> {
        let text = self.text(column);
        if text.is_empty() {
            return Ok(String::new());
        }
        let text: String = text
            .split(['\n', '\r', '\t'])
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join(" ");
        check_text(&text, LONGEST_NOTE).map_err(|message| self.fault(column, message))?;
        Ok(text)
    }
}

fn length(text: &str, range: Range) -> Result<Millimetres, String> {
    let length = parse_length(text, LengthUnit::Millimetre).map_err(|error| error.to_string())?;
    range.check(length.mm()).map_err(|error| error.to_string())?;
    Ok(length)
}

fn number(text: &str, range: Range) -> Result<f64, String> {
    let value = match parse_plain(text) {
        Some(value) => value,
        None => with_unit(text)?,
    };
    range.check(value).map_err(|error| error.to_string())
}

fn with_unit(text: &str) -> Result<f64, String> {
    let units = ["g/m\u{b2}", "g/m2", "gsm", "%"];
    let lower = text.to_lowercase();
    let plain = units.iter().find_map(|unit| lower.strip_suffix(unit)).unwrap_or(&lower);
    parse_decimal(plain, DecimalMark::Either).map_err(|error| error.to_string())
}

fn whole(text: &str, range: Range) -> Result<u16, String> {
    let value = number(text, range)?;
    if value.fract() == 0.0 && (0.0..=f64::from(u16::MAX)).contains(&value) {
        Ok(value as u16)
    } else {
        Err(format!("'{}' is not a whole number", shown(text)))
    }
}

fn yes_no(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(true),
        "no" | "n" | "false" | "0" => Ok(false),
        _ => Err(format!("'{}' is neither yes nor no", shown(text))),
    }
}

/// Refuses text too long, or with characters that cannot be seen and change what is.
fn check_text(text: &str, longest: usize) -> Result<(), String> {
    let length = text.chars().count();
    if length > longest {
        return Err(format!("a text of {length} characters; at most {longest} are kept"));
    }
    if text.contains(steering) {
        return Err(format!(
            "'{}' holds characters that cannot be seen ({}); type the text again",
            shown(text),
            numbers_of(text, steering)
        ));
    }
    Ok(())
}

/// The title of a book: one line of at most 200 characters.
///
/// # Errors
/// A sentence that says what is wrong with it.
pub fn title(text: &str) -> Result<String, String> {
    check_text(text, LONGEST_TITLE).map_err(|error| format!("the title: {error}"))?;
    Ok(text.to_owned())
}

/// A note as it may be written: on one line, at most 500 characters, and nothing that a
/// spreadsheet takes for a formula.
///
/// # Errors
/// A sentence that says what is wrong with it.
pub fn note(text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(String::new());
    }
    check_text(text, LONGEST_NOTE)?;
    match formula_sign(text) {
        Some(sign) => Err(format!(
            "'{}' begins, or goes on after a separator such as a comma, with '{sign}', which a spreadsheet takes for a formula; {}",
            shown(text),
            formula_advice(sign)
        )),
        None => Ok(text.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::ranges;

    #[test]
    fn lengths_are_millimetres_unless_a_unit_is_given() {
        assert_eq!(length("9,8", ranges::THICKNESS).unwrap().mm(), 9.8);
        assert!((length("0.386 in", ranges::THICKNESS).unwrap().mm() - 9.8044).abs() < 1e-9);
        let error = length("105", ranges::CALIPER).unwrap_err();
        assert_eq!(error, "105 mm is outside 0.01..2 mm");
        for bad in ["1e309", "nan", "inf", "-1", "0x1", "1.234,5"] {
            assert!(length(bad, ranges::THICKNESS).is_err(), "{bad}");
        }
    }

    #[test]
    fn whole_numbers_are_whole() {
        assert_eq!(whole("24", ranges::SECTIONS), Ok(24));
        assert_eq!(whole("24.0", ranges::SECTIONS), Ok(24));
        for bad in ["0", "2.5", "-3", "501", "1e2"] {
            assert!(whole(bad, ranges::SECTIONS).is_err(), "{bad}");
        }
        assert_eq!(number("120 g/m\u{b2}", ranges::GRAMMAGE), Ok(120.0));
    }

    #[test]
    fn yes_and_no_in_every_form() {
        for text in ["yes", "Y", "TRUE", "1"] {
            assert_eq!(yes_no(text), Ok(true));
        }
        for text in ["no", "n", "False", "0"] {
            assert_eq!(yes_no(text), Ok(false));
        }
        assert!(yes_no("maybe").is_err());
    }

    #[test]
    fn a_note_is_safe_to_open_in_a_spreadsheet() {
        assert_eq!(note("  a, \"b\" "), Ok("a, \"b\"".to_owned()));
        for bad in ["=1+1", "+x", "-x", "@x", "a\nb", "a\u{202e}b", &"x".repeat(501)] {
            assert!(note(bad).is_err(), "{bad:?}");
        }
    }
}
