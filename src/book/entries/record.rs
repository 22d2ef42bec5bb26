//! What a row of a file is, read and written.

use super::table::{Record, Row};
use crate::book::check::faults::Faults;
use crate::book::csv::cells::{Cells, Faulted};
use crate::book::csv::columns::{Column, Kind, match_columns};
use crate::book::csv::dates::Dates;
use crate::book::csv::decimals::check;
use crate::book::csv::kinds::{Aids, Names, SaidBack};
use crate::book::csv::table::Table;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::trade::DateOrder;
use crate::units::LengthUnit;

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
    read_rows(table, T::Row::COLUMNS, None, (faults, notices), |cells, rows| {
        let row = T::Row::read(cells, |_| true);
        let parts = row.complete(|at, is_said| cells.check_said(&T::Row::COLUMNS[at], is_said));
        let value = T::made_of(parts).map_err(|misfit| {
            let unit = cells.faults.unit();
            cells.faults.extend(misfit.fault(table.file, unit, |_| cells.row.number));
            Faulted
        })?;
        rows.push(Located { value, row: Some(cells.row.number) });
        Ok(())
    })
}

/// What `read` makes of each row of `table`, whose columns are those of `layout`, one behind another.
pub(in crate::book) fn read_rows<T>(
    table: &Table<'_>,
    layout: &'static [Column],
    said: Option<DateOrder>,
    (faults, notices): (&mut Faults, &mut Vec<Notice>),
    mut read: impl FnMut(&mut Cells<'_>, &mut Vec<T>) -> Result<(), Faulted>,
) -> Vec<T> {
    let before = faults.found();
    let map = match_columns(table, layout, faults, notices);
    for run in &table.blank {
        let place = Location::row(table.file, run.row);
        notices.push(Notice::BlankRows { place, count: run.count });
    }
    // Without its columns no row can be read, and every row would be at fault.
    if table.is_empty() || faults.found() > before {
        return Vec::new();
    }
    check(table, &map, faults);
    let dated = map.present().find(|(column, _)| column.kind == Kind::Date);
    let dates = Dates::of(table, dated.map(|(_, index)| index), said);
    let (mut values, mut rows, mut names) = (Vec::new(), table.rows(), Names::default());
    let mut said_back = Vec::new();
    while let Some(row) = rows.next_row() {
        let aids = Aids {
            dates: &dates,
            names: &mut names,
            written_in: LengthUnit::Millimetre,
            unit: faults.unit(),
            is_new: false,
            said_back: &mut said_back,
        };
        let mut cells = Cells { table, row, map: &map, aids, faults: &mut *faults };
        // What is at fault is noted, and reading goes on.
        let _ = cells.check_width().and_then(|()| read(&mut cells, &mut values));
        if faults.is_over(table.file) {
            // With so much wrong in it nothing will be made of the file: it is only counted.
            values = Vec::new();
        }
    }
    notices.extend(said_back.into_iter().map(|SaidBack { column, row, found, meant }| {
        Notice::ReadAs { place: Location::cell(table.file, row, column), found, meant }
    }));
    // There may be millions, and they stay.
    values.shrink_to_fit();
    values
}
