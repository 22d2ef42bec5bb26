//! Which decimal mark a file uses.

use super::columns::ColumnMap;
use super::table::Table;
use super::{Fault, Location};

/// The most rows listed in one message.
const ROWS_LISTED: usize = 12;

/// The rows with a decimal point and those with a decimal comma in their number columns. A cell
/// with both is at fault by itself.
fn marked(table: &Table, map: &ColumnMap) -> (Vec<usize>, Vec<usize>) {
    let numbers: Vec<usize> =
        map.present().filter(|(column, _)| column.number).map(|(_, index)| index).collect();
    let rows = |mark: char, other: char| {
        let has = |field: &String| field.contains(mark) && !field.contains(other);
        let marked =
            |fields: &Vec<String>| numbers.iter().filter_map(|&index| fields.get(index)).any(has);
        table.rows.iter().filter(|row| marked(&row.fields)).map(|row| row.number).collect()
    };
    (rows('.', ','), rows(',', '.'))
}

/// Refuses a file that mixes both marks: one of them may part thousands.
pub(super) fn check(table: &Table, map: &ColumnMap, faults: &mut Vec<Fault>) {
    let (points, commas) = marked(table, map);
    if let (Some(&point), Some(&comma)) = (points.first(), commas.first()) {
        let message = format!(
            "decimal points in {} and decimal commas in {}; use one of them throughout",
            listed(&points),
            listed(&commas)
        );
        faults.push(Fault::new(Location::row(&table.file, point.min(comma)), message));
    }
}

/// Whether numbers added to the file are to have a decimal comma: as its numbers have, or else
/// as is usual where `;` parts the fields.
pub(super) fn comma_style(table: &Table, map: &ColumnMap) -> bool {
    match marked(table, map) {
        (points, _) if !points.is_empty() => false,
        (_, commas) if !commas.is_empty() => true,
        _ => table.style.delimiter == b';',
    }
}

fn listed(rows: &[usize]) -> String {
    let shown: Vec<String> = rows.iter().take(ROWS_LISTED).map(usize::to_string).collect();
    let more = rows.len().saturating_sub(ROWS_LISTED);
    let noun = if rows.len() == 1 { "row" } else { "rows" };
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{noun} {}{rest}", shown.join(", "))
}
