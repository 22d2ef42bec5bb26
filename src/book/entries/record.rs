//! Reads the rows of a file into entries.

use super::table::{Record, Row};
use crate::book::check::faults::Messages;
use crate::book::csv::cells::{Cells, Faulted};
use crate::book::csv::columns::{Column, ColumnMap, Kind, match_columns};
use crate::book::csv::dates::Dates;
use crate::book::csv::decimals::check;
use crate::book::csv::kinds::{Aids, Names, SaidBack};
use crate::book::csv::part::Part;
use crate::book::csv::table::Table;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::trade::DateOrder;
use crate::units::{LengthUnit, at_once, cores};
use std::num::NonZeroU32;

/// An entry and its row; `None` until it is in the file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::book) struct Located<T> {
    pub(in crate::book) value: T,
    pub(in crate::book) row: Standing,
}

/// The number of a row in its file; `None` until it is there. It is kept small because there may be
/// millions.
pub(in crate::book) type Standing = Option<NonZeroU32>;

/// The [`Standing`] of the row with this number. No file that can be read has more rows than fit
/// into it.
pub(in crate::book) fn standing(number: usize) -> Standing {
    u32::try_from(number).ok().and_then(NonZeroU32::new)
}

/// The location of a row; the file alone if the row is not written yet.
pub(in crate::book) fn place(file: BookFile, row: Standing) -> Location {
    let row = row.map(|row| row.get() as usize);
    Location { row, ..Location::file(file.name()) }
}

pub(in crate::book) fn located<'a, T>(
    values: &'a [T],
    rows: &'a [Standing],
) -> impl Iterator<Item = Located<&'a T>> {
    values.iter().zip(rows).map(|(value, row)| Located { value, row: *row })
}

/// The entries of `table`. Faults and notices are added to `messages`.
pub(in crate::book) fn read_records<T: Record>(
    table: &Table<'_>,
    messages: &mut Messages,
) -> Vec<Located<T>> {
    read_long(table, T::Row::COLUMNS, None, messages, || read_record)
}

fn read_record<T: Record>(
    cells: &mut Cells<'_>,
    rows: &mut Vec<Located<T>>,
) -> Result<(), Faulted> {
    let row = T::Row::read(cells, |_| true);
    let parts = row.complete(|at, is_said| cells.check_said(&T::Row::COLUMNS[at], is_said));
    let value = T::made_of(parts).map_err(|misfit| {
        let unit = cells.faults.unit();
        cells.faults.extend(misfit.fault(cells.table.file, unit, |_| cells.row.number));
        Faulted
    })?;
    rows.push(Located { value, row: standing(cells.row.number) });
    Ok(())
}

/// Reads each row of `table`, with the columns of `layout`, by `read`. Rows are read in order.
pub(in crate::book) fn read_rows<T>(
    table: &Table<'_>,
    layout: &'static [Column],
    messages: &mut Messages,
    read: impl FnMut(&mut Cells<'_>, &mut Vec<T>) -> Result<(), Faulted>,
) -> Vec<T> {
    let mut values = Vec::new();
    if let Some((dates, map)) = columns_of(table, layout, None, messages) {
        Reading { table, dates: &dates, map }.read(table.whole(), messages, &mut values, read);
    }
    values
}

/// Like [`read_rows`], for a table that may have millions of rows. Its parts are read in parallel,
/// each by its own closure from `reader`, which knows no row above its part.
pub(in crate::book) fn read_long<T: Send, R>(
    table: &Table<'_>,
    layout: &'static [Column],
    said: Option<DateOrder>,
    messages: &mut Messages,
    reader: impl Fn() -> R + Sync,
) -> Vec<T>
where
    R: FnMut(&mut Cells<'_>, &mut Vec<T>) -> Result<(), Faulted>,
{
    let Some((dates, map)) = columns_of(table, layout, said, messages) else {
        return Vec::new();
    };
    let (mut values, unit) = (Vec::new(), messages.faults.unit());
    let parts = table.parts();
    let read = |(part, map): (Part<'_>, ColumnMap)| {
        let (mut messages, mut values) = (Messages::in_unit(unit), Vec::new());
        Reading { table, dates: &dates, map }.read(part, &mut messages, &mut values, reader());
        (messages.faults.is_empty() && messages.notices.is_empty()).then_some(values)
    };
    for parts in parts.chunks(cores()) {
        let quiet = at_once(parts.iter().map(|part| (*part, map.clone())), read);
        for (part, quiet) in parts.iter().zip(quiet) {
            let Some(mut of_part) = quiet else {
                // Faults and notes must come in order and not too often. So one reader goes through
                // this part and all the rest.
                let reading = Reading { table, dates: &dates, map };
                reading.read(table.from(*part), messages, &mut values, reader());
                return values;
            };
            values.append(&mut of_part);
        }
    }
    // There may be millions of entries, and they stay in memory.
    values.shrink_to_fit();
    values
}

/// Finds the columns of `layout` and their dates. `None` if there are no rows or the columns have
/// faults.
fn columns_of<'t>(
    table: &'t Table<'t>,
    layout: &'static [Column],
    said: Option<DateOrder>,
    messages: &mut Messages,
) -> Option<(Dates<'t>, ColumnMap)> {
    let before = messages.faults.found();
    let map = match_columns(table, layout, messages);
    for run in &table.blank {
        let place = Location::row(table.file, run.row);
        messages.notices.push(Notice::BlankRows { place, count: run.count });
    }
    // Without its columns every row would be a fault.
    if table.is_empty() || messages.faults.found() > before {
        return None;
    }
    check(table, &map, &mut messages.faults);
    let dated = map.present().find(|(column, _)| column.kind == Kind::Date);
    let dates = Dates::of(table, dated.map(|(_, index)| index), said);
    Some((dates, map))
}

struct Reading<'t> {
    table: &'t Table<'t>,
    dates: &'t Dates<'t>,
    map: ColumnMap,
}

