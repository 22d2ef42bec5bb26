//! Scans a CSV text and counts its rows as a spreadsheet does.
//!
//! A blank line is a row; a line end inside quotes is not. (The line numbers of the csv crate do
//! not count blank lines and CRLF this way.)

use super::part::{Part, in_parts};
use super::text::OF_BOOKS;
use crate::units::in_shares;
use std::ops::Range;

/// The longest text of one cell, in bytes.
pub(super) const LONGEST_CELL: usize = 4096;
/// The most columns that a file may have.
pub(in crate::book) const MOST_COLUMNS: usize = 200;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::book) enum LineEnd {
    #[default]
    Lf,
    CrLf,
    Cr,
}

impl LineEnd {
    pub(in crate::book) fn text(self) -> &'static str {
        match self {
            Self::Lf => "\n",
            Self::CrLf => "\r\n",
            Self::Cr => "\r",
        }
    }
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(in crate::book) struct Scan {
    /// The number of rows, blank ones included.
    pub(in crate::book) rows: usize,
    /// The first row with more than [`MOST_COLUMNS`], and its number of columns.
    pub(in crate::book) wide: Option<(usize, usize)>,
    /// The row in which a quote was opened and never closed.
    pub(in crate::book) open_quote: Option<usize>,
    pub(in crate::book) line_end: Option<LineEnd>,
    /// Whether the last row has its line end.
    pub(in crate::book) ended: bool,
    /// Whether there is a quotation mark.
    pub(in crate::book) quoted: bool,
    /// Whether a row may be blank, or a cell longer than [`LONGEST_CELL`].
    pub(in crate::book) odd: bool,
}

/// The position of the scan within a row, by the same rules as the csv crate.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    FieldStart,
    Field,
    Quoted,
    QuoteInQuoted,
}

/// Scans `text` without storing any of it. It stops one row after the most that a file of a book
/// may have.
pub(in crate::book) fn scan(text: &str, delimiter: u8) -> Scan {
    let bytes = text.as_bytes();
    let mut result = Scan::nothing();
    let (mut at, mut start, mut index, mut quote_row) = (At::FieldStart, 0, 0, 0);
    let mut row = InRow::default();
    while index < bytes.len() && result.rows <= OF_BOOKS.rows {
        let plain = bytes[index..].iter().take_while(|byte| is_plain(**byte, delimiter)).count();
        if plain > 0 {
            // These bytes belong to a field, so a later quotation mark does not open a quoted one.
            at = if at == At::Quoted { at } else { At::Field };
            (row.filled, row.cell) = (true, row.cell + plain);
            index += plain;
            continue;
        }
        let byte = bytes[index];
        index += 1;
        if at != At::Quoted && matches!(byte, b'\n' | b'\r') {
            index += usize::from(byte == b'\r' && bytes.get(index) == Some(&b'\n'));
            result.line_end = result.line_end.or(Some(line_end(&bytes[..index])));
            result.end_row(std::mem::take(&mut row));
            (at, start) = (At::FieldStart, index);
            continue;
        }
        let before = at;
        at = step(at, byte, delimiter);
        result.quoted |= byte == b'"';
        row.cell += 1;
        if at == At::FieldStart {
            row.end_cell();
        }
        if at == At::Quoted && before == At::FieldStart {
            quote_row = result.rows + 1;
        }
    }
    if start < bytes.len() {
        result.end_row(row);
        result.ended = false;
    }
    result.open_quote = (at == At::Quoted).then_some(quote_row);
    result
}

/// In bytes. A shorter text does not pay for a second thread, which reserves 64 MiB of address
/// space.
const WORTH_SHARING: usize = 2 * 1024 * 1024;

/// Like [`scan`], and splits the text into parts that can be read in parallel. A text with
/// quotation marks stays whole: inside quotes a line end does not end a row.
pub(super) fn scan_parts(text: &str, delimiter: u8) -> (Scan, Vec<Part<'_>>) {
    if text.contains('"') {
        return (scan(text, delimiter), vec![Part::whole(text)]);
    }
    let texts = if text.len() < WORTH_SHARING { vec![text] } else { in_parts(text) };
    let of_range = |range: Range<usize>| {
        texts[range].iter().map(|text| scan_lines(text, delimiter)).collect::<Vec<_>>()
    };
    let (mut whole, mut from, mut parts) = (Scan::nothing(), 0, Vec::with_capacity(texts.len()));
    for (text, scan) in texts.iter().zip(in_shares(texts.len(), of_range)) {
        parts.push(Part { text, from, above: whole.rows });
        whole.go_on(scan);
        from += text.len();
    }
    (whole, parts)
}

/// Like [`scan`], for a text without quotation marks. A short line that begins with a plain
/// character is neither blank nor too wide, so it needs no scan.
fn scan_lines(text: &str, delimiter: u8) -> Scan {
    if text.contains('\r') {
        return scan(text, delimiter);
    }
    let mut whole = Scan::nothing();
    for line in text.split_inclusive('\n') {
        let begins = line.bytes().next().is_some_and(|byte| is_plain(byte, delimiter));
        if begins && line.len() <= MOST_COLUMNS {
            let ended = line.ends_with('\n');
            let line_end = ended.then_some(LineEnd::Lf);
            whole.go_on(Scan { rows: 1, ended, line_end, ..Scan::nothing() });
        } else {
            whole.go_on(scan(line, delimiter));
        }
    }
    whole
}

