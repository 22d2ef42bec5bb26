//! A CSV text as people make it, read row by row into text fields.
//!
//! A table keeps the text and what it found by going through it once; whoever wants the rows goes
//! through it again. So a table takes no memory of its own, whatever the text is.

use super::part::Part;
use super::scan::{LONGEST_CELL, LineEnd, MOST_COLUMNS, Scan, blank_rows, scan};
use super::text::{Limits, decode};
use crate::book::check::faults::Faults;
use crate::book::error::{BookError, Fault};
use crate::book::location::Location;
use crate::units::LengthUnit;

/// The most cells too long that are listed, and the most runs of blank rows that are listed singly.
const MOST_LISTED: usize = 100;

/// How a file is written, so that what is added looks like what is there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Style {
    /// What parts the fields: `,`, `;` or a tab.
    pub(in crate::book) delimiter: u8,
    pub(in crate::book) line_end: LineEnd,
    /// Whether the last row has its line end.
    pub(in crate::book) ended: bool,
}

/// A row with something in it.
#[derive(Clone, Debug, Default)]
pub(in crate::book) struct Row {
    /// Its number as a spreadsheet shows it.
    pub(in crate::book) number: usize,
    /// Whether its line end is there.
    pub(in crate::book) ended: bool,
    record: csv::StringRecord,
}

/// Blank rows one below another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) struct BlankRun {
    /// The number of the first.
    pub(in crate::book) row: usize,
    pub(in crate::book) count: usize,
}

/// A file's header and rows, all text.
#[derive(Clone, Debug)]
pub(in crate::book) struct Table<'a> {
    /// The file, for messages.
    pub(in crate::book) file: &'a str,
    /// The header's row number.
    pub(in crate::book) header_row: usize,
    /// The header's names as written, trimmed.
    pub(in crate::book) header: Vec<String>,
    /// Columns that the binder leaves out, by their index.
    pub(in crate::book) left_out: Vec<usize>,
    /// Columns whose lengths are not in millimetres.
    pub(in crate::book) units: Vec<(usize, LengthUnit)>,
    /// Rows without anything in them between the others. Where there are very many runs of them,
    /// the last one counts the rest.
    pub(in crate::book) blank: Vec<BlankRun>,
    /// How the file is written.
    pub(in crate::book) style: Style,
    text: &'a str,
    last_row: usize,
    is_empty: bool,
    quoted: bool,
    /// Whether no row goes on into another line and every line has something in it.
    is_plain: bool,
}

/// The rows of a table, one after another.
pub(in crate::book) struct Rows<'a> {
    reader: csv::Reader<&'a [u8]>,
    text: &'a str,
    unended: Option<usize>,
    row: Row,
}

/// Reads `bytes` of the file `name`, which has at most so many rows as `limits` say.
///
/// # Errors
/// [`BookError::Faults`] for what is not a CSV text with a header.
pub(in crate::book) fn read_table<'a>(
    bytes: &'a [u8],
    name: &'a str,
    limits: Limits,
) -> Result<Table<'a>, BookError> {
    let text = decode(bytes, name)?;
    let delimiter = delimiter_of(text);
    let scan = scan(text, delimiter);
    check_scan(name, &scan, limits.rows)?;
    let line_end = scan.line_end.unwrap_or_default();
    let style = Style { delimiter, line_end, ended: scan.ended };
    let (header_row, header, last_row) = (0, Vec::new(), scan.rows);
    let (blank, left_out, units) = (Vec::new(), Vec::new(), Vec::new());
    let (is_empty, quoted, is_plain) = (true, scan.quoted, !scan.quoted && !scan.odd);
    let mut table = Table {
        file: name,
        header_row,
        header,
        left_out,
        units,
        blank,
        style,
        text,
        last_row,
        is_empty,
        quoted,
        is_plain,
    };
    if scan.odd || scan.rows == 0 {
        table.survey()?;
    } else {
        table.first_row();
    }
    Ok(table)
}

/// Refuses a text with too many rows or columns, or with a quote that swallows the rest of it.
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

/// What parts the fields, from the header alone: whichever of `,`, `;` and tab is there most
/// often outside quotes.
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
    // The last of equals wins, and the comma is the usual one.
    counts.into_iter().rev().max_by_key(|(_, count)| *count).map_or(b',', |(byte, _)| byte)
}

