//! Where the rows of a CSV text begin, counted as a spreadsheet shows them.
//!
//! A blank line is a row; a line end inside quotes is not. (The line numbers of the csv crate
//! count neither blank lines nor CRLF so.)

/// The most rows looked at, which is also the most that spreadsheets hold.
pub(super) const MOST_ROWS: usize = 1_048_576;

/// A line end as found in a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum LineEnd {
    /// Line feed.
    #[default]
    Lf,
    /// Carriage return and line feed.
    CrLf,
    /// Carriage return alone.
    Cr,
}

impl LineEnd {
    /// The characters.
    pub(super) fn text(self) -> &'static str {
        match self {
            Self::Lf => "\n",
            Self::CrLf => "\r\n",
            Self::Cr => "\r",
        }
    }
}

/// A row of the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Span {
    /// Byte offset of its first character.
    pub(super) start: usize,
    /// Its number; the first row is 1.
    pub(super) row: usize,
    /// Whether nothing stands in it, not even a space.
    pub(super) blank: bool,
}

/// The rows of a text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Scan {
    /// Every row, blank ones too.
    pub(super) spans: Vec<Span>,
    /// The row in which a quote was opened and never closed.
    pub(super) open_quote: Option<usize>,
    /// The first line end.
    pub(super) line_end: Option<LineEnd>,
    /// Whether the last row has its line end.
    pub(super) ended: bool,
}

/// Where the scan is within a row; the same rules as the csv crate's.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    FieldStart,
    Field,
    Quoted,
    QuoteInQuoted,
}

/// Scans `text`, whose fields `delimiter` parts. It stops one row after [`MOST_ROWS`].
pub(super) fn scan(text: &str, delimiter: u8) -> Scan {
    let bytes = text.as_bytes();
    let mut result = Scan { ended: true, ..Scan::default() };
    let (mut at, mut start, mut index, mut quote_row) = (At::FieldStart, 0, 0, 0);
    while index < bytes.len() && result.spans.len() <= MOST_ROWS {
        let byte = bytes[index];
        let row = result.spans.len() + 1;
        index += 1;
        let ends = at != At::Quoted && matches!(byte, b'\n' | b'\r');
        if ends {
            let blank = start + 1 == index;
            index += usize::from(byte == b'\r' && bytes.get(index) == Some(&b'\n'));
            result.line_end = result.line_end.or(Some(line_end(&bytes[..index])));
            result.spans.push(Span { start, row, blank });
            (at, start) = (At::FieldStart, index);
            continue;
        }
        let before = at;
        at = step(at, byte, delimiter);
        if at == At::Quoted && before == At::FieldStart {
            quote_row = row;
        }
    }
    if start < bytes.len() {
        result.spans.push(Span { start, row: result.spans.len() + 1, blank: false });
        result.ended = false;
    }
    result.open_quote = (at == At::Quoted).then_some(quote_row);
    result
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

    fn rows(text: &str) -> Vec<(usize, &str)> {
        let scan = scan(text, b',');
        let full = scan.spans.iter().filter(|span| !span.blank);
        full.map(|span| (span.row, text[span.start..].get(..1).unwrap_or(""))).collect()
    }

    #[test]
    fn rows_are_counted_as_a_spreadsheet_does() {
        assert_eq!(rows("a,b\n\n\nc,d\n"), [(1, "a"), (4, "c")]);
        assert_eq!(rows("a,b\r\n\r\nc,d"), [(1, "a"), (3, "c")]);
        assert_eq!(rows("a,b\rc,d\r\re"), [(1, "a"), (2, "c"), (4, "e")]);
        assert_eq!(rows("a,\"x\ny\"\nc,d"), [(1, "a"), (2, "c")]);
        assert_eq!(rows("a,5\" x\nc"), [(1, "a"), (2, "c")]);
    }

    #[test]
    fn an_open_quote_is_found_where_it_opened() {
        assert_eq!(scan("a,b\n\nc,\"d\ne,f\n", b',').open_quote, Some(3));
        assert_eq!(scan("a,\"\"\"b\"\"\"\n", b',').open_quote, None);
    }

    #[test]
    fn the_style_of_line_ends_is_kept() {
        assert_eq!(scan("a\r\nb", b',').line_end, Some(LineEnd::CrLf));
        assert!(!scan("a\r\nb", b',').ended);
        assert!(scan("a\r\nb\r\n", b',').ended);
        assert_eq!(scan("a\rb", b',').line_end, Some(LineEnd::Cr));
    }
}