/// What was seen of one row.
#[derive(Default)]
struct InRow {
    /// The number of columns that have ended.
    columns: usize,
    /// The bytes of the current column so far, its delimiter included.
    cell: usize,
    /// Whether a column may be too long.
    long: bool,
    /// Whether the row is known not to be blank.
    filled: bool,
}

impl InRow {
    fn end_cell(&mut self) {
        self.columns += 1;
        self.long |= self.cell > LONGEST_CELL;
        self.cell = 0;
    }
}

/// Whether a byte is visible and neither a quotation mark nor the delimiter.
fn is_plain(byte: u8, delimiter: u8) -> bool {
    byte.is_ascii_graphic() && byte != b'"' && byte != delimiter
}

impl Scan {
    fn nothing() -> Self {
        Self { ended: true, ..Self::default() }
    }

    /// Appends the scan of the text below, which has no quotation marks.
    fn go_on(&mut self, below: Self) {
        let wide = below.wide.map(|(row, columns)| (self.rows + row, columns));
        self.rows += below.rows;
        self.wide = self.wide.or(wide);
        self.line_end = self.line_end.or(below.line_end);
        self.ended = below.ended;
        self.odd |= below.odd;
    }

    fn end_row(&mut self, mut row: InRow) {
        row.end_cell();
        self.rows += 1;
        self.odd |= row.long || !row.filled;
        // A delimiter ended each column but the last, which ended with the row.
        let columns = row.columns;
        if columns > MOST_COLUMNS && self.wide.is_none() {
            self.wide = Some((self.rows, columns));
        }
    }
}

/// The number of blank rows at the beginning of `text`.
pub(in crate::book) fn blank_rows(text: &str) -> usize {
    let ends = text.bytes().take_while(|byte| matches!(byte, b'\n' | b'\r'));
    let (mut rows, mut last) = (0, b'\n');
    for byte in ends {
        rows += usize::from(!(last == b'\r' && byte == b'\n'));
        last = byte;
    }
    rows
}

fn step(at: At, byte: u8, delimiter: u8) -> At {
    match (at, byte) {
        (At::FieldStart | At::QuoteInQuoted, b'"') => At::Quoted,
        (At::Quoted, b'"') => At::QuoteInQuoted,
        (At::Quoted, _) => At::Quoted,
        (_, byte) if byte == delimiter => At::FieldStart,
        (At::FieldStart | At::Field | At::QuoteInQuoted, _) => At::Field,
    }
}

/// The line end at the end of `bytes`.
fn line_end(bytes: &[u8]) -> LineEnd {
    match bytes {
        [.., b'\r', b'\n'] => LineEnd::CrLf,
        [.., b'\r'] => LineEnd::Cr,
        _ => LineEnd::Lf,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_counted_as_a_spreadsheet_does() {
        for (text, rows) in [
            ("", 0),
            ("a", 1),
            ("a,b\n\n\nc,d\n", 4),
            ("a,b\r\n\r\nc,d", 3),
            ("a,b\rc,d\r\re", 4),
            ("a,\"x\ny\"\nc,d", 2),
            ("a,5\" x\nc", 2),
        ] {
            assert_eq!(scan(text, b',').rows, rows, "{text:?}");
        }
        for (text, rows) in [("", 0), ("\n\n", 2), ("\r\n\r\na\n", 2), ("\r\ra", 2), ("\n\ra", 2)] {
            assert_eq!(blank_rows(text), rows, "{text:?}");
        }
    }

    #[test]
    fn a_row_with_too_many_columns_is_counted_out_but_not_held() {
        let wide = format!("a,b\n\n{}\"x,y\"\nc\n", "1,".repeat(300));
        assert_eq!(scan(&wide, b',').wide, Some((3, 301)));
        assert_eq!(scan(&"1,".repeat(199), b',').wide, None);
        assert_eq!(scan(&"1,".repeat(200), b',').wide, Some((1, 201)));
    }

    #[test]
    fn an_open_quote_is_found_where_it_opened() {
        assert_eq!(scan("a,b\n\nc,\"d\ne,f\n", b',').open_quote, Some(3));
        assert_eq!(scan("a,\"\"\"b\"\"\"\n", b',').open_quote, None);
    }

    proptest::proptest! {
        #[test]
        fn lines_are_scanned_as_any_text_is(text in "[ab,\r\n\t é]{0,40}") {
            let mut whole = Scan::nothing();
            // Each line as a part, so that no part begins with the second half of a line end.
            text.split_inclusive('\n').for_each(|part| whole.go_on(scan_lines(part, b',')));
            proptest::prop_assert_eq!(&whole, &scan(&text, b','));
            proptest::prop_assert_eq!(&scan_parts(&text, b',').0, &whole);
        }
    }

    #[test]
    fn parts_know_what_stands_above_them() {
        let text: String = (0..2_000_000).map(|number| format!("{number},\r\n")).collect();
        let (whole, parts) = scan_parts(&text, b',');
        assert_eq!(whole, scan(&text, b','));
        assert!(parts.len() > 2);
        for Part { text: of_part, from, above } in parts {
            assert!(of_part.starts_with(&format!("{above},\r\n")));
            assert!(text[from..].starts_with(of_part));
        }
    }

    #[test]
    fn the_style_of_line_ends_is_kept() {
        assert_eq!(scan("a\r\nb", b',').line_end, Some(LineEnd::CrLf));
        assert!(!scan("a\r\nb", b',').ended);
        assert!(scan("a\r\nb\r\n", b',').ended);
        assert_eq!(scan("a\rb", b',').line_end, Some(LineEnd::Cr));
    }
}
