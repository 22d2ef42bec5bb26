//! The table of columns of one file. Everything about a column is said in it; what it is said with
//! comes along with `use super::table::*`.

pub(in crate::book) use crate::book::csv::cells::{Cells, Faulted, Given};
pub(in crate::book) use crate::book::csv::columns::{A_NAME, Column};
pub(in crate::book) use crate::book::csv::kinds::{CellValue, Misread, Value};
use crate::book::error::Fault;
pub(in crate::book) use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::trade::ReadingError;
use crate::units::LengthUnit;

/// Why cells that are sound, each by itself, make no entry.
#[derive(Clone, Debug)]
pub(in crate::book) enum Misfit {
    /// A cell was at fault, and that was noted.
    Noted,
    /// What one column says does not fit the others; it is a fault of that cell, or of the row.
    At { column: &'static str, of_row: bool, why: Why },
}

/// What does not fit.
#[derive(Clone, Debug)]
pub(in crate::book) enum Why {
    /// In words that have no lengths.
    Said(String),
    /// What was measured.
    Measured(ReadingError),
}

impl From<Faulted> for Misfit {
    fn from(_: Faulted) -> Self {
        Self::Noted
    }
}

impl Misfit {
    /// A fault of the cell in `column`.
    pub(in crate::book) fn at(column: Column, error: impl ToString) -> Self {
        Self::At { column: column.name, of_row: false, why: Why::Said(error.to_string()) }
    }

    /// A fault of the row, told where `column` was said.
    pub(in crate::book) fn of_row(column: Column, error: impl ToString) -> Self {
        Self::At { column: column.name, of_row: true, why: Why::Said(error.to_string()) }
    }

    /// The fault in `file`, in the row that says its column, with lengths in `unit`; `None` when it
    /// was noted.
    pub(in crate::book) fn fault(
        self,
        file: &str,
        unit: LengthUnit,
        row: impl FnOnce(&str) -> usize,
    ) -> Option<Fault> {
        let Self::At { column, of_row, why } = self else { return None };
        let message = match why {
            Why::Said(words) => words,
            Why::Measured(error) => error.in_unit(unit),
        };
        let place = Location::row(file, row(column));
        let column = (!of_row).then(|| column.to_owned());
        Some(Fault::new(Location { column, ..place }, message))
    }
}

/// A kind of entry: one row of one file.
pub(in crate::book) trait Record: Sized + Send + Sync {
    /// What its row says; [`columns`] makes one of the table of columns.
    type Row: Row<Entry = Self>;

    /// The file it is a row of.
    const FILE: BookFile = <Self::Row as Row>::FILE;

    /// The entry that the cells of a row make.
    fn made_of(parts: <Self::Row as Row>::Parts) -> Result<Self, Misfit>;
}

/// What a row of a file says, cell by cell. [`columns`] implements it.
pub(in crate::book) trait Row: Clone {
    /// What the row is.
    type Entry;
    /// The cells with what is needed there and what may be left out filled in.
    type Parts;
    const FILE: BookFile;
    /// Its columns, in the order of a new file.
    const COLUMNS: &'static [Column];

