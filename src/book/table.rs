//! A CSV text as people make it, read into rows of text fields.

use super::scan::{LineEnd, MOST_ROWS, Scan, scan};
use super::text::decode;
use super::{BookError, Fault, Location};

/// The most columns looked at.
const MOST_COLUMNS: usize = 200;
/// The longest text of one cell, in bytes.
const LONGEST_CELL: usize = 4096;

/// How a file is written, so that what is added looks like what is there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Style {
    /// What parts the fields: `,`, `;` or a tab.
    pub(super) delimiter: u8,
    /// The line end.
    pub(super) line_end: LineEnd,
    /// Whether the last row has its line end.
    pub(super) ended: bool,
}

/// A row with something in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Row {
    /// Its number as a spreadsheet shows it.
    pub(super) number: usize,
    /// Its fields, trimmed.
    pub(super) fields: Vec<String>,
    /// Whether its line end is there.
    pub(super) ended: bool,
}

/// A file's header and rows, all text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Table {
    /// The file, for messages.
    pub(super) file: String,
    /// The header's row number.
    pub(super) header_row: usize,
    /// The header's names as written, trimmed.
    pub(super) header: Vec<String>,
    /// The rows below it that are not all empty.
    pub(super) rows: Vec<Row>,
    /// Rows without anything in them between the others.
    pub(super) blank_rows: Vec<usize>,
    /// How the file is written.
    pub(super) style: Style,
}

/// Reads `bytes` of the file `name`.
///
/// # Errors
/// [`BookError::Faults`] for what is not a CSV text with a header.
pub(super) fn read_table(bytes: &[u8], name: &str) -> Result<Table, BookError> {
    let text = decode(bytes, name)?;
    let delimiter = delimiter_of(text);
    let scan = scan(text, delimiter);
    check_scan(name, &scan)?;
    let mut rows = split(text, delimiter, &scan, name)?.into_iter();
    let Some(header) = rows.find(|row| !row.is_empty()) else {
        let message = "the file is empty; its first row names the columns";
        return Err(BookError::fault(Location::file(name), message));
    };
    check_sizes(name, &header, rows.as_slice())?;
    let rows: Vec<Row> = rows.collect();
    let blank_rows = blank_between(&scan, header.number, &rows);
    let rows = rows.into_iter().filter(|row| !row.is_empty()).collect();
    let line_end = scan.line_end.unwrap_or_default();
    let style = Style { delimiter, line_end, ended: scan.ended };
    let (file, header_row, header) = (name.to_owned(), header.number, header.fields);
    Ok(Table { file, header_row, header, rows, blank_rows, style })
}

/// Refuses a text with too many rows, or with a quote that swallows the rest of it.
fn check_scan(name: &str, scan: &Scan) -> Result<(), BookError> {
    if scan.spans.len() > MOST_ROWS {
        let message = format!("more than {MOST_ROWS} rows; split the file");
        return Err(BookError::fault(Location::file(name), message));
    }
    let Some(row) = scan.open_quote else { return Ok(()) };
    let message = "a quotation mark is opened here and never closed; close it, or take it out";
    Err(BookError::fault(Location::row(name, row), message))
}

