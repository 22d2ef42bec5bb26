//! Converts a sheet of a workbook to the equivalent CSV text, cell by cell and row by row.

use super::workbook_error::WorkbookError;
use crate::book::csv::scan::MOST_COLUMNS;
use crate::book::csv::text::OF_SHEETS;
use std::collections::BTreeMap;

/// A sheet as text, or why it has no text form, and its name.
pub(super) type Converted = (Result<String, WorkbookError>, String);

/// A sheet during conversion. Its rows come in order and are written at once, so it takes no more
/// memory than its text.
#[derive(Debug, Default)]
pub(super) struct Grid {
    text: String,
    /// The number of rows in the text.
    rows: usize,
    /// The cells of the current row.
    cells: Vec<String>,
    /// The header's end in the text and its number of columns; `width` is the maximum over all
    /// rows.
    header: Option<(usize, usize)>,
    width: usize,
    /// Cells merged with those below them, by column.
    merged: BTreeMap<usize, Merged>,
}

#[derive(Debug)]
struct Merged {
    text: String,
    last_row: usize,
}

impl Grid {
    /// Adds the next cell that is not empty. Its row and column count from 0.
    pub(super) fn put(
        &mut self,
        row: usize,
        column: usize,
        text: &str,
    ) -> Result<(), WorkbookError> {
        if row < self.rows {
            return Err(WorkbookError::OutOfOrder);
        }
        self.go_to(row)?;
        if column >= MOST_COLUMNS {
            return Err(WorkbookError::Wide { row: row + 1 });
        }
        if self.cells.len() <= column {
            self.cells.resize(column + 1, String::new());
        }
        text.trim().clone_into(&mut self.cells[column]);
        Ok(())
    }

    /// Says that the cell just put into `column` is merged with those below it, down to `last_row`.
    /// They show its text too, so they get it. A title or a heading says nothing about rows below.
    pub(super) fn merge_down(&mut self, column: usize, last_row: usize) {
        let text = self.cells.get(column).filter(|_| last_row > self.rows && self.header.is_some());
        if let Some(text) = text.cloned() {
            self.merged.insert(column, Merged { text, last_row });
        }
    }

    /// Fills the merged cells of the current row, unless the row is blank otherwise.
    fn fill_merged(&mut self) {
        if self.cells.iter().all(String::is_empty) {
            return;
        }
        for (&column, merged) in &self.merged {
            if self.cells.len() <= column {
                self.cells.resize(column + 1, String::new());
            }
            if self.cells[column].is_empty() {
                self.cells[column].clone_from(&merged.text);
            }
        }
    }

    /// Ends the rows above `row`.
    pub(super) fn go_to(&mut self, row: usize) -> Result<(), WorkbookError> {
        if row >= OF_SHEETS.rows {
            return Err(WorkbookError::LargeSheet);
        }
        while self.rows < row {
            self.end_row();
        }
        let is_large = self.text.len() as u64 > OF_SHEETS.bytes;
        if is_large { Err(WorkbookError::LargeSheet) } else { Ok(()) }
    }

    fn end_row(&mut self) {
        if !self.merged.is_empty() {
            self.merged.retain(|_, merged| merged.last_row >= self.rows);
            self.fill_merged();
        }
        let cells = std::mem::take(&mut self.cells);
        let filled = cells.iter().filter(|cell| !cell.is_empty()).count();
        // A title alone in its row, above the table, is not the header.
        if filled > usize::from(self.header.is_none()) {
            let columns = self.header.map_or(cells.len(), |(_, columns)| columns.max(cells.len()));
            for column in 0..columns {
                let cell = cells.get(column).map_or("", String::as_str);
                self.text += if column > 0 { ",\"" } else { "\"" };
                self.text += &cell.replace('"', "\"\"");
                self.text.push('"');
            }
            self.width = self.width.max(columns);
            self.header = self.header.or(Some((self.text.len(), columns)));
        }
        self.text.push('\n');
        self.rows += 1;
    }

    /// The text. A cell beside the table gets a column without a name.
    pub(super) fn finish(mut self) -> String {
        self.end_row();
        if let Some((end, columns)) = self.header {
            self.text.insert_str(end, &",".repeat(self.width - columns));
        }
        self.text
    }
}

/// A number as a spreadsheet shows it, with fifteen digits: 0.1 + 0.2 is 0.3.
pub(super) fn number(value: f64) -> String {
    let rounded: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    rounded.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_stand_where_they_stood_in_the_workbook() {
        let mut grid = Grid::default();
        for (row, column, text) in [
            (1, 1, "Trials of a winter"),
            (3, 1, "trial"),
            (3, 2, "say \"on\""),
            (5, 1, "T1"),
            (6, 3, "a,b\nc"),
        ] {
            grid.put(row, column, text).unwrap();
        }
        let text = "\n\n\n\"\",\"trial\",\"say \"\"on\"\"\",\n\n\"\",\"T1\",\"\"\n\"\",\"\",\"\",\"a,b\nc\"\n";
        assert_eq!(grid.finish(), text);
    }

    #[test]
    fn merged_cells_are_filled_down_in_rows_that_are_not_blank() {
        let mut grid = Grid::default();
        for (row, column, text, last_row) in [
            (0, 0, "Trials of a winter", 1),
            (1, 1, "alone beside the title", 1),
            (2, 0, "trial", 3),
            (2, 1, "spine", 2),
            (3, 1, "no trial", 3),
            (4, 0, "T1", 7),
            (4, 1, "13", 4),
            (5, 1, "14", 5),
            (7, 0, "own", 7),
            (8, 1, "15", 8),
        ] {
            grid.put(row, column, text).unwrap();
            grid.merge_down(column, last_row);
        }
        let text = "\n\n\"trial\",\"spine\"\n\"\",\"no trial\"\n\"T1\",\"13\"\n\"T1\",\"14\"\n\n\"own\",\"\"\n\"\",\"15\"\n";
        assert_eq!(grid.finish(), text);
    }

    #[test]
    fn a_number_has_no_noise_and_no_exponent() {
        for (value, text) in [
            (0.1 + 0.2, "0.3"),
            (11.05, "11.05"),
            (12.0, "12"),
            (1e-7, "0.0000001"),
            (-0.5, "-0.5"),
        ] {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn what_is_too_large_or_out_of_order_is_refused() {
        let put = |row, column| {
            let mut grid = Grid { rows: 3, ..Grid::default() };
            grid.put(row, column, "x").unwrap_err().to_string()
        };
        assert!(put(2, 0).contains("not in order"));
        assert!(put(9, 200).contains("row 10: cells past column 200"));
        assert!(put(2_000_000, 0).contains("more than 1048576 rows"));
    }
}
