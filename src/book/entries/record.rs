//! What a row of a file is, read and written.

use crate::book::check::faults::Faults;
use crate::book::csv::cells::{Cells, Faulted, Names};
use crate::book::csv::columns::{Column, match_columns};
use crate::book::csv::dates::{DateOrder, Dates};
use crate::book::csv::decimals::check;
use crate::book::csv::table::Table;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::notice::Notice;
use std::borrow::Cow;

/// A cell to be written.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::book) enum Value<'a> {
    /// Text, as it stands.
    Text(Cow<'a, str>),
    /// A number, with the file's own decimal mark.
    Number(f64),
    /// Nothing.
    Empty,
}

impl<'a> Value<'a> {
    pub(in crate::book) fn text(text: &'a str) -> Self {
        Self::Text(Cow::Borrowed(text))
    }

    pub(in crate::book) fn shown(value: impl ToString) -> Self {
        Self::Text(Cow::Owned(value.to_string()))
    }

    pub(in crate::book) fn number(value: Option<f64>) -> Self {
        value.map_or(Self::Empty, Self::Number)
    }
}

/// A kind of entry: one row of one file.
pub(in crate::book) trait Record: Sized {
    /// The file it is a row of.
    const FILE: BookFile;

    /// The entry in a row.
    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted>;

    /// Its cell in the column `column`.
    fn value(&self, column: &str) -> Value<'_>;
}

/// An entry and its row; `None` until it is in the file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::book) struct Located<T> {
    pub(in crate::book) value: T,
    pub(in crate::book) row: Option<usize>,
}

/// Entries with the rows that they stand in.
pub(in crate::book) fn located<'a, T>(
    values: &'a [T],
    rows: &'a [Option<usize>],
) -> impl Iterator<Item = Located<&'a T>> {
    values.iter().zip(rows).map(|(value, row)| Located { value, row: *row })
}

/// The entries of `table`; what is wrong goes to `faults`.
pub(in crate::book) fn read_records<T: Record>(
    table: &Table<'_>,
    faults: &mut Faults,
    notices: &mut Vec<Notice>,
) -> Vec<Located<T>> {
    read_rows(table, T::FILE.layout(), None, (faults, notices), |cells| {
        let value = T::read(cells)?;
        Ok(Located { value, row: Some(cells.row.number) })
    })
}

/// What `read` makes of each row of `table`, whose columns are those of `layout`.
pub(in crate::book) fn read_rows<T>(
    table: &Table<'_>,
    layout: &'static [Column],
    said: Option<DateOrder>,
    (faults, notices): (&mut Faults, &mut Vec<Notice>),
    mut read: impl FnMut(&mut Cells<'_>) -> Result<T, Faulted>,
) -> Vec<T> {
    let before = faults.found();
    let map = match_columns(table, layout, faults, notices);
    for run in &table.blank {
        let place = Location::row(table.file, run.row);
        notices.push(Notice::BlankRows { place, count: run.count });
    }
    if table.is_empty() {
        return Vec::new();
    }
    if faults.found() > before {
        // Without its columns no row can be read, and every row would be at fault.
        return Vec::new();
    }
    check(table, &map, faults);
    let dated = map.index("date").or_else(|| map.index("made"));
    let dates = Dates::of(table, dated, said);
    let (mut values, mut rows, mut names) = (Vec::new(), table.rows(), Names::default());
    while let Some(row) = rows.next_row() {
        let mut cells =
            Cells { table, row, map: &map, dates: &dates, names: &mut names, faults: &mut *faults };
        let value = cells.check_width().and_then(|()| read(&mut cells));
        if faults.is_over(table.file) {
            // With so much wrong in it nothing will be made of the file: it is only counted.
            values = Vec::new();
        } else {
            values.extend(value);
        }
    }
    // There may be millions, and they stay.
    values.shrink_to_fit();
    values
}
