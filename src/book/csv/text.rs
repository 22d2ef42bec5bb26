//! Decodes the bytes of a file, and recognises what is not UTF-8 text.

use super::scan::scan;
use super::table::delimiter_of;
use crate::book::error::BookError;
use crate::book::location::Location;
use crate::book::store::plain::open_linked;
use std::fs::{File, OpenOptions};
use std::io;
use std::io::Read;
use std::path::Path;

/// The size limits of a file.
#[derive(Clone, Copy, Debug)]
pub(in crate::book) struct Limits {
    pub(in crate::book) bytes: u64,
    /// The number of rows, blank ones included.
    pub(in crate::book) rows: usize,
}

/// For a file that the binder hands over. Spreadsheets hold no more rows.
pub(in crate::book) const OF_SHEETS: Limits = Limits { bytes: 64 * MIB, rows: 1_048_576 };
/// For a file of a book, to which several such sheets may be added. This is far more than a bench
/// measures.
pub(in crate::book) const OF_BOOKS: Limits = Limits { bytes: 256 * MIB, rows: 4_194_304 };

const MIB: u64 = 1024 * 1024;

impl Limits {
    pub(in crate::book) fn mib(self) -> u64 {
        self.bytes / MIB
    }

    /// Why a file called `name` with these bytes must not be written: it could not be read back.
    pub(in crate::book) fn refusal(self, bytes: &[u8], name: &str) -> Option<String> {
        let text = || std::str::from_utf8(bytes).unwrap_or_default();
        let ends = || bytes.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count();
        let limit = if bytes.len() as u64 > self.bytes {
            format!("{} MiB", self.bytes / MIB)
        } else if ends() >= self.rows && scan(text(), delimiter_of(text())).rows > self.rows {
            format!("{} rows", self.rows)
        } else {
            return None;
        };
        Some(format!(
            "{name} would grow beyond the limit of {limit}; nothing was saved; start a new book \
             for new entries: swellbook init DIR"
        ))
    }
}

/// What to do about a file in another format.
const REMEDY: &str = "save it again as CSV with the encoding UTF-8";

/// Reads the file at `path`, at most 64 MiB. Messages call it `name`.
///
/// # Errors
/// [`BookError::Io`] if reading fails; [`BookError::Faults`] for a folder or a file that is too
/// large.
pub fn read_file(path: &Path, name: &str) -> Result<Vec<u8>, BookError> {
    if path.is_dir() {
        let message = "this is a folder; name a file in it";
        return Err(BookError::fault(Location::file(name), message));
    }
    read_opened(File::open(path), path, OF_SHEETS, name)
}

/// Reads a file of a book, within the limits for books. It does not block on a pipe or a device in
/// its place.
pub(in crate::book) fn read_of_book(path: &Path, name: &str) -> Result<Vec<u8>, BookError> {
    let opened = open_linked(path, OpenOptions::new().read(true));
    read_opened(opened, path, OF_BOOKS, name)
}

fn read_opened(
    opened: io::Result<File>,
    path: &Path,
    limits: Limits,
    name: &str,
) -> Result<Vec<u8>, BookError> {
    let io = |source| BookError::Io { path: path.to_owned(), doing: "reading", source };
    let file = opened.map_err(io)?;
    let length = file.metadata().map_err(io)?.len();
    if length > limits.bytes {
        return Err(too_large(limits, name));
    }
    // Anything but a plain file has the length zero.
    read_into(Vec::with_capacity(length as usize), file, limits, name)
}

/// Reads from `reader`, such as standard input, at most 64 MiB. Messages call it `name`.
///
/// # Errors
/// [`BookError::Io`] if reading fails; [`BookError::Faults`] if there is too much.
pub fn read_bounded(reader: impl Read, name: &str) -> Result<Vec<u8>, BookError> {
    read_into(Vec::new(), reader, OF_SHEETS, name)
}

fn read_into(
    mut bytes: Vec<u8>,
    reader: impl Read,
    limits: Limits,
    name: &str,
) -> Result<Vec<u8>, BookError> {
    let read = reader.take(limits.bytes + 1).read_to_end(&mut bytes);
    read.map_err(|source| BookError::Io { path: name.into(), doing: "reading", source })?;
    if bytes.len() as u64 > limits.bytes {
        return Err(too_large(limits, name));
    }
    Ok(bytes)
}

fn too_large(limits: Limits, name: &str) -> BookError {
    let message = format!("larger than {} MiB; split it", limits.bytes / MIB);
    BookError::fault(Location::file(name), message)
}

/// Decodes `bytes` as text and removes the byte-order mark.
pub(in crate::book) fn decode<'a>(bytes: &'a [u8], name: &str) -> Result<&'a str, BookError> {
    if let Some(message) = foreign(bytes) {
        return Err(BookError::fault(Location::file(name), message));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let row = line_at(bytes, at);
        let byte = bytes.get(at).copied().unwrap_or_default();
        // From 0xa0 on, every byte is a printable character in Latin-1.
        let latin_1 = match byte {
            0xa0.. => format!(" (it would be '{}' in Latin-1)", char::from(byte)),
            _ => String::new(),
        };
        let message = format!("byte 0x{byte:02X} is not UTF-8{latin_1}; {REMEDY}");
        BookError::fault(Location::row(name, row), message)
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    refuse_merge(text, name)?;
    Ok(text)
}

