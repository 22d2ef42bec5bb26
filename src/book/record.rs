//! What a row of a file is, read and written.

use super::cells::{Cells, Faulted};
use super::columns::match_columns;
use super::dates::{DateOrder, DateRule};
use super::files::BookFile;
use super::table::Table;
use super::{Fault, Location, Notice};
use std::borrow::Cow;

/// A cell to be written.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Value<'a> {
    /// Text, as it stands.
    Text(Cow<'a, str>),
    /// A number, with the file's own decimal mark.
    Number(f64),
    /// Nothing.
    Empty,
}

impl<'a> Value<'a> {
    pub(super) fn text(text: &'a str) -> Self {
        Self::Text(Cow::Borrowed(text))
    }

    pub(super) fn shown(value: impl ToString) -> Self {
        Self::Text(Cow::Owned(value.to_string()))
    }

    pub(super) fn number(value: Option<f64>) -> Self {
        value.map_or(Self::Empty, Self::Number)
    }
}

/// A kind of entry: one row of one file.
pub(super) trait Record: Sized {
    /// The file it is a row of.
    const FILE: BookFile;

    /// The entry in a row.
    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted>;

    /// Its cell in the column `column`.
    fn value(&self, column: &str) -> Value<'_>;
}

/// An entry and its row; `None` until it is in the file.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Located<T> {
    pub(super) value: T,
    pub(super) row: Option<usize>,
}

/// The entries of `table`; what is wrong goes to `faults`.
pub(super) fn read_records<T: Record>(
    table: &Table,
    faults: &mut Vec<Fault>,
    notices: &mut Vec<Notice>,
) -> Vec<Located<T>> {
    read_rows(table, T::FILE.layout(), None, (faults, notices), |cells| {
        let value = T::read(cells)?;
        Ok(Located { value, row: Some(cells.row.number) })
    })
}

/// What `read` makes of each row of `table`, whose columns are those of `layout`.
pub(super) fn read_rows<T>(
    table: &Table,
    layout: &'static [super::columns::Column],
    said: Option<DateOrder>,
    (faults, notices): (&mut Vec<Fault>, &mut Vec<Notice>),
    mut read: impl FnMut(&mut Cells<'_>) -> Result<T, Faulted>,
) -> Vec<T> {
    let before = faults.len();
    let map = match_columns(table, layout, faults, notices);
    for &row in &table.blank_rows {
        notices.push(Notice::BlankRow { place: Location::row(&table.file, row) });
    }
    if faults.len() > before {
        // Without its columns no row can be read, and every row would be at fault.
        return Vec::new();
    }
    super::decimals::check(table, &map, faults);
    let dated = map.index("date").or_else(|| map.index("made"));
    let dates = dated.map_or(DateRule::of(std::iter::empty(), said), |index| {
        let cells = table.rows.iter().filter_map(|row| row.fields.get(index));
        DateRule::of(cells.map(String::as_str), said)
    });
    let mut values = Vec::new();
    for row in &table.rows {
        let mut cells = Cells { table, row, map: &map, dates, faults };
        if cells.check_width().is_ok() {
            values.extend(read(&mut cells));
        }
    }
    values
}
