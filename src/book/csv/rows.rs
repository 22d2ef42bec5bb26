//! An iterator over the rows of a table.

use super::part::Part;
use super::scan::{LONGEST_CELL, blank_rows};
use super::table::Style;

/// A row that is not empty.
#[derive(Clone, Debug)]
pub(in crate::book) struct Row<'a> {
    /// Its number as a spreadsheet shows it.
    pub(in crate::book) number: usize,
    /// Whether it has its line end.
    pub(in crate::book) ended: bool,
    fields: Fields<'a>,
}

#[derive(Clone, Debug)]
enum Fields<'a> {
    /// A line without quotation marks, and the offsets at which its fields end.
    Line(&'a str, Vec<usize>),
    Record(csv::StringRecord),
}

pub(in crate::book) struct Rows<'a> {
    source: Source<'a>,
    unended: Option<usize>,
    row: Row<'a>,
}

enum Source<'a> {
    /// Text in which each line is a row.
    Lines(&'a str, u8),
    /// Any text, and its reader.
    Csv(&'a str, csv::Reader<&'a [u8]>),
}

impl<'a> Rows<'a> {
    /// The rows of a part of a table in this style. `last` is the number of the last row.
    /// `is_plain` says that the part has no quotation mark and no empty line.
    pub(super) fn of(part: Part<'a>, style: &Style, last: usize, is_plain: bool) -> Self {
        let unended = (!style.ended).then_some(last);
        let (source, fields) = if is_plain {
            (Source::Lines(part.text, style.delimiter), Fields::Line("", Vec::new()))
        } else {
            let mut builder = csv::ReaderBuilder::new();
            builder.delimiter(style.delimiter).has_headers(false).flexible(true);
            let reader = builder.from_reader(part.text.as_bytes());
            (Source::Csv(part.text, reader), Fields::Record(csv::StringRecord::new()))
        };
        let row = Row { number: part.above, ended: true, fields };
        Self { source, unended, row }
    }

    /// The next row that is not empty.
    pub(in crate::book) fn next_row(&mut self) -> Option<&Row<'a>> {
        while self.advance() {
            if !self.row.is_empty() {
                return Some(&self.row);
            }
        }
        None
    }

    /// The current row. Before the first row, only its number is valid: that of the row above.
    pub(super) fn row(&self) -> &Row<'a> {
        &self.row
    }

    /// Moves to the next row that is not blank; `false` at the end. Reading cannot fail, because
    /// the reader accepts any number of fields in a row.
    pub(super) fn advance(&mut self) -> bool {
        let Row { number, ended, fields } = &mut self.row;
        match (&mut self.source, fields) {
            (Source::Lines(rest, delimiter), Fields::Line(line, ends)) => {
                let Some(next) = next_line(rest, *delimiter, ends) else { return false };
                *line = next;
                *number += 1;
            }
            (Source::Csv(text, reader), Fields::Record(record)) => {
                if !reader.read_record(record).unwrap_or(false) {
                    return false;
                }
                *number += 1 + blank_above(text, record);
            }
            (Source::Lines(..), Fields::Record(_)) | (Source::Csv(..), Fields::Line(..)) => {
                return false;
            }
        }
        *ended = self.unended != Some(*number);
        true
    }
}

/// Splits the first line off `rest`, and stores in `ends` where its fields end.
fn next_line<'a>(rest: &mut &'a str, delimiter: u8, ends: &mut Vec<usize>) -> Option<&'a str> {
    ends.clear();
    let mut length = rest.len();
    for (at, byte) in rest.bytes().enumerate() {
        if byte == delimiter {
            ends.push(at);
        } else if matches!(byte, b'\n' | b'\r') {
            length = at;
            break;
        }
    }
    ends.push(length);
    let (line, below) = rest.split_at_checked(length).filter(|_| !rest.is_empty())?;
    let end = if below.starts_with("\r\n") { 2 } else { 1 };
    *rest = below.get(end..).unwrap_or_default();
    Some(line)
}

/// The number of blank rows above a record of `text`.
fn blank_above(text: &str, record: &csv::StringRecord) -> usize {
    // The crate's position may be before blank lines that it skipped, and before the line feed of
    // the row above.
    let offset = record.position().map_or(0, csv::Position::byte);
    let from = usize::try_from(offset).unwrap_or(usize::MAX);
    let (above, below) = text.split_at_checked(from).unwrap_or((text, ""));
    let torn = above.ends_with('\r') && below.starts_with('\n');
    blank_rows(&below[usize::from(torn)..])
}

/// The field without spaces around it. Most fields have none.
#[inline]
fn trimmed(field: &str) -> &str {
    let bytes = field.as_bytes();
    let is_bare = |end: Option<&u8>| end.is_none_or(u8::is_ascii_graphic);
    if is_bare(bytes.first()) && is_bare(bytes.last()) { field } else { field.trim() }
}

impl Row<'_> {
    /// The field at `index`, trimmed.
    #[inline]
    pub(in crate::book) fn get(&self, index: usize) -> Option<&str> {
        let field = match &self.fields {
            Fields::Record(record) => record.get(index)?,
            Fields::Line(line, ends) => {
                let from =
                    index.checked_sub(1).map_or(Some(0), |before| Some(ends.get(before)? + 1));
                line.get(from?..*ends.get(index)?)?
            }
        };
        Some(trimmed(field))
    }

    /// The fields, trimmed.
    pub(super) fn iter(&self) -> impl Iterator<Item = &str> {
        (0..self.len()).filter_map(|index| self.get(index))
    }

    pub(in crate::book) fn len(&self) -> usize {
        match &self.fields {
            Fields::Record(record) => record.len(),
            Fields::Line(_, ends) => ends.len(),
        }
    }

    /// Whether it holds nothing but spaces.
    pub(super) fn is_empty(&self) -> bool {
        self.iter().all(str::is_empty)
    }

    /// The message about the first cell that is too long.
    pub(super) fn too_long(&self) -> Option<String> {
        let length = self.iter().map(str::len).find(|length| *length > LONGEST_CELL)?;
        Some(format!(
            "cell too long: {length} bytes; the limit is {LONGEST_CELL}; was a quotation mark \
             left open?"
        ))
    }
}
