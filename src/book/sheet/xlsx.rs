//! The sheets of an `.xlsx` workbook (ECMA-376, Office Open XML).

use super::grid::{Converted, Grid, number};
use super::workbook_error::WorkbookError;
use crate::book::csv::cells::WITHOUT_RESULT;
use calamine::{DataRef, Reader, SheetType, SheetVisible, Xlsx};
use std::collections::HashMap;
use std::io::Cursor;

/// Every visible worksheet, in order. `may_merge` says whether a sheet may have merged cells; to
/// find them takes a second pass.
pub(super) fn sheets(bytes: &[u8], may_merge: bool) -> Result<Vec<Converted>, WorkbookError> {
    let mut workbook = Xlsx::new(Cursor::new(bytes)).map_err(|_| WorkbookError::Damaged)?;
    let is_shown = |sheet: &&calamine::Sheet| {
        sheet.typ == SheetType::WorkSheet && sheet.visible == SheetVisible::Visible
    };
    let names = workbook.sheets_metadata().iter().filter(is_shown).map(|sheet| sheet.name.clone());
    let names: Vec<String> = names.collect();
    Ok(names.into_iter().map(|name| (text(&mut workbook, &name, may_merge), name)).collect())
}

type Workbook<'b> = Xlsx<Cursor<&'b [u8]>>;

fn text(workbook: &mut Workbook<'_>, name: &str, may_merge: bool) -> Result<String, WorkbookError> {
    let damaged = |_| WorkbookError::Damaged;
    let merged = if may_merge { merged(workbook, name)? } else { HashMap::new() };
    let (mut cells, mut grid) =
        (workbook.worksheet_cells_reader(name).map_err(damaged)?, Grid::default());
    while let Some(cell) = cells.next_cell_with_formula_metadata().map_err(damaged)? {
        let (row, column) = cell.pos;
        let shown = match (&cell.value, &cell.formula) {
            // An empty text is a result too, and is not this value.
            (DataRef::Empty, Some(_)) => WITHOUT_RESULT.to_owned(),
            (value, _) => shown(value),
        };
        if shown.is_empty() {
            continue;
        }
        grid.put(row as usize, column as usize, &shown)?;
        if let Some(last_row) = merged.get(&cell.pos) {
            grid.merge_down(column as usize, *last_row as usize);
        }
    }
    Ok(grid.finish())
}

/// The last row of each merged region that has several rows, by the row and column of its first
/// cell.
fn merged(
    workbook: &mut Workbook<'_>,
    name: &str,
) -> Result<HashMap<(u32, u32), u32>, WorkbookError> {
    let regions = workbook.merge_cells_by_sheet_name(name).map_err(|_| WorkbookError::Damaged)?;
    let tall = regions.into_iter().filter(|region| region.end.0 > region.start.0);
    Ok(tall.map(|region| (region.start, region.end.0)).collect())
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
