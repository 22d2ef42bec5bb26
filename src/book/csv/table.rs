//! A CSV text as people make it, read row by row into text fields.
//!
//! A table stores the text and the result of one pass over it. Reading the rows is another pass. So
//! a table takes no memory of its own, whatever the text is.

use super::part::Part;
use super::rows::Rows;
use super::scan::{LineEnd, MOST_COLUMNS, Scan, scan_parts};
use super::text::{Limits, OF_SHEETS, decode_table};
use crate::book::check::faults::Faults;
use crate::book::error::BookError;
use crate::book::location::Location;
use crate::units::LengthUnit;

/// The most oversized cells listed, and the most runs of blank rows listed singly.
const MOST_LISTED: usize = 100;

/// How a file is written, so that added rows look like the others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Style {
    /// The field separator: `,`, `;` or a tab.
    pub(in crate::book) delimiter: u8,
    pub(in crate::book) line_end: LineEnd,
    /// Whether the last row has its line end.
    pub(in crate::book) ended: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) struct BlankRun {
    /// The number of the first.
    pub(in crate::book) row: usize,
    pub(in crate::book) count: usize,
}

/// The header and rows of a file, all as text.
#[derive(Clone, Debug)]
pub(in crate::book) struct Table<'a> {
    /// The name of the file, for messages.
    pub(in crate::book) file: &'a str,
    pub(in crate::book) header_row: usize,
    /// The names in the header as written, trimmed.
    pub(in crate::book) header: Vec<String>,
    /// The indexes of columns that the binder leaves out.
    pub(in crate::book) left_out: Vec<usize>,
    /// Columns whose lengths are not in millimetres.
    pub(in crate::book) units: Vec<(usize, LengthUnit)>,
    /// Whether its numbers come from the cells of a workbook. Then a decimal point is not a sign of
    /// how the binder writes numbers: only a number typed as text has a mark of its own.
    pub(in crate::book) of_workbook: bool,
    /// Runs of blank rows between other rows. If there are very many, the last run counts the rest.
    pub(in crate::book) blank: Vec<BlankRun>,
    pub(in crate::book) style: Style,
    text: &'a str,
    last_row: usize,
    is_empty: bool,
    quoted: bool,
    parts: Vec<Part<'a>>,
    /// Whether every line is a row with something in it.
    is_plain: bool,
}

/// Reads `bytes` of the file `name`, with at most as many rows as `limits` allows.
pub(in crate::book) fn read_table<'a>(
    bytes: &'a [u8],
    name: &'a str,
    limits: Limits,
) -> Result<Table<'a>, BookError> {
    let text = decode_table(bytes, name)?;
    table_of(text, delimiter_of(text), name, limits)
}

/// As [`read_table`], for a sheet from outside: a first line such as `sep=;` names its separator.
/// Spreadsheets do not show that line, so it is not counted as a row. A title above the table, alone
/// in its row, is not the header, as in a workbook.
pub(in crate::book) fn read_sheet_table<'a>(
    bytes: &'a [u8],
    name: &'a str,
) -> Result<Table<'a>, BookError> {
    let text = decode_table(bytes, name)?;
    let mut table = match separator_line(text) {
        Some((delimiter, below)) => table_of(below, delimiter, name, OF_SHEETS),
        None => table_of(text, delimiter_of(below_titles(text)), name, OF_SHEETS),
    }?;
    if is_title(table.header.iter().map(String::as_str)) {
        table.header_row = 0;
        table.survey(true)?;
    }
    Ok(table)
}

/// Whether a row above a table is a title: nothing else stands in it.
fn is_title<'c>(cells: impl Iterator<Item = &'c str>) -> bool {
    cells.filter(|cell| !cell.is_empty()).count() < 2
}

/// The text from the first line on that is not a title; otherwise the whole.
fn below_titles(text: &str) -> &str {
    let mut rest = text;
    while let Some(line) = rest.split_inclusive(['\n', '\r']).next() {
        let cells = line.split(char::from(delimiter_of(line)));
        if !is_title(cells.map(|cell| cell.trim_matches([' ', '"', '\n', '\r']))) {
            return rest;
        }
        rest = &rest[line.len()..];
    }
    text
}

/// The separator that the first line of a text names, and the text below that line.
fn separator_line(text: &str) -> Option<(u8, &str)> {
    let end = text.find(['\n', '\r'])?;
    let (line, below) = text.split_at(end);
    let line = line.trim_matches([' ', '"']);
    let name = line.get(..4).filter(|name| name.eq_ignore_ascii_case("sep="))?;
    let delimiter = match &line[name.len()..] {
        "," => b',',
        ";" => b';',
        "\t" => b'\t',
        _ => return None,
    };
    Some((delimiter, below.strip_prefix("\r\n").unwrap_or(&below[1..])))
}

fn table_of<'a>(
    text: &'a str,
    delimiter: u8,
    name: &'a str,
    limits: Limits,
) -> Result<Table<'a>, BookError> {
    let (scan, parts) = scan_parts(text, delimiter);
    check_scan(name, &scan, limits.rows)?;
    let line_end = scan.line_end.unwrap_or_default();
    let mut table = Table {
        file: name,
        header_row: 0,
        header: Vec::new(),
        left_out: Vec::new(),
        units: Vec::new(),
        of_workbook: false,
        blank: Vec::new(),
        style: Style { delimiter, line_end, ended: scan.ended },
        text,
        last_row: scan.rows,
        is_empty: true,
        quoted: scan.quoted,
        parts,
        // Only the reader for any text removes a second byte-order mark.
        is_plain: !scan.quoted && !scan.odd && !text.starts_with('\u{feff}'),
    };
    if scan.odd || scan.rows == 0 {
        table.survey(false)?;
    } else {
        table.first_row();
    }
    Ok(table)
}