    /// What the columns that are `wanted` say.
    fn read(cells: &mut Cells<'_>, wanted: impl Fn(&Column) -> bool) -> Self;

    /// The row of an entry.
    fn of(entry: &Self::Entry) -> Self;

    /// The row that says nothing.
    fn nothing() -> Self;

    /// The row of empty cells, with what they mean.
    fn empty() -> Self;

    /// Its cells as they are written, in the order of the columns.
    fn values(&self) -> Vec<Value<'_>>;

    /// Takes over those cells of `other` that `hearing` wants.
    fn hear(&mut self, other: &Self, hearing: &mut impl Hearing);

    /// The parts of an entry. Each column, by its number, and whether it was said, goes to `check`,
    /// which notes what is missing.
    fn complete(self, check: impl FnMut(usize, bool) -> Result<(), Faulted>) -> Self::Parts;
}

/// Judges what another row says.
pub(in crate::book) trait Hearing {
    /// Whether the column with this number is to say what is `given`, in place of what is `known`.
    fn takes<T: CellValue>(&mut self, column: usize, known: &Given<T>, given: &Given<T>) -> bool;
}

pub(in crate::book) fn written<T: CellValue>(given: &Given<T>) -> Value<'_> {
    given.as_ref().ok().and_then(Option::as_ref).map_or(Value::Empty, CellValue::value)
}

/// The table of a file's columns. A line of it says of a column: the field, the type of its values,
/// whether it is `needed(the message for an empty cell)`, `optional` or `or(what an empty cell
/// means)`, the [`Column`], and where an entry has it. Of the table come
///
/// * a row of cells with the [`Column`] of each field as a constant, so that a mistyped name of a
///   column does not compile, and
/// * its parts, which [`Record::made_of`] makes an entry of, so that a forgotten one does not.
macro_rules! columns {
    (
        $(#[$doc:meta])* $it:ident: $entry:ident in $file:expr => $row:ident, $parts:ident;
        $($field:ident: $type:ty, $need:ident $(($arg:expr))?, $column:expr, $get:expr;)+
    ) => {
        $(#[$doc])*
        #[derive(Clone, Debug)]
        pub(in crate::book) struct $row { $(pub(in crate::book) $field: Given<$type>,)+ }

        #[deny(dead_code, reason = "a cell that no entry takes would be lost")]
        pub(in crate::book) struct $parts {
            $($field: Result<columns!(@part $need $type), Faulted>,)+
        }

        #[allow(non_upper_case_globals, reason = "each is named as its field is")]
        #[allow(dead_code, reason = "few are named in a message")]
        impl $row {
            $(pub(in crate::book) const $field: Column =
                columns!(@column $need $(($arg))?, $column).of(<$type as CellValue>::KIND);)+
        }

        impl Row for $row {
            type Entry = $entry;
            type Parts = $parts;
            const FILE: BookFile = $file;
            const COLUMNS: &'static [Column] = {
                // In one place: its columns are known again by where their names are.
                static COLUMNS: [Column; [$(stringify!($field)),+].len()] = [$($row::$field),+];
                &COLUMNS
            };

            fn read(cells: &mut Cells<'_>, wanted: impl Fn(&Column) -> bool) -> Self {
                let mut columns = Self::COLUMNS.iter();
                $(let $field = match columns.next() {
                    Some(column) if wanted(column) => cells.read(column),
                    _ => Ok(None),
                };)+
                Self { $($field),+ }
            }

            fn of($it: &$entry) -> Self {
                Self { $($field: Ok(columns!(@get $need $(($arg))?, $get))),+ }
            }

            fn nothing() -> Self {
                Self { $($field: Ok(None)),+ }
            }

            fn empty() -> Self {
                Self { $($field: Ok(columns!(@empty $need $(($arg))?))),+ }
            }

            fn values(&self) -> Vec<Value<'_>> {
                vec![$(written(&self.$field)),+]
            }

            fn hear(&mut self, other: &Self, hearing: &mut impl Hearing) {
                let mut next = 0..;
                $(if hearing.takes(next.next().unwrap_or(0), &self.$field, &other.$field) {
                    self.$field.clone_from(&other.$field);
                })+
            }

            fn complete(self, mut check: impl FnMut(usize, bool) -> Result<(), Faulted>) -> $parts {
                let mut next = 0..;
                $(
                    let (at, cell) = (next.next().unwrap_or(0), self.$field);
                    let $field = cell.and_then(|cell| check(at, cell.is_some()).map(|()| cell));
                )+
                $parts { $($field: columns!(@fill $need $(($arg))?, $field)),+ }
            }
        }
    };
    (@part optional $type:ty) => { Option<$type> };
    (@part $need:ident $type:ty) => { $type };
    (@column needed($expected:expr), $column:expr) => { $column.filled($expected) };
    (@column $need:ident $(($arg:expr))?, $column:expr) => { $column };
    (@get optional, $get:expr) => { $get };
    (@get $need:ident $(($arg:expr))?, $get:expr) => { Some($get) };
    (@empty or($meant:expr)) => { Some($meant) };
    (@empty $need:ident $(($arg:expr))?) => { None };
    (@fill needed($expected:expr), $cell:expr) => {
        $cell.and_then(|cell| cell.ok_or(Faulted))
    };
    (@fill or($meant:expr), $cell:expr) => { $cell.map(|cell| cell.unwrap_or_else(|| $meant)) };
    (@fill optional, $cell:expr) => { $cell };
}
pub(in crate::book) use columns;