/// Refuses a text in which git left both sides of a merge, between lines that begin with these
/// marks (git-merge, "How conflicts are presented"). The middle mark may be a person's underline.
fn refuse_merge(text: &str, name: &str) -> Result<(), BookError> {
    const FIRST: &str = "<<<<<<< ";
    const LAST: &str = ">>>>>>> ";
    let begins = |mark: &str| match text.starts_with(mark) {
        true => Some(0),
        false => text.find(&format!("\n{mark}")).map(|end| end + 1),
    };
    let Some((first, _)) = begins(FIRST).zip(begins(LAST)) else { return Ok(()) };
    let message = "an unfinished merge of git; keep the rows of both sides, and remove the lines \
                   that begin with <<<<<<<, ======= and >>>>>>>";
    Err(BookError::fault(Location::row(name, line_at(text.as_bytes(), first)), message))
}

/// As [`decode`], for a table: JSON is text, but not a table.
pub(in crate::book) fn decode_table<'a>(bytes: &'a [u8], name: &str) -> Result<&'a str, BookError> {
    let text = decode(bytes, name)?;
    if text.starts_with('{') {
        let message = format!("this is JSON, not CSV; {REMEDY}");
        return Err(BookError::fault(Location::file(name), message));
    }
    Ok(text)
}

/// The message if `bytes` are UTF-16, a spreadsheet's own file or not text.
fn foreign(bytes: &[u8]) -> Option<String> {
    if !bytes.is_empty() && bytes.iter().all(|byte| *byte == 0) {
        let message = "the contents are lost: every byte is zero, as after a power cut; bring back \
                       a copy of the file";
        return Some(message.to_owned());
    }
    let has_zeros = bytes.contains(&0);
    let zeros = || bytes.iter().filter(|&&byte| byte == 0).count();
    let what = match bytes {
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => "text in UTF-16",
        [b'P', b'K', 3, 4, ..] => "a spreadsheet's own file (xlsx or ods), not CSV",
        [0xd0, 0xcf, 0x11, 0xe0, ..] => "a spreadsheet's own file (xls), not CSV",
        [0, _, ..] | [_, 0, ..] if zeros() * 3 > bytes.len() => "text in UTF-16",
        [b'%', b'P', b'D', b'F', ..] => "a PDF, not CSV",
        [b'<', next, ..] if *next != b'<' => "a web page or other XML, not CSV",
        _ if has_zeros => "not text (it contains NUL bytes)",
        _ => return None,
    };
    Some(format!("this is {what}; {REMEDY}"))
}

/// The line, counted from 1, of the byte at `offset`.
fn line_at(bytes: &[u8], offset: usize) -> usize {
    let before = &bytes[..offset.min(bytes.len())];
    let feeds = before.iter().filter(|&&byte| byte == b'\n').count();
    let returns = before.iter().filter(|&&byte| byte == b'\r').count();
    // CRLF counts once; a file with CR alone has no LF.
    1 + feeds.max(returns)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(bytes: &[u8]) -> String {
        decode_table(bytes, "x.csv").unwrap_err().to_string()
    }

    #[test]
    fn another_encoding_is_named_with_the_remedy() {
        assert!(message(b"\xff\xfet\0r\0").starts_with("x.csv: this is text in UTF-16; save it"));
        assert!(message(b"t\0r\0i\0a\0l\0").contains("UTF-16"));
        assert!(message(b"trial,date\n\0\0").contains("NUL bytes"));
        assert!(message(b"PK\x03\x04abc").contains("xlsx"));
        assert!(message(b"<!DOCTYPE html>\n").contains("a web page"));
        assert!(message(&[0; 80]).starts_with("x.csv: the contents are lost"));
        assert!(message(b"{\n").contains("JSON"));
        assert_eq!(decode(b"{\n", "summary.json").unwrap(), "{\n");
        assert_eq!(
            message(b"trial\r\nB\xfctten\r\n"),
            "x.csv:2: byte 0xFC is not UTF-8 (it would be 'ü' in Latin-1); save it again as CSV \
             with the encoding UTF-8"
        );
    }

    #[test]
    fn both_sides_of_a_merge_are_one_fault() {
        let merged = message(b"trial\n<<<<<<< HEAD\nT2\n=======\nT3\n>>>>>>> other\n");
        assert!(
            merged.starts_with("x.csv:2: an unfinished merge of git; keep the rows"),
            "{merged}"
        );
        let first = decode(b"<<<<<<< HEAD\r\n>>>>>>> other\r\n", "x").unwrap_err().to_string();
        assert!(first.starts_with("x:1: an unfinished merge"), "{first}");
        assert!(decode(b"note\n<<<<<<< see below\n=======\n", "x").is_ok());
    }

    #[test]
    fn what_would_not_be_read_back_is_refused_by_bytes_and_by_rows() {
        let limits = Limits { bytes: MIB, rows: 3 };
        assert_eq!(limits.refusal(b"a,b\n1,2\n\"3\n\",4\n", "x.csv"), None);
        let message = |bytes: &[u8]| limits.refusal(bytes, "x.csv").unwrap_or_default();
        assert!(message(b"a\n1\n\n2\n").starts_with("x.csv would grow beyond the limit of 3 rows"));
        let long = vec![b'a'; MIB as usize];
        assert_eq!(limits.refusal(&long, "x.csv"), None);
        assert!(message(&[&long[..], b"a"].concat()).contains("beyond the limit of 1 MiB"));
    }

    #[test]
    fn a_byte_order_mark_is_taken_off() {
        assert_eq!(decode(b"\xef\xbb\xbf\"trial\"", "x").unwrap(), "\"trial\"");
    }
}
