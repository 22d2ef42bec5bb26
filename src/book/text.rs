//! From a file's bytes to its text, recognising what is not a text in UTF-8.

use super::{BookError, Location};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// The largest file read, in bytes: a thousand times the largest book we can imagine.
const LARGEST: u64 = 64 * 1024 * 1024;

/// What to do about a file in another form.
const REMEDY: &str = "save it again as CSV with the encoding UTF-8";

/// The bytes of the file at `path`, at most 64 MiB. Messages call it `name`.
///
/// # Errors
/// [`BookError::Io`] when it cannot be read; [`BookError::Faults`] for a folder or a file too large.
pub fn read_file(path: &Path, name: &str) -> Result<Vec<u8>, BookError> {
    if path.is_dir() {
        let message = "this is a folder, not a file; name the CSV file in it";
        return Err(BookError::fault(Location::file(name), message));
    }
    let io = |source| BookError::Io { path: path.to_owned(), doing: "reading", source };
    let file = File::open(path).map_err(io)?;
    let length = file.metadata().map_err(io)?.len();
    if length > LARGEST {
        return Err(too_large(name));
    }
    // The length of what is no plain file is zero.
    read_into(Vec::with_capacity(length as usize), file, name)
}

/// The bytes of `reader`, such as standard input, at most 64 MiB. Messages call it `name`.
///
/// # Errors
/// [`BookError::Io`] when it cannot be read; [`BookError::Faults`] when there is too much.
pub fn read_bounded(reader: impl Read, name: &str) -> Result<Vec<u8>, BookError> {
    read_into(Vec::new(), reader, name)
}

fn read_into(mut bytes: Vec<u8>, reader: impl Read, name: &str) -> Result<Vec<u8>, BookError> {
    let read = reader.take(LARGEST + 1).read_to_end(&mut bytes);
    read.map_err(|source| BookError::Io { path: name.into(), doing: "reading", source })?;
    if bytes.len() as u64 > LARGEST {
        return Err(too_large(name));
    }
    Ok(bytes)
}

fn too_large(name: &str) -> BookError {
    let message = format!("larger than {} MiB; split it", LARGEST / (1024 * 1024));
    BookError::fault(Location::file(name), message)
}

/// The text of `bytes` without its byte-order mark.
///
/// # Errors
/// [`BookError::Faults`] for UTF-16, Latin-1, a spreadsheet's own file or any other binary.
pub(super) fn decode<'a>(bytes: &'a [u8], name: &str) -> Result<&'a str, BookError> {
    if let Some(message) = foreign(bytes) {
        return Err(BookError::fault(Location::file(name), message));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let row = line_at(bytes, at);
        let byte = bytes.get(at).copied().unwrap_or_default();
        let message = format!(
            "byte 0x{byte:02X} is not UTF-8{}; {REMEDY}",
            latin_1(byte).map(|c| format!(" (it would be '{c}' in Latin-1)")).unwrap_or_default()
        );
        BookError::fault(Location::row(name, row), message)
    })?;
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

/// What `bytes` are when they are not a text of single bytes.
fn foreign(bytes: &[u8]) -> Option<String> {
    let zeros = bytes.iter().filter(|&&byte| byte == 0).count();
    let what = match bytes {
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => "text in UTF-16",
        [b'P', b'K', 3, 4, ..] => "a spreadsheet's own file (xlsx or ods), not CSV",
        [0xd0, 0xcf, 0x11, 0xe0, ..] => "a spreadsheet's own file (xls), not CSV",
        [0, _, ..] | [_, 0, ..] if zeros * 3 > bytes.len() => "text in UTF-16",
        _ if zeros > 0 => "not text (it holds NUL bytes)",
        _ => return None,
    };
    Some(format!("this is {what}; {REMEDY}"))
}

/// The printable character a byte stands for in Latin-1.
fn latin_1(byte: u8) -> Option<char> {
    (byte >= 0xa0).then(|| char::from(byte))
}

/// The line, counted from 1, in which the byte at `offset` stands.
fn line_at(bytes: &[u8], offset: usize) -> usize {
    let before = &bytes[..offset.min(bytes.len())];
    let feeds = before.iter().filter(|&&byte| byte == b'\n').count();
    let returns = before.iter().filter(|&&byte| byte == b'\r').count();
    // CRLF counts once; a file with CR alone has no LF at all.
    1 + feeds.max(returns)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(bytes: &[u8]) -> String {
        decode(bytes, "x.csv").unwrap_err().to_string()
    }

    #[test]
    fn another_encoding_is_named_with_the_remedy() {
        assert!(message(b"\xff\xfet\0r\0").starts_with("x.csv: this is text in UTF-16; save it"));
        assert!(message(b"t\0r\0i\0a\0l\0").contains("UTF-16"));
        assert!(message(b"trial,date\n\0\0").contains("NUL bytes"));
        assert!(message(b"PK\x03\x04abc").contains("xlsx"));
        assert_eq!(
            message(b"trial\r\nB\xfctten\r\n"),
            "x.csv:2: byte 0xFC is not UTF-8 (it would be 'ü' in Latin-1); save it again as CSV with the encoding UTF-8"
        );
    }

    #[test]
    fn a_byte_order_mark_is_taken_off() {
        assert_eq!(decode(b"\xef\xbb\xbf\"trial\"", "x").unwrap(), "\"trial\"");
    }
}
