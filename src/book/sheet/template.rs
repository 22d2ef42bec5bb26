//! An empty sheet to fill in, with a line of help that an import skips.

use super::layout::sheet_columns;
use crate::book::csv::columns::{Column, Kind, names};
use crate::book::csv::rows::Row;
use crate::book::csv::table::Table;
use std::sync::LazyLock;

/// Each column, and its text in the line of help.
static HELP: LazyLock<Vec<(&str, String)>> =
    LazyLock::new(|| sheet_columns().iter().map(|column| (column.name, help(column))).collect());

/// The empty sheet: the columns, and below each what goes into it.
pub fn template_csv() -> String {
    let help = HELP.iter().map(|(_, help)| format!("\"{help}\""));
    format!("{}\n{}\n", names(sheet_columns()), help.collect::<Vec<_>>().join(","))
}

/// The help for a column. It has no decimal point, because that would decide what a comma in
/// another row means.
fn help(column: &Column) -> String {
    // In a sheet a name need not be in a file of the book.
    let about = column.about.split(',').next().filter(|about| !about.contains(".csv"));
    let about = about.unwrap_or_default().replace('`', "");
    let example = || format!("such as {}", column.example);
    match column.kind {
        Kind::Words(words) => words.replace(", ", " / "),
        Kind::YesNo => "yes or no".to_owned(),
        Kind::Decimal => format!("in {} or with its unit", column.range.unit),
        Kind::Note if about.is_empty() => "any text".to_owned(),
        _ if about.is_empty() => example(),
        _ if about.contains(column.example) => about,
        _ => format!("{about}; {}", example()),
    }
}

/// Whether a row is the line of help, in all columns that the sheet has.
pub(super) fn is_help(table: &Table<'_>, row: &Row<'_>) -> bool {
    let is = |(index, name): (usize, &String)| {
        let known = HELP.iter().find(|(column, _)| column == name);
        row.get(index).unwrap_or_default() == known.map_or("", |(_, help)| help)
    };
    table.header.iter().enumerate().all(is)
}
