//! The flat sheet: one row for each place measured, with paper, thread and trial spelled out.

use super::row;
use super::row::{Above, SheetRow};
use crate::book::check::faults::Faults;
use crate::book::csv::columns::Column;
use crate::book::csv::dates::DateOrder;
use crate::book::csv::table::read_table;
use crate::book::csv::text::OF_SHEETS;
use crate::book::entries::record::read_rows;
use crate::book::error::{BookError, Fault};
use crate::book::location::Location;
use crate::book::notice::Notice;

/// How to read a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SheetOptions {
    /// The order of day and month in its dates, when the binder says it.
    pub date_order: Option<DateOrder>,
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

/// The columns, in the order that a binder is shown.
const LAYOUT: &[Column] = &[
    Column::required("trial"),
    Column::optional("date"),
    Column::optional("paper"),
    Column::optional("hardness"),
    Column::optional("grammage_gsm").number(),
    Column::optional("caliper_mm").number(),
    Column::optional("thread"),
    Column::optional("material"),
    Column::optional("count"),
    Column::optional("laid_mm").number(),
    Column::optional("sections"),
    Column::optional("sheets"),
    Column::optional("on"),
    Column::optional("ends"),
    Column::optional("boned"),
    Column::optional("kind"),
    Column::optional("guards_mm").number(),
    Column::optional("hand"),
    Column::required("state"),
    Column::optional("place"),
    Column::required("spine_mm").number(),
    Column::required("fore_edge_mm").number(),
    Column::optional("note"),
];

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
    let (mut faults, mut notices) = (Faults::default(), Vec::new());
    let (lists, mut above) = ((&mut faults, &mut notices), Above::default());
    let rows = read_rows(&table, LAYOUT, options.date_order, lists, |cells| {
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