/// Refuses a text with too many rows or columns, or with a quote that is never closed.
fn check_scan(name: &str, scan: &Scan, most_rows: usize) -> Result<(), BookError> {
    if scan.rows > most_rows {
        let message = format!("more than {most_rows} rows; split the file");
        return Err(BookError::fault(Location::file(name), message));
    }
    if let Some(row) = scan.open_quote {
        let message = "a quotation mark is opened here and never closed; close it, or remove it";
        return Err(BookError::fault(Location::row(name, row), message));
    }
    let Some((row, columns)) = scan.wide else { return Ok(()) };
    let message = format!("too many columns: {columns}; the limit is {MOST_COLUMNS}");
    Err(BookError::fault(Location::row(name, row), message))
}

/// The field separator, from the header alone: the one of `,`, `;` and tab that occurs most often
/// outside quotes.
pub(in crate::book) fn delimiter_of(text: &str) -> u8 {
    let header = text.split(['\n', '\r']).find(|line| !line.trim().is_empty()).unwrap_or_default();
    let mut quoted = false;
    let mut counts = [(b',', 0), (b';', 0), (b'\t', 0)];
    for byte in header.bytes() {
        quoted ^= byte == b'"';
        for (delimiter, count) in &mut counts {
            *count += usize::from(!quoted && byte == *delimiter);
        }
    }
    // `max_by_key` returns the last of equals, so the comma, which is the usual one, wins a tie.
    counts.into_iter().rev().max_by_key(|(_, count)| *count).map_or(b',', |(byte, _)| byte)
}

impl<'a> Table<'a> {
    /// The rows below the header that are not empty.
    pub(in crate::book) fn rows(&self) -> Rows<'a> {
        self.rows_of(self.whole())
    }

    /// The same rows, in one part only.
    pub(in crate::book) fn rows_of(&self, part: Part<'a>) -> Rows<'a> {
        let mut rows = self.all_rows(part);
        while rows.row().number < self.header_row && rows.advance() {}
        rows
    }

    /// Whether there are no rows below the header.
    pub(in crate::book) fn is_empty(&self) -> bool {
        self.is_empty
    }

    /// Whether a cell may contain this mark.
    pub(in crate::book) fn may_hold(&self, mark: u8) -> bool {
        let parts = mark == self.style.delimiter && !self.quoted;
        !parts && self.text.as_bytes().contains(&mark)
    }

    /// Takes the header from the first row. No row is blank here.
    fn first_row(&mut self) {
        let mut rows = self.all_rows(self.whole());
        rows.advance();
        self.header_row = rows.row().number;
        self.header = rows.row().iter().map(str::to_owned).collect();
        self.is_empty = self.last_row == self.header_row;
    }

    pub(in crate::book) fn whole(&self) -> Part<'a> {
        Part::whole(self.text)
    }

    /// The table in parts that can be read in parallel, in order.
    pub(in crate::book) fn parts(&self) -> Vec<Part<'a>> {
        if self.is_plain { self.parts.clone() } else { vec![self.whole()] }
    }

    /// A part, extended by everything below it.
    pub(in crate::book) fn from(&self, part: Part<'a>) -> Part<'a> {
        let below = self.text.get(part.from..).unwrap_or_default();
        Part { text: below, ..part }
    }

    /// The rows of a part, including the header and rows of empty cells.
    fn all_rows(&self, part: Part<'a>) -> Rows<'a> {
        Rows::of(part, &self.style, self.last_row, self.is_plain)
    }

    /// Finds the header and the blank rows in one pass. Refuses oversized cells, so that no message
    /// grows without bound. If there may be titles, one is the header only if nothing but
    /// titles follows.
    fn survey(&mut self, may_have_titles: bool) -> Result<(), BookError> {
        let (mut faults, mut long_cells, mut last) = (Faults::default(), 0, 0);
        let mut rows = self.all_rows(self.whole());
        while rows.advance() {
            let row = rows.row();
            if row.is_empty() {
                continue;
            }
            let is_below_titles = may_have_titles
                && is_title(self.header.iter().map(String::as_str))
                && !is_title(row.iter());
            if self.header_row == 0 || is_below_titles {
                self.header_row = row.number;
                self.header = row.iter().map(str::to_owned).collect();
                (self.is_empty, self.blank) = (true, Vec::new());
            } else {
                self.is_empty = false;
                note_blank(&mut self.blank, last + 1, row.number);
            }
            last = row.number;
            if let Some(message) = row.too_long().filter(|_| long_cells < MOST_LISTED) {
                long_cells += 1;
                faults.add(Location::row(self.file, row.number), message);
            }
        }
        if self.header_row == 0 {
            let message = "the file is empty; its first row names the columns";
            faults.add(Location::file(self.file), message);
        }
        faults.refuse()
    }
}

/// Notes the blank rows from `first` up to the one before `next`, if any.
fn note_blank(blank: &mut Vec<BlankRun>, first: usize, next: usize) {
    let count = next - first;
    if count > 0 && blank.len() < MOST_LISTED {
        blank.push(BlankRun { row: first, count });
    } else if let Some(rest) = blank.last_mut() {
        rest.count += count;
    }
}

#[cfg(test)]
mod tests;