impl<'a> Table<'a> {
    /// The rows below the header that are not all empty.
    pub(in crate::book) fn rows(&self) -> Rows<'a> {
        self.rows_of(self.whole())
    }

    /// Those of them that are in a part.
    pub(in crate::book) fn rows_of(&self, part: Part<'a>) -> Rows<'a> {
        let mut rows = self.all_rows(part);
        while rows.row.number < self.header_row && rows.advance() {}
        rows
    }

    /// Whether it is empty.
    pub(in crate::book) fn is_empty(&self) -> bool {
        self.is_empty
    }

    /// Whether a cell may hold this mark.
    pub(in crate::book) fn may_hold(&self, mark: u8) -> bool {
        let parts = mark == self.style.delimiter && !self.quoted;
        !parts && self.text.as_bytes().contains(&mark)
    }

    /// Takes the header from the first row, where every row has something in it.
    fn first_row(&mut self) {
        let mut rows = self.all_rows(self.whole());
        rows.advance();
        self.header_row = rows.row.number;
        self.header = rows.row.iter().map(str::to_owned).collect();
        self.is_empty = self.last_row == self.header_row;
    }

    /// All of it as one part.
    pub(in crate::book) fn whole(&self) -> Part<'a> {
        Part { text: self.text, from: 0, above: 0 }
    }

    /// The table in parts that can be read side by side, in their order.
    pub(in crate::book) fn parts(&self) -> Vec<Part<'a>> {
        if self.is_plain { self.whole().split() } else { vec![self.whole()] }
    }

    /// A part with all that is below it.
    pub(in crate::book) fn from(&self, part: Part<'a>) -> Part<'a> {
        let below = self.text.get(part.from..).unwrap_or_default();
        Part { text: below, ..part }
    }

    /// The header too, and rows of empty cells.
    fn all_rows(&self, part: Part<'a>) -> Rows<'a> {
        let mut builder = csv::ReaderBuilder::new();
        builder.delimiter(self.style.delimiter).has_headers(false).flexible(true);
        let unended = (!self.style.ended).then_some(self.last_row);
        let reader = builder.from_reader(part.text.as_bytes());
        let row = Row { number: part.above, ..Row::default() };
        Rows { reader, text: part.text, unended, row }
    }

    /// Goes through the rows once: finds the header and the blank rows, and refuses cells too
    /// long, so that no message grows without end.
    fn survey(&mut self) -> Result<(), BookError> {
        let (mut faults, mut long_cells, mut last) = (Faults::default(), 0, 0);
        let mut rows = self.all_rows(self.whole());
        while rows.advance() {
            let row = &rows.row;
            if row.is_empty() {
                continue;
            }
            if self.header_row == 0 {
                self.header_row = row.number;
                self.header = row.iter().map(str::to_owned).collect();
            } else {
                self.is_empty = false;
                note_blank(&mut self.blank, last + 1, row.number);
            }
            last = row.number;
            if let Some(message) = row.too_long().filter(|_| long_cells < MOST_LISTED) {
                long_cells += 1;
                faults.push(Fault::new(Location::row(self.file, row.number), message));
            }
        }
        if self.header_row == 0 {
            let message = "the file is empty; its first row names the columns";
            faults.push(Fault::new(Location::file(self.file), message));
        }
        faults.refuse()
    }
}

/// Notes the blank rows from `first` to before `next`, if there are any.
fn note_blank(blank: &mut Vec<BlankRun>, first: usize, next: usize) {
    let count = next - first;
    if count > 0 && blank.len() < MOST_LISTED {
        blank.push(BlankRun { row: first, count });
    } else if let Some(rest) = blank.last_mut() {
        rest.count += count;
    }
}

impl Rows<'_> {
    /// The next row that has something in it.
    pub(in crate::book) fn next_row(&mut self) -> Option<&Row> {
        while self.advance() {
            if !self.row.is_empty() {
                return Some(&self.row);
            }
        }
        None
    }

    /// Goes to the next row that is not blank; `false` at the end. (A text read into text
    /// fields of any number gives no error.)
    fn advance(&mut self) -> bool {
        let Row { number, ended, record } = &mut self.row;
        if !self.reader.read_record(record).unwrap_or(false) {
            return false;
        }
        // The crate's position may lie before blank lines that it skipped, and before the line
        // feed of the row above.
        let offset = record.position().map_or(0, csv::Position::byte);
        let from = usize::try_from(offset).unwrap_or(usize::MAX);
        let (above, below) = self.text.split_at_checked(from).unwrap_or((self.text, ""));
        let torn = above.ends_with('\r') && below.starts_with('\n');
        *number += 1 + blank_rows(&below[usize::from(torn)..]);
        *ended = self.unended != Some(*number);
        true
    }
}

/// Without the spaces around it; mostly there are none.
fn trimmed(field: &str) -> &str {
    let ends = [field.as_bytes().first(), field.as_bytes().last()];
    let bare = ends.into_iter().flatten().all(u8::is_ascii_graphic);
    if bare { field } else { field.trim() }
}

impl Row {
    /// The field at `index`, trimmed.
    pub(in crate::book) fn get(&self, index: usize) -> Option<&str> {
        self.record.get(index).map(trimmed)
    }

    /// The fields, trimmed.
    fn iter(&self) -> impl Iterator<Item = &str> {
        self.record.iter().map(trimmed)
    }

    /// How many fields there are.
    pub(in crate::book) fn len(&self) -> usize {
        self.record.len()
    }

    /// Whether nothing but spaces stands in it.
    fn is_empty(&self) -> bool {
        self.iter().all(str::is_empty)
    }

    /// A message on the first cell that is too long.
    fn too_long(&self) -> Option<String> {
        let length = self.iter().map(str::len).find(|length| *length > LONGEST_CELL)?;
        Some(format!(
            "cell too long: {length} bytes; the limit is {LONGEST_CELL}; was a quotation mark \
             left open?"
        ))
    }
}

#[cfg(test)]
mod tests;
