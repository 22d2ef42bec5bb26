//! The columns that a sheet may have, and the options for reading it.

use super::states;
use crate::book::csv::columns::Column;
use crate::book::entries::held::OwnHeading;
use crate::book::entries::reading::ReadingRow;
use crate::book::entries::table::Row;
use crate::book::entries::tables::columns_of;
use crate::book::files::names::BookFile;
use crate::trade::DateOrder;
use crate::units::LengthUnit;
use std::sync::LazyLock;

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SheetOptions {
    /// The order of day and month in its dates, if the binder gives it.
    pub date_order: Option<DateOrder>,
    /// The unit of lengths in messages.
    pub unit: LengthUnit,
    /// The meanings of the binder's own headings that the book keeps.
    pub kept: Vec<OwnHeading>,
    /// The meanings that the binder gives now.
    pub said: Vec<OwnHeading>,
    /// Whether it comes from a workbook, whose columns have letters.
    pub is_workbook: bool,
    /// The option that names the book in the commands of messages, such as `--book bench`.
    pub book_option: Option<String>,
}

/// The columns, in the order that a binder is shown. Only required columns of readings are required
/// here, and of these not the place. Other facts need to be given only once.
static LAYOUT: LazyLock<Vec<Column>> = LazyLock::new(|| {
    let of_reading = |column: &Column| ReadingRow::COLUMNS.contains(column);
    let all = BookFile::ALL.into_iter().flat_map(columns_of);
    let in_sheet = all.filter(|column| column.in_sheet.is_some()).map(|column| Column {
        required: column.required && of_reading(column) && *column != ReadingRow::place,
        ..*column
    });
    let mut columns: Vec<Column> = in_sheet.collect();
    columns.sort_by_key(|column| column.in_sheet);
    columns
});

/// The columns of a sheet with a column of readings for each state.
static OF_STATES: LazyLock<Vec<Column>> = LazyLock::new(|| {
    let of_any = [ReadingRow::state, ReadingRow::spine, ReadingRow::fore_edge].map(|any| any.name);
    let others = LAYOUT.iter().filter(|column| !of_any.contains(&column.name));
    let of_states = states::OF_STATES.into_iter().flat_map(|of| [of.spine, of.fore_edge]);
    others.copied().chain(of_states).collect()
});

/// The columns of a sheet, with or without columns of single states.
pub(super) fn layout(has_states: bool) -> &'static [Column] {
    if has_states { &OF_STATES } else { &LAYOUT }
}

pub fn sheet_columns() -> &'static [Column] {
    &LAYOUT
}

/// The names of the columns that a new trial needs, and of the others.
pub fn sheet_columns_by_need() -> [Vec<&'static str>; 2] {
    // A missing place gets the next number.
    let is_needed = |column: &&Column| {
        let filled = !column.expected.is_empty() && column.name != ReadingRow::place.name;
        filled || !column.needs.is_empty()
    };
    let (needed, others): (Vec<&Column>, Vec<&Column>) = LAYOUT.iter().partition(is_needed);
    [needed, others].map(|columns| columns.into_iter().map(|column| column.name).collect())
}
