//! The sheets of an `.ods` workbook (OASIS OpenDocument 1.3, part 3, 9.1: tables).
//!
//! It is read event by event. The library that reads `.xlsx` would create each repeated cell of the
//! file at once, so a small file could fill the memory.

use super::grid::{Converted, Grid, number};
use super::workbook_error::WorkbookError;
use crate::book::csv::cells::WITHOUT_RESULT;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::io::BufRead;

/// Every sheet in `content`, which is `content.xml`, in order.
pub(super) fn sheets(content: impl BufRead) -> Result<Vec<Converted>, WorkbookError> {
    let mut reader = Reader::from_reader(content);
    reader.config_mut().expand_empty_elements = true;
    let (mut sheets, mut buffer) = (Vec::new(), Vec::new());
    loop {
        match reader.read_event_into(&mut buffer).map_err(|_| WorkbookError::Damaged)? {
            Event::Eof => return Ok(sheets),
            Event::Start(start) if start.name().as_ref() == "table:table" => {
                let name = attribute(&start, "table:name").unwrap_or_default();
                let mut table = Table::default();
                table.read(&mut reader)?;
                sheets.push((table.fault.map_or_else(|| Ok(table.grid.finish()), Err), name));
            }
            _ => {}
        }
        buffer.clear();
    }
}

fn attribute(start: &BytesStart<'_>, name: &str) -> Option<String> {
    let found = start.try_get_attribute(name).ok()??;
    Some(found.normalized_value(quick_xml::XmlVersion::Implicit1_0).ok()?.into_owned())
}

fn times(start: &BytesStart<'_>, name: &str) -> usize {
    attribute(start, name).and_then(|text| text.parse().ok()).unwrap_or(1)
}

/// A cell of the current row that is not empty.
#[derive(Debug)]
struct Cell {
    column: usize,
    text: String,
    /// The number of rows over which it is merged.
    rows: usize,
}

/// The table that is being read.
#[derive(Debug, Default)]
struct Table {
    grid: Grid,
    /// Why the table has no text form. It is still read to its end.
    fault: Option<WorkbookError>,
    row: usize,
    /// How often the current row is repeated, and its cells that are not empty.
    rows: usize,
    cells: Vec<Cell>,
    column: usize,
    /// How often the current cell is repeated, its value, and its text as shown.
    columns: usize,
    value: Option<String>,
    text: String,
    /// The number of rows over which the current cell is merged.
    merged_rows: usize,
    /// Whether the current cell has a formula whose result may be missing.
    may_lack_result: bool,
    /// The nesting depth of comments on a cell. Their words do not belong to the cell.
    comment: usize,
}

impl Table {
    fn read(&mut self, reader: &mut Reader<impl BufRead>) -> Result<(), WorkbookError> {
        let (mut buffer, mut depth) = (Vec::new(), 1);
        while depth > 0 {
            match reader.read_event_into(&mut buffer).map_err(|_| WorkbookError::Damaged)? {
                Event::Eof => return Err(WorkbookError::Damaged),
                Event::Start(start) if start.name().as_ref() == "table:table" => depth += 1,
                Event::End(end) if end.name().as_ref() == "table:table" => depth -= 1,
                Event::Start(start) => self.start(&start),
                Event::End(end) => self.end(end.name().as_ref()),
                Event::Text(text) if self.comment == 0 => {
                    self.text += &text.xml10_content();
                }
                Event::GeneralRef(entity) if self.comment == 0 => {
                    let named = quick_xml::escape::resolve_predefined_entity(&entity);
                    let character = entity.resolve_char_ref().ok().flatten();
                    self.text.extend(character);
                    self.text += named.unwrap_or_default();
                }
                _ => {}
            }
            buffer.clear();
        }
        Ok(())
    }

    fn start(&mut self, start: &BytesStart<'_>) {
        match start.name().as_ref() {
            "table:table-row" => {
                self.rows = times(start, "table:number-rows-repeated");
                (self.column, self.cells) = (0, Vec::new());
            }
            "table:table-cell" | "table:covered-table-cell" => {
                self.columns = times(start, "table:number-columns-repeated");
                self.merged_rows = times(start, "table:number-rows-spanned");
                (self.value, self.text) = (value(start), String::new());
                self.may_lack_result = may_lack_result(start);
            }
            "office:annotation" => self.comment += 1,
            // A second paragraph is a second line.
            "text:p" | "text:line-break" if self.comment == 0 && !self.text.trim().is_empty() => {
                self.text.push('\n');
            }
            "text:s" | "text:tab" if self.comment == 0 => self.text.push(' '),
            _ => {}
        }
    }

    fn end(&mut self, name: &str) {
        match name {
            "table:table-cell" | "table:covered-table-cell" => self.end_cell(),
            "table:table-row" => {
                let ended = self.end_row();
                self.fault = self.fault.take().or(ended.err());
            }
            "office:annotation" => self.comment = self.comment.saturating_sub(1),
            _ => {}
        }
    }

    fn end_cell(&mut self) {
        let text = std::mem::take(&mut self.text);
        // The value of a failed formula is an empty text; the cell shows its error.
        let value = self.value.take().filter(|value| !value.trim().is_empty());
        let mut shown = value.unwrap_or(text);
        if self.may_lack_result && shown.trim().is_empty() {
            WITHOUT_RESULT.clone_into(&mut shown);
        }
        let next = self.column.saturating_add(self.columns);
        if !shown.trim().is_empty() {
            // One cell beyond the limit is enough for the grid to refuse the sheet.
            let most = next.min(self.column.max(crate::book::csv::scan::MOST_COLUMNS) + 1);
            let (columns, rows) = (self.column..most, self.merged_rows);
            let cell = |column| Cell { column, text: shown.clone(), rows };
            self.cells.extend(columns.map(cell));
        }
        self.column = next;
    }

    fn end_row(&mut self) -> Result<(), WorkbookError> {
        let first = self.row;
        self.row = first.saturating_add(self.rows);
        if self.cells.is_empty() || self.fault.is_some() {
            return Ok(());
        }
        for row in first..self.row {
            for cell in &self.cells {
                self.grid.put(row, cell.column, &cell.text)?;
                self.grid.merge_down(cell.column, row.saturating_add(cell.rows.saturating_sub(1)));
            }
        }
        Ok(())
    }
}

/// The value of a cell if it says more than the text shown: all digits of a number, or the day of a
/// date in a fixed order.
fn value(start: &BytesStart<'_>) -> Option<String> {
    let of = |name| attribute(start, name);
    if is_error(start) {
        return None;
    }
    match of("office:value-type")?.as_str() {
        "float" | "percentage" | "currency" => of("office:value")?.parse().ok().map(number),
        "date" => of("office:date-value").map(|day| day.chars().take(10).collect()),
        "boolean" => {
            Some(if of("office:boolean-value")? == "true" { "yes" } else { "no" }.to_owned())
        }
        "string" => of("office:string-value"),
        _ => None,
    }
}

/// Whether the formula of a cell failed. (An extension of the format, which spreadsheets write.)
fn is_error(start: &BytesStart<'_>) -> bool {
    attribute(start, "calcext:value-type").is_some_and(|kind| kind == "error")
}

/// Whether a cell with nothing to show has a formula without a result. The result of a formula may
/// also be an empty text.
fn may_lack_result(start: &BytesStart<'_>) -> bool {
    let is_text = || attribute(start, "office:value-type").is_some_and(|kind| kind == "string");
    attribute(start, "table:formula").is_some() && (is_error(start) || !is_text())
}
