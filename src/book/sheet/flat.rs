//! The flat sheet: one row for each place measured, with paper, thread and trial spelled out.

use super::headings::Headings;
use super::layout::SheetOptions;
use super::row;
use super::row::{Above, OwnColumns, SheetRow};
use super::template::is_help;
use crate::book::check::faults::{Faults, Messages};
use crate::book::csv::cells::Cells;
use crate::book::csv::dates::Dates;
use crate::book::csv::table::read_sheet_table;
use crate::book::entries::reading::ReadingRow;
use crate::book::entries::record::read_long;
use crate::book::error::BookError;
use crate::book::location::Location;
use crate::book::notice::Notice;
use std::sync::atomic::{AtomicBool, Ordering};

/// A sheet that was read. Faulty cells are reported only when its import is planned, so that all
/// faults come out together.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub(super) source: String,
    pub(super) rows: Vec<SheetRow>,
    pub(super) faults: Faults,
    pub(super) notices: Vec<Notice>,
    pub(super) headings: Headings,
    book_option: Option<String>,
}

/// Reads the sheet in `bytes`, which messages call `source_name`.
///
/// # Errors
/// [`BookError::Faults`] if it is not a table with the columns of a sheet, or has no rows. Faulty
/// cells are reported by [`crate::book::opened::Book::plan_import`].
pub fn read_sheet(
    bytes: &[u8],
    source_name: &str,
    options: &SheetOptions,
) -> Result<Sheet, BookError> {
    let mut table = read_sheet_table(bytes, source_name)?;
    table.of_workbook = options.is_workbook;
    let (mut messages, has_help) = (Messages::in_unit(options.unit), AtomicBool::new(false));
    let headings = Headings::of(&mut table, options, &mut messages)?;
    let taken = table.header.iter().position(|heading| *heading == ReadingRow::taken.name);
    let taken = Dates::of(&table, taken, options.date_order);
    let (columns, helps) = (&OwnColumns { states: &headings.states, taken }, &has_help);
    let reader = || {
        let mut above = Above::default();
        move |cells: &mut Cells<'_>, rows: &mut Vec<SheetRow>| {
            if is_help(cells.table, cells.row) {
                helps.store(true, Ordering::Relaxed);
            } else {
                row::read(cells, &mut above, columns, rows);
            }
            Ok(())
        }
    };
    let rows = read_long(&table, headings.layout, options.date_order, &mut messages, reader);
    let Messages { mut faults, notices } = messages;
    let has_help = has_help.into_inner();
    if rows.is_empty() && faults.found() > 0 {
        faults.extend(headings.unknown(&table));
    }
    if table.is_empty() || (has_help && rows.is_empty()) {
        let message = match has_help {
            true => {
                "this sheet is still empty; write a row for each place measured below the line of help"
            }
            false => "there is no row below the header",
        };
        faults.add(Location::file(source_name), message);
    }
    let (source, book_option) = (source_name.to_owned(), options.book_option.clone());
    let mut sheet = Sheet { source, rows, faults, notices, headings, book_option };
    if sheet.rows.is_empty() {
        let faults = std::mem::take(&mut sheet.faults);
        sheet.refuse(faults)?;
    }
    Ok(sheet)
}

impl Sheet {
    /// `Ok` if there are no faults. Otherwise an error that lists them with the sheet's own column
    /// names.
    pub(super) fn refuse(&self, faults: Faults) -> Result<(), BookError> {
        faults.refuse().map_err(|error| match error {
            BookError::Faults { mut faults } => {
                faults.iter_mut().for_each(|fault| self.headings.put(&mut fault.place));
                BookError::Faults { faults }
            }
            other => other,
        })
    }

    /// A command line to type for the same book.
    pub(super) fn command(&self, rest: &str) -> String {
        let option = self.book_option.as_ref().map(|option| format!("{option} "));
        format!("swellbook {}{rest}", option.unwrap_or_default())
    }

    /// Whether it has a column of readings for each state.
    pub(super) fn has_states(&self) -> bool {
        !self.headings.states.is_empty()
    }

    /// The number of rows with a reading.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Runs of consecutive rows of one trial.
    pub(super) fn runs(&self) -> impl Iterator<Item = &[SheetRow]> {
        self.rows.chunk_by(|one, other| one.name == other.name)
    }

    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::super::layout::{sheet_columns, sheet_columns_by_need};
    use super::*;
    use crate::book::csv::columns::Column;
    use crate::book::csv::tail::shown;
    use crate::book::entries::paper::PaperRow;
    use crate::book::entries::table::Row;
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
        let text = of_columns(|_| true);
        let sheet = read_sheet(text.as_bytes(), "x.csv", &SheetOptions::default()).unwrap();
        let plan = Book::from_bytes(&[]).unwrap().plan_import(&sheet).unwrap();
        check::<PaperRow>(&plan.entries.papers);
        check::<ThreadRow>(&plan.entries.threads);
        check::<TrialRow>(&plan.entries.trials);
        check::<ReadingRow>(&plan.entries.readings);
    }

    /// A sheet with these columns, filled with their examples.
    fn of_columns(wanted: impl Fn(&Column) -> bool) -> String {
        let line = |cell: fn(&Column) -> &'static str| {
            let columns = sheet_columns().iter().filter(|column| wanted(column));
            columns.map(cell).collect::<Vec<_>>().join(",") + "\n"
        };
        line(|column| column.name) + &line(|column| column.example)
    }

    #[test]
    fn a_new_book_is_made_of_the_needed_columns_and_of_no_fewer() {
        let [needed, _] = sheet_columns_by_need();
        let is_made = |text: String| {
            let sheet = read_sheet(text.as_bytes(), "x.csv", &SheetOptions::default());
            sheet.is_ok_and(|sheet| Book::from_bytes(&[]).unwrap().plan_import(&sheet).is_ok())
        };
        assert!(is_made(of_columns(|column| needed.contains(&column.name))));
        for lost in &needed {
            let others = of_columns(|column| needed.contains(&column.name) && column.name != *lost);
            // A thread needs either of the two.
            assert_eq!(
                is_made(others),
                [ThreadRow::count.name, ThreadRow::laid.name].contains(lost)
            );
        }
    }
}
