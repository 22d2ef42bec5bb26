//! The table of columns of one file. Everything about a column is said in it.

use crate::book::csv::cells::{Cells, Faulted, Given};
use crate::book::csv::columns::Column;
use crate::book::csv::kinds::{CellValue, Value};
use crate::book::files::names::BookFile;

/// What a row of a file says, cell by cell. [`columns`] implements it.
pub(in crate::book) trait Row: Clone {
    /// What the row is.
    type Entry;
    /// The cells with what is needed there and what may be left out filled in.
    type Parts;
    /// The file.
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
    /// Whether the column with this number is to say what `given` says, and no more what is `known`.
    fn takes<T: CellValue>(&mut self, column: usize, known: &Given<T>, given: &Given<T>) -> bool;
}

/// The cell of a value, as it is written.
pub(in crate::book) fn written<T: CellValue>(given: &Given<T>) -> Value<'_> {
    given.as_ref().ok().and_then(Option::as_ref).map_or(Value::Empty, CellValue::value)
}

/// The table of a file's columns. A line of it says of a column: the field, the type of its values,
/// whether it is `needed(what an empty cell is told)`, `optional` or `or(what an empty cell means)`,
/// the [`Column`], and where an entry has it. Of the table come
///
/// * a row of cells with the [`Column`] of each field as a constant, so that a mistyped name of a
///   column does not compile, and
/// * its parts, which [`made_of`](super::record::Record::made_of) makes an entry of, so that a
///   forgotten one does not.
macro_rules! columns {
    (
        $(#[$doc:meta])* $entry:ident in $file:expr => $row:ident, $parts:ident;
        $($field:ident: $type:ty, $need:ident $(($arg:expr))?, $column:expr, $get:expr;)+
    ) => {
        $(#[$doc])*
        #[derive(Clone, Debug)]
        pub(in crate::book) struct $row {
            $(pub(in crate::book) $field: $crate::book::csv::cells::Given<$type>,)+
        }

        /// The same with what an entry has of each cell.
        #[deny(dead_code, reason = "a cell that nobody takes would be lost")]
        pub(in crate::book) struct $parts {
            $($field: Result<columns!(@part $need $type), $crate::book::csv::cells::Faulted>,)+
        }

        #[allow(non_upper_case_globals, reason = "each is named as its field is")]
        #[allow(dead_code, reason = "few are named in a message")]
        impl $row {
            $(pub(in crate::book) const $field: $crate::book::csv::columns::Column =
                columns!(@column $need $(($arg))?, $column)
                    .of(<$type as $crate::book::csv::kinds::CellValue>::KIND);)+
        }

        impl $crate::book::entries::table::Row for $row {
            type Entry = $entry;
            type Parts = $parts;
            const FILE: $crate::book::files::names::BookFile = $file;
            const COLUMNS: &'static [$crate::book::csv::columns::Column] = &[$(Self::$field),+];

            fn read(
                cells: &mut $crate::book::csv::cells::Cells<'_>,
                wanted: impl Fn(&$crate::book::csv::columns::Column) -> bool,
            ) -> Self {
                $(let $field =
                    if wanted(&Self::$field) { cells.read(&Self::$field) } else { Ok(None) };)+
                Self { $($field),+ }
            }

            fn of(entry: &$entry) -> Self {
                $(let $field: fn(&$entry) -> Option<$type> = $get;)+
                Self { $($field: Ok($field(entry))),+ }
            }

            fn nothing() -> Self {
                Self { $($field: Ok(None)),+ }
            }

            fn empty() -> Self {
                Self { $($field: Ok(columns!(@default $need $(($arg))?))),+ }
            }

            fn values(&self) -> Vec<$crate::book::csv::kinds::Value<'_>> {
                vec![$($crate::book::entries::table::written(&self.$field)),+]
            }

            fn hear(
                &mut self,
                other: &Self,
                hearing: &mut impl $crate::book::entries::table::Hearing,
            ) {
                let mut next = 0..;
                $(if hearing.takes(next.next().unwrap_or(0), &self.$field, &other.$field) {
                    self.$field.clone_from(&other.$field);
                })+
            }

            fn complete(
                self,
                mut check: impl FnMut(usize, bool) -> Result<(), $crate::book::csv::cells::Faulted>,
            ) -> $parts {
                let mut next = 0..;
                $(
                    let at = next.next().unwrap_or(0);
                    let $field = self.$field;
                    let $field = $field.and_then(|cell| check(at, cell.is_some()).map(|()| cell));
                )+
                $parts { $($field: columns!(@fill $need $(($arg))?, $field)),+ }
            }
        }
    };
    (@part optional $type:ty) => { Option<$type> };
    (@part $need:ident $type:ty) => { $type };
    (@column needed($expected:expr), $column:expr) => { $column.filled($expected) };
    (@column $need:ident $(($arg:expr))?, $column:expr) => { $column };
    (@default or($meant:expr)) => { Some($meant) };
    (@default $need:ident $(($arg:expr))?) => { None };
    (@fill needed($expected:expr), $cell:expr) => {
        $cell.and_then(|cell| cell.ok_or($crate::book::csv::cells::Faulted))
    };
    (@fill or($meant:expr), $cell:expr) => { $cell.map(|cell| cell.unwrap_or_else(|| $meant)) };
    (@fill optional, $cell:expr) => { $cell };
}
pub(in crate::book) use columns;
