//! The table of columns of one file. It defines everything about each column. `use super::table::*`
//! imports what a table needs.

pub(in crate::book) use crate::book::csv::cells::{Cells, Faulted, Given};
pub(in crate::book) use crate::book::csv::columns::{A_NAME, Column};
pub(in crate::book) use crate::book::csv::kinds::{CellValue, Value};
use crate::book::error::Fault;
pub(in crate::book) use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::trade::ReadingError;
use crate::units::LengthUnit;

/// Why cells that are valid by themselves do not make an entry.
#[derive(Clone, Debug)]
pub(in crate::book) enum Misfit {
    /// A cell was faulty, and its fault has been noted.
    Noted,
    /// A value does not fit the others. This is a fault of the cell in `column`, or of its row.
    At { column: &'static str, of_row: bool, why: Why },
}

#[derive(Clone, Debug)]
pub(in crate::book) enum Why {
    /// A message without lengths.
    Said(String),
    /// An error of the measured lengths.
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

    /// A fault of the row that has the value of `column`.
    pub(in crate::book) fn of_row(column: Column, error: impl ToString) -> Self {
        Self::At { column: column.name, of_row: true, why: Why::Said(error.to_string()) }
    }

    /// The fault in `file`, at the row that `row` gives for its column, with lengths in `unit`.
    /// `None` if it has been noted already.
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
    /// The type of its row, which [`columns`] makes from the table of columns.
    type Row: Row<Entry = Self>;

    const FILE: BookFile = <Self::Row as Row>::FILE;

    /// Builds the entry from the cells of a row.
    fn made_of(parts: <Self::Row as Row>::Parts) -> Result<Self, Misfit>;
}

/// The cells of a row of a file. [`columns`] implements it.
pub(in crate::book) trait Row: Clone {
    type Entry;
    /// The cells after checking: required values are present and defaults filled in.
    type Parts;
    const FILE: BookFile;
    /// Its columns, in the order of a new file.
    const COLUMNS: &'static [Column];

    /// Parses the columns that are `wanted`.
    fn read(cells: &mut Cells<'_>, wanted: impl Fn(&Column) -> bool) -> Self;

    fn of(entry: &Self::Entry) -> Self;

    /// The row without any values.
    fn nothing() -> Self;

    /// The row of empty cells, with their default values.
    fn empty() -> Self;

    /// Its cells as they are written, in the order of the columns.
    fn values(&self) -> Vec<Value<'_>>;

    /// Takes over those cells of `other` that `hearing` accepts.
    fn hear(&mut self, other: &Self, hearing: &mut impl Hearing);

    /// The parts of an entry. `check` gets the number of each column and whether it has a value,
    /// and notes what is missing.
    fn complete(self, check: impl FnMut(usize, bool) -> Result<(), Faulted>) -> Self::Parts;
}

/// Decides which values of another row to take over.
pub(in crate::book) trait Hearing {
    /// Whether the value `given` for this column replaces the `known` one.
    fn takes<T: CellValue>(&mut self, column: usize, known: &Given<T>, given: &Given<T>) -> bool;
}

pub(in crate::book) fn written<T: CellValue>(given: &Given<T>) -> Value<'_> {
    given.as_ref().ok().and_then(Option::as_ref).map_or(Value::Empty, CellValue::value)
}

/// Defines the columns of a file. A line gives the field of a column and the type of its values.
/// Then it says whether the column is `needed(the message for an empty cell)`, `optional` or
/// `or(what an empty cell means)`. Last come the [`Column`] and the expression that gets the value
/// from an entry. The macro makes two types:
///
/// - The row type has the [`Column`] of each field as a constant, so a mistyped column name does
///   not compile.
/// - [`Record::made_of`] builds an entry from the parts, so a forgotten part does not compile.
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
                // A `static`, so that each name has one address: columns are first compared by it.
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
