//! The flat sheet: one row for each place measured, with paper, thread and trial spelled out.

use super::row;
use super::row::{Above, SheetRow};
use crate::book::check::faults::Faults;
use crate::book::csv::columns::Column;
use crate::book::csv::table::read_table;
use crate::book::csv::text::OF_SHEETS;
use crate::book::entries::reading::ReadingRow;
use crate::book::entries::record::read_rows;
use crate::book::entries::table::Row;
use crate::book::entries::tables::column_tables;
use crate::book::error::{BookError, Fault};
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::trade::DateOrder;
use crate::units::LengthUnit;
use std::sync::LazyLock;

/// How to read a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SheetOptions {
    /// The order of day and month in its dates, when the binder says it.
    pub date_order: Option<DateOrder>,
    /// The unit in which messages give lengths.
    pub unit: LengthUnit,
}

/// A sheet that was read. Its bad cells are kept as faults until it is planned into a book, so
/// that all that is wrong with it comes out at once.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub(super) source: String,
    pub(super) rows: Vec<SheetRow>,
    pub(super) faults: Faults,
    pub(super) notices: Vec<Notice>,
}

/// The columns, in the order that a binder is shown. Only those of readings must be there, and each
/// of these but the place: what is said once need not be repeated.
static LAYOUT: LazyLock<Vec<Column>> = LazyLock::new(|| {
    let of_reading = |column: &Column| ReadingRow::COLUMNS.contains(column);
    let all = column_tables().into_iter().flat_map(|(_, columns, _)| columns);
    let in_sheet = all.filter(|column| column.in_sheet.is_some()).map(|column| Column {
        required: column.required && of_reading(column) && *column != ReadingRow::place,
        ..*column
    });
    let mut columns: Vec<Column> = in_sheet.collect();
    columns.sort_by_key(|column| column.in_sheet);
    columns
});

/// The columns of the flat sheet.
pub fn sheet_columns() -> &'static [Column] {
    &LAYOUT
}

/// Reads the sheet in `bytes`, which messages call `source_name`.
///
/// # Errors
/// [`BookError::Faults`] when it is not a table with the columns of a sheet, or has no rows. Bad
/// cells come out with [`crate::book::opened::Book::plan_import`].
pub fn read_sheet(
    bytes: &[u8],
    source_name: &str,
    options: &SheetOptions,
) -> Result<Sheet, BookError> {
    let table = read_table(bytes, source_name, OF_SHEETS)?;
    let (mut faults, mut notices) = (Faults::in_unit(options.unit), Vec::new());
    let (lists, mut above) = ((&mut faults, &mut notices), Above::default());
    let rows = read_rows(&table, sheet_columns(), options.date_order, lists, |cells| {
        Ok(row::read(cells, &mut above))
    });
    if table.is_empty() {
        let message = "there is no row below the header";
        faults.push(Fault::new(Location::file(source_name), message));
    }
    if rows.is_empty() {
        faults.clone().refuse()?;
    }
    Ok(Sheet { source: source_name.to_owned(), rows, faults, notices })
}

impl Sheet {
    /// What messages call it.
    pub fn source(&self) -> &str {
        &self.source
    }

    /// How many rows hold a reading.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The rows of one trial that follow one another.
    pub(super) fn runs(&self) -> impl Iterator<Item = &[SheetRow]> {
        self.rows.chunk_by(|one, other| one.name == other.name)
    }

    /// Whether it holds none.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::csv::tail::shown;
    use crate::book::entries::paper::PaperRow;
    use crate::book::entries::thread::ThreadRow;
    use crate::book::entries::trial::TrialRow;
    use crate::book::opened::Book;

    fn check<R: Row>(entries: &[R::Entry]) {
        let row = R::of(&entries[0]);
        let cells = R::COLUMNS.iter().zip(row.values());
        for (column, value) in cells.filter(|(column, _)| column.in_sheet.is_some()) {
            assert_eq!(shown(&value), column.example, "{}", column.name);
        }
    }

    #[test]
    fn every_column_of_the_sheet_comes_into_the_book() {
        let line = |cell: fn(&Column) -> &'static str| {
            sheet_columns().iter().map(cell).collect::<Vec<_>>().join(",")
        };
        let text = format!("{}\n{}\n", line(|column| column.name), line(|column| column.example));
        let sheet = read_sheet(text.as_bytes(), "x.csv", &SheetOptions::default()).unwrap();
        let plan = Book::from_bytes(&[]).unwrap().plan_import(&sheet).unwrap();
        check::<PaperRow>(&plan.entries.papers);
        check::<ThreadRow>(&plan.entries.threads);
        check::<TrialRow>(&plan.entries.trials);
        check::<ReadingRow>(&plan.entries.readings);
    }
}