/// What parts the fields, from the header alone: whichever of `,`, `;` and tab is there most
/// often outside quotes.
pub(super) fn delimiter_of(text: &str) -> u8 {
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

/// The rows that are not blank lines, with fields split by the csv crate.
fn split(text: &str, delimiter: u8, scan: &Scan, name: &str) -> Result<Vec<Row>, BookError> {
    let mut builder = csv::ReaderBuilder::new();
    builder.delimiter(delimiter).has_headers(false).flexible(true);
    let mut spans = scan.spans.iter().filter(|span| !span.blank);
    let last = scan.spans.last().map(|span| span.row);
    let mut rows = Vec::new();
    for record in builder.from_reader(text.as_bytes()).records() {
        let record =
            record.map_err(|error| BookError::fault(Location::file(name), error.to_string()))?;
        let offset = record.position().map_or(0, csv::Position::byte);
        // The crate's position may lie before blank lines that it skipped.
        let Some(span) = spans.find(|span| span.start as u64 >= offset) else { break };
        let ended = scan.ended || last != Some(span.row);
        let fields = record.iter().map(|field| field.trim().to_owned()).collect();
        rows.push(Row { number: span.row, fields, ended });
    }
    Ok(rows)
}

/// Bounds on what a row holds, so that no message and no memory grows without end.
fn check_sizes(name: &str, header: &Row, rows: &[Row]) -> Result<(), BookError> {
    let mut faults = Vec::new();
    for row in std::iter::once(header).chain(rows) {
        let count = row.fields.len();
        let place = || Location::row(name, row.number);
        if count > MOST_COLUMNS {
            let message = format!("{count} columns; at most {MOST_COLUMNS} are read");
            faults.push(Fault::new(place(), message));
        }
        if let Some(field) = row.fields.iter().find(|field| field.len() > LONGEST_CELL) {
            let message = format!(
                "a cell of {} bytes; at most {LONGEST_CELL} are read; was a quotation mark left open?",
                field.len()
            );
            faults.push(Fault::new(place(), message));
        }
    }
    BookError::from_faults(faults)
}

/// The blank rows that stand between others.
fn blank_between(scan: &Scan, header: usize, rows: &[Row]) -> Vec<usize> {
    let Some(last) = rows.iter().rfind(|row| !row.is_empty()) else { return Vec::new() };
    let lines = scan.spans.iter().filter(|span| span.blank).map(|span| span.row);
    let empty = rows.iter().filter(|row| row.is_empty()).map(|row| row.number);
    let mut blank: Vec<usize> =
        lines.chain(empty).filter(|&row| row > header && row < last.number).collect();
    blank.sort_unstable();
    blank
}

impl Row {
    /// Whether nothing but spaces stands in it.
    fn is_empty(&self) -> bool {
        self.fields.iter().all(String::is_empty)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> Table {
        read_table(text.as_bytes(), "x.csv").unwrap()
    }

    fn numbers(text: &str) -> Vec<usize> {
        table(text).rows.iter().map(|row| row.number).collect()
    }

    #[test]
    fn every_row_keeps_its_number() {
        assert_eq!(numbers("a,b\n1,2\n\n3,4\n"), [2, 4]);
        assert_eq!(numbers("a,b\r\n\r\n1,2\r\n,\r\n3,4\r\n,\r\n\r\n"), [3, 5]);
        assert_eq!(numbers("a,b\n\"1\n1\",2\n3,4\n"), [2, 3]);
        assert_eq!(numbers("\n\na,b\n1,2"), [4]);
        assert_eq!(numbers("\u{feff}\"a\",b\n1,2"), [2]);
    }

    #[test]
    fn blank_rows_count_only_between_others() {
        assert_eq!(table("a,b\n\n1,2\n,\n3,4\n,\n\n").blank_rows, [2, 4]);
        assert!(table("a,b\n1,2\n,,,\n  \n").blank_rows.is_empty());
    }

    #[test]
    fn the_header_alone_decides_what_parts_the_fields() {
        assert_eq!(table("a;b\n1,5;2,5\n").rows[0].fields, ["1,5", "2,5"]);
        assert_eq!(table("a\tb\n1,5\t2;5\n").rows[0].fields, ["1,5", "2;5"]);
        assert_eq!(table("\"a;;;\",b\n1,2\n").style.delimiter, b',');
        assert_eq!(table("a\n1\n").style.delimiter, b',');
    }

    #[test]
    fn what_is_not_a_table_is_refused() {
        for bad in ["", "\n\n", "\u{feff}", ",,\n", "a,\"b\n1,2\n"] {
            assert!(read_table(bad.as_bytes(), "x.csv").is_err(), "{bad:?}");
        }
        let wide = ",x".repeat(300);
        assert!(read_table("\n".repeat(2_000_000).as_bytes(), "x.csv").is_err());
        assert!(read_table(wide.as_bytes(), "x.csv").is_err());
    }

    #[test]
    fn a_last_row_without_line_end_is_marked() {
        let rows = table("a,b\n1,2\n3,4").rows;
        assert!(rows[0].ended && !rows[1].ended);
    }

    proptest::proptest! {
        #[test]
        fn rows_and_fields_never_part_company(text in "[a\",;\r\n\t ]{0,40}") {
            let delimiter = delimiter_of(&text);
            let scan = scan(&text, delimiter);
            let mut builder = csv::ReaderBuilder::new();
            builder.delimiter(delimiter).has_headers(false).flexible(true);
            let records = builder.from_reader(text.as_bytes()).records().count();
            let rows = scan.spans.iter().filter(|span| !span.blank).count();
            proptest::prop_assert_eq!(rows, records);
        }

        #[test]
        fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..200)) {
            let _ = read_table(&bytes, "x.csv");
        }
    }
}