impl Reading<'_> {
    /// Reads the rows of `part` into `values`. Adds a notice for each cell that was read differently
    /// from its text.
    fn read<T>(
        &self,
        part: Part<'_>,
        Messages { faults, notices }: &mut Messages,
        values: &mut Vec<T>,
        mut read: impl FnMut(&mut Cells<'_>, &mut Vec<T>) -> Result<(), Faulted>,
    ) {
        let Self { table, dates, map } = self;
        let (mut rows, mut names) = (table.rows_of(part), Names::default());
        let mut said_back = Vec::new();
        while let Some(row) = rows.next_row() {
            let aids = Aids {
                dates,
                names: &mut names,
                written_in: LengthUnit::Millimetre,
                unit: faults.unit(),
                is_new: false,
                said_back: &mut said_back,
            };
            let mut cells = Cells { table, row, map, aids, faults: &mut *faults };
            // A fault has been noted; go on with the next row.
            let _ = cells.check_width().and_then(|()| read(&mut cells, values));
            if faults.is_over(table.file) {
                // A file with this many faults is refused, so only count the rest.
                *values = Vec::new();
            }
        }
        notices.extend(said_back.into_iter().map(|SaidBack { column, row, found, meant }| {
            Notice::ReadAs { place: Location::cell(table.file, row, column), found, meant }
        }));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::csv::table::read_table;
    use crate::book::csv::text::OF_BOOKS;
    use crate::trade::Reading;

    /// What was read from a text, and the messages about it.
    type Read = (Vec<Located<Reading>>, Vec<String>);

    fn read(text: &str, is_long: bool) -> Read {
        let table = read_table(text.as_bytes(), "readings.csv", OF_BOOKS).unwrap();
        let (columns, mut messages) = (<Reading as Record>::Row::COLUMNS, Messages::default());
        let values = match is_long {
            true => read_long(&table, columns, None, &mut messages, || read_record::<Reading>),
            false => read_rows(&table, columns, &mut messages, read_record::<Reading>),
        };
        let said = messages.faults.listed().into_iter().map(|fault| fault.to_string());
        (values, said.chain(messages.notices.iter().map(ToString::to_string)).collect())
    }

    #[test]
    fn parts_read_side_by_side_say_what_one_reader_says() {
        const ROWS: usize = 450_000;
        let row = |number: usize, every: usize| {
            let wrong = number % every == every - 1;
            let spine = if wrong { "thick" } else { "11.05" };
            format!("T{},sewn,{},{spine},8.3,,by lamplight\r\n", number / 5, number % 5)
        };
        // No fault; one in a part after the first; more than are listed; every row.
        for every in [usize::MAX, ROWS - 20_000, 300, 1] {
            let rows: String = (0..ROWS).map(|number| row(number, every)).collect();
            let text = format!("trial,state,place,spine_mm,fore_edge_mm,taken,note\r\n{rows}");
            assert!(read_table(text.as_bytes(), "x", OF_BOOKS).unwrap().parts().len() > 4);
            let one_by_one = read(&text, false);
            assert_eq!(read(&text, true), one_by_one, "{every}");
            assert_eq!(one_by_one.1.is_empty(), every == usize::MAX);
        }
    }
}
