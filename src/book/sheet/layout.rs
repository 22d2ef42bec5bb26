//! The columns that a sheet may have, and what is said of how to read it.

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

/// How to read a sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SheetOptions {
    /// The order of day and month in its dates, when the binder says it.
    pub date_order: Option<DateOrder>,
    /// The unit in which messages give lengths.
    pub unit: LengthUnit,
    /// What the book knows of the binder's own headings.
    pub kept: Vec<OwnHeading>,
    /// What the binder says of them now.
    pub said: Vec<OwnHeading>,
    /// Whether it comes from a workbook, whose columns have letters.
    pub is_workbook: bool,
}

/// The columns, in the order that a binder is shown. Only those of readings must be there, and each
/// of these but the place: what is said once need not be repeated.
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

/// The columns of a sheet whose readings have a column for each state.
static OF_STATES: LazyLock<Vec<Column>> = LazyLock::new(|| {
    let of_any = [ReadingRow::state, ReadingRow::spine, ReadingRow::fore_edge].map(|any| any.name);
    let others = LAYOUT.iter().filter(|column| !of_any.contains(&column.name));
    let of_states = states::OF_STATES.into_iter().flat_map(|of| [of.spine, of.fore_edge]);
    others.copied().chain(of_states).collect()
});

/// The columns of a sheet, of which some may be of one state.
pub(super) fn layout(has_states: bool) -> &'static [Column] {
    if has_states { &OF_STATES } else { &LAYOUT }
}

/// The columns of the flat sheet.
pub fn sheet_columns() -> &'static [Column] {
    &LAYOUT
}

/// The names of those without which nothing new can be made of a sheet, and of the others.
pub fn sheet_columns_by_need() -> [Vec<&'static str>; 2] {
    // A place that is left out gets the next number.
    let is_needed = |column: &&Column| {
        let filled = !column.expected.is_empty() && column.name != ReadingRow::place.name;
        filled || !column.needs.is_empty()
    };
    let (needed, others): (Vec<&Column>, Vec<&Column>) = LAYOUT.iter().partition(is_needed);
    [needed, others].map(|columns| columns.into_iter().map(|column| column.name).collect())
}
