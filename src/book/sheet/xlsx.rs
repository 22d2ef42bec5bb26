//! The sheets of an `.xlsx` workbook (ECMA-376, Office Open XML).

use super::grid::{Converted, Grid, number};
use super::workbook_error::WorkbookError;
use calamine::{DataRef, Reader, SheetType, SheetVisible, Xlsx};
use std::io::Cursor;

/// Every visible worksheet, in order.
///
/// # Errors
/// [`WorkbookError::Damaged`].
pub(super) fn sheets(bytes: &[u8]) -> Result<Vec<Converted>, WorkbookError> {
    let mut workbook = Xlsx::new(Cursor::new(bytes)).map_err(|_| WorkbookError::Damaged)?;
    let is_shown = |sheet: &&calamine::Sheet| {
        sheet.typ == SheetType::WorkSheet && sheet.visible == SheetVisible::Visible
    };
    let names = workbook.sheets_metadata().iter().filter(is_shown).map(|sheet| sheet.name.clone());
    let names: Vec<String> = names.collect();
    Ok(names.into_iter().map(|name| (text(&mut workbook, &name), name)).collect())
}

fn text(workbook: &mut Xlsx<Cursor<&[u8]>>, name: &str) -> Result<String, WorkbookError> {
    let damaged = |_| WorkbookError::Damaged;
    let (mut cells, mut grid) =
        (workbook.worksheet_cells_reader(name).map_err(damaged)?, Grid::default());
    while let Some(cell) = cells.next_cell().map_err(damaged)? {
        let (row, column) = cell.get_position();
        let shown = shown(cell.get_value());
        if !shown.is_empty() {
            grid.put(row as usize, column as usize, &shown)?;
        }
    }
    Ok(grid.finish())
}

/// A cell as a person sees it. For a formula this is its last result.
fn shown(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Empty => String::new(),
        DataRef::Int(value) => value.to_string(),
        DataRef::Float(value) => number(*value),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            text.clone()
        }
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        DataRef::Error(error) => error.to_string(),
        DataRef::DateTime(when) if when.is_datetime() && when.as_f64() >= 1.0 => {
            let (year, month, day, ..) = when.to_ymd_hms_milli();
            format!("{year:04}-{month:02}-{day:02}")
        }
        DataRef::DateTime(when) => number(when.as_f64()),
    }
}
