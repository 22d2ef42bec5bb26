use super::columns::{ColumnMap, Kind};
use super::table::Table;
use crate::book::check::faults::Faults;
use crate::book::location::Location;

const ROWS_LISTED: usize = 12;

/// The rows that have a decimal mark: their count, and the numbers of the first ones.
#[derive(Default)]
struct Marked {
    first: Vec<usize>,
    count: usize,
}

impl Marked {
    fn note(&mut self, row: usize) {
        self.count += 1;
        if self.first.len() < ROWS_LISTED {
            self.first.push(row);
        }
    }
}

/// The rows with a decimal point, and the rows with a decimal comma, in the number columns. A cell
/// with both marks is not counted: it is a fault of its own.
fn marked(table: &Table<'_>, map: &ColumnMap) -> (Marked, Marked) {
    let numbers = map.present().filter(|(column, _)| column.kind == Kind::Decimal);
    let numbers: Vec<usize> = numbers.map(|(_, index)| index).collect();
    let (mut points, mut commas) = (Marked::default(), Marked::default());
    if numbers.is_empty() || table.is_empty() {
        return (points, commas);
    }
    let mut rows = table.rows();
    while let Some(row) = rows.next_row() {
        let cells = || numbers.iter().filter_map(|&index| row.get(index));
        let has = |mark, other| cells().any(|cell| cell.contains(mark) && !cell.contains(other));
        if has('.', ',') {
            points.note(row.number);
        }
        if has(',', '.') {
            commas.note(row.number);
        }
    }
    (points, commas)
}

/// Refuses a file that mixes both marks, because one of them may separate thousands.
pub(in crate::book) fn check(table: &Table<'_>, map: &ColumnMap, faults: &mut Faults) {
    if table.of_workbook || !table.may_hold(b',') {
        return;
    }
    let (points, commas) = marked(table, map);
    if let (Some(&point), Some(&comma)) = (points.first.first(), commas.first.first()) {
        let (row, message) = if is_rare(&commas, &points) {
            (comma, odd("comma", &commas, "point", &points))
        } else if is_rare(&points, &commas) {
            (point, odd("point", &points, "comma", &commas))
        } else {
            let message = format!(
                "decimal points in {} and decimal commas in {}; use one of them throughout",
                listed(&points),
                listed(&commas)
            );
            (point.min(comma), message)
        };
        faults.add(Location::row(table.file, row), message);
    }
}

/// Whether one mark is so much rarer that its rows are the ones to fix.
fn is_rare(mark: &Marked, other: &Marked) -> bool {
    const TIMES: usize = 4;
    mark.count * TIMES <= other.count
}

/// The message: the rows with the rare mark, and the count of those with the other.
fn odd(mark: &str, rare: &Marked, other: &str, usual: &Marked) -> String {
    let (rows, count) = (listed(rare), usual.count);
    format!(
        "a decimal {mark} in {rows}, but a decimal {other} in {count} other rows; write a decimal {other} there too"
    )
}

/// Whether to write a decimal comma into numbers added to the file. It follows the numbers in the
/// file. Without any, a comma is usual if `;` separates the fields.
pub(in crate::book) fn comma_style(table: &Table<'_>, map: &ColumnMap) -> bool {
    if table.style.delimiter == b',' && !table.may_hold(b',') {
        return false;
    }
    match marked(table, map) {
        (points, _) if points.count > 0 => false,
        (_, commas) if commas.count > 0 => true,
        _ => table.style.delimiter == b';',
    }
}

fn listed(rows: &Marked) -> String {
    let shown: Vec<String> = rows.first.iter().map(usize::to_string).collect();
    let more = rows.count - rows.first.len();
    let noun = if rows.count == 1 { "row" } else { "rows" };
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{noun} {}{rest}", shown.join(", "))
}
