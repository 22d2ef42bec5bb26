//! `book.digests`: the digest of each file after the program's last write, so that an edit outside
//! the program can be reported. An edit is reported and never refused.

use super::disk::{Disk, beside, failed};
use crate::book::entries::contents::{FileBytes, Rows};
use crate::book::error::BookError;
use crate::book::files::names::{BookFile, SETTINGS};
use crate::units::is_hex;
use sha2::Digest;
use std::collections::BTreeMap;
use std::fmt;

pub(in crate::book) const DIGESTS: &str = "book.digests";
const HEADER: &str = "file,bytes,rows,sha256";

/// A SHA-256 digest (FIPS 180-4), written as 64 hexadecimal digits, as `sha256sum` does.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(in crate::book) struct Sha256([u8; 32]);

impl Sha256 {
    pub(in crate::book) fn of(bytes: &[u8]) -> Self {
        Self(sha2::Sha256::digest(bytes).into())
    }

    pub(in crate::book) fn read(text: &str) -> Option<Self> {
        let mut bytes = [0; 32];
        if !is_hex(text, 2 * bytes.len()) {
            return None;
        }
        for (at, byte) in bytes.iter_mut().enumerate() {
            *byte = u8::from_str_radix(&text[2 * at..2 * at + 2], 16).ok()?;
        }
        Some(Self(bytes))
    }
}

impl fmt::Display for Sha256 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Sha256 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// One digest of the contents of all files of a book.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fingerprint(Sha256);

impl Fingerprint {
    pub(in crate::book) fn of(files: &FileBytes) -> Self {
        let rows = files.rows.iter().map(|(file, bytes)| (file.name(), Sha256::of(bytes)));
        let all = std::iter::once((SETTINGS, Sha256::of(&files.settings))).chain(rows);
        let mut text = all.map(|(name, digest)| format!("{name} {digest}\n")).collect::<String>();
        // The notices may change while the files do not.
        files.notices.iter().for_each(|notice| text += &format!("{notice}\n"));
        Self(Sha256::of(text.as_bytes()))
    }
}

/// The length and digest of a file at some time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) struct Stamp {
    pub(in crate::book) bytes: u64,
    /// The number of lines, if they were counted.
    pub(in crate::book) rows: Option<u64>,
    pub(in crate::book) sha256: Sha256,
}

impl Stamp {
    pub(in crate::book) fn of(bytes: &[u8]) -> Self {
        let sha256 = Sha256::of(bytes);
        Self { bytes: bytes.len() as u64, rows: Some(lines(bytes)), sha256 }
    }

    /// Whether `bytes` have this length and digest.
    pub(in crate::book) fn fits(&self, bytes: &[u8]) -> bool {
        self.bytes == bytes.len() as u64 && self.sha256 == Sha256::of(bytes)
    }
}

/// The number of lines in `bytes`, with any line ends. A last line without a line end counts.
pub(in crate::book) fn lines(bytes: &[u8]) -> u64 {
    let mut count = 0;
    let mut before = b'\n';
    for &byte in bytes {
        let begins = before == b'\n' || (before == b'\r' && byte != b'\n');
        count += u64::from(begins);
        before = byte;
    }
    count
}

/// The digests of a book's files, as far as they are known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(in crate::book) struct Digests {
    pub(in crate::book) rows: BTreeMap<BookFile, Stamp>,
    /// The stamp of the settings, which older programs did not write.
    pub(in crate::book) settings: Option<Stamp>,
}

impl Digests {
    /// The digests of the files as they are.
    pub(in crate::book) fn of(settings: &[u8], rows: &Rows) -> Self {
        Self { rows: stamps(rows), settings: Some(Stamp::of(settings)) }
    }
}

/// The stamps of these files.
pub(in crate::book) fn stamps(rows: &Rows) -> BTreeMap<BookFile, Stamp> {
    rows.iter().map(|(&file, bytes)| (file, Stamp::of(bytes))).collect()
}

/// Parses the bytes of `book.digests`. An invalid line is skipped, so nothing is known of its file.
pub(in crate::book) fn decode(bytes: &[u8]) -> Digests {
    let mut digests = Digests::default();
    for (name, stamp) in String::from_utf8_lossy(bytes).lines().filter_map(entry) {
        match BookFile::named(name) {
            Some(file) => drop(digests.rows.insert(file, stamp)),
            None if name == SETTINGS => digests.settings = Some(stamp),
            None => {}
        }
    }
    digests
}

fn entry(line: &str) -> Option<(&str, Stamp)> {
    let mut cells = line.split(',');
    let name = cells.next()?;
    let bytes = cells.next()?.parse().ok()?;
    let rows = Some(cells.next()?.parse().ok()?);
    let sha256 = Sha256::read(cells.next()?.trim())?;
    Some((name, Stamp { bytes, rows, sha256 }))
}

pub(in crate::book) fn encode(digests: &Digests) -> Vec<u8> {
    let mut text = format!("{HEADER}\n");
    let of_rows = digests.rows.iter().map(|(file, stamp)| (file.name(), stamp));
    let of_settings = digests.settings.iter().map(|stamp| (SETTINGS, stamp));
    for (name, Stamp { bytes, rows, sha256 }) in of_rows.chain(of_settings) {
        let rows = rows.unwrap_or_default();
        text.push_str(&format!("{name},{bytes},{rows},{sha256}\n"));
    }
    text.into_bytes()
}

/// The bytes of `book.digests` for a new book with these files. Its settings are made last.
pub(in crate::book) fn first_digests(rows: &Rows) -> Vec<u8> {
    encode(&Digests { rows: stamps(rows), settings: None })
}

/// Reads the digests of `files`. Without `book.digests` none are known. Digests that a command
/// prepared but could not put in place count for the files that they fit.
pub(in crate::book) fn read<D: Disk>(disk: &D, files: &FileBytes) -> Result<Digests, BookError> {
    let decoded = |name: &str| {
        let bytes = disk.read(name).map_err(failed(disk, name, "reading"))?;
        Ok(decode(&bytes.unwrap_or_default()))
    };
    let mut digests: Digests = decoded(DIGESTS)?;
    // Any error means that no digests are prepared.
    let prepared: Digests = decoded(&beside(DIGESTS)).unwrap_or_default();
    let fits = |(file, stamp): &(BookFile, Stamp)| {
        files.rows.get(file).is_some_and(|bytes| stamp.fits(bytes))
    };
    digests.rows.extend(prepared.rows.into_iter().filter(fits));
    let settings = prepared.settings.filter(|stamp| stamp.fits(&files.settings));
    digests.settings = settings.or(digests.settings);
    Ok(digests)
}

/// Writes the digests beside the old ones, for [`put`].
///
/// # Errors
/// [`BookError::Io`]; nothing of them is left then.
pub(in crate::book) fn prepare<D: Disk>(disk: &D, digests: &Digests) -> Result<(), BookError> {
    let prepared = disk.prepare(DIGESTS, &encode(digests), BookFile::Readings.name());
    prepared.map_err(|error| {
        disk.discard(DIGESTS);
        failed(disk, DIGESTS, NOTING)(error)
    })
}

/// Replaces the old digests by the prepared ones, and syncs the folder.
pub(in crate::book) fn put<D: Disk>(disk: &D) -> Result<(), BookError> {
    disk.put(DIGESTS).and_then(|()| disk.sync_folder()).map_err(failed(disk, DIGESTS, NOTING))
}

const NOTING: &str = "noting what the files hold";

pub(in crate::book) fn write<D: Disk>(disk: &D, digests: &Digests) -> Result<(), BookError> {
    prepare(disk, digests).and_then(|()| put(disk))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digests_are_those_of_the_standard() {
        // Example messages of FIPS 180-4: "abc" and the empty one.
        assert_eq!(
            Sha256::of(b"abc").to_string(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        let empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
        assert_eq!(Sha256::of(b"").to_string(), empty);
        assert_eq!(Sha256::read(empty), Some(Sha256::of(b"")));
        for bad in [&empty[1..], &format!("{empty}00"), &"é".repeat(32)] {
            assert_eq!(Sha256::read(bad), None, "{bad}");
        }
    }

    #[test]
    fn what_is_written_reads_alike() {
        let rows = BTreeMap::from([
            (BookFile::Papers, b"paper\nbond\n".to_vec()),
            (BookFile::Readings, Vec::new()),
        ]);
        let digests = Digests::of(b"format = 1\n", &rows);
        assert_eq!(decode(&encode(&digests)), digests);
        let none = decode(b"file,bytes\npapers.csv,1\n\xff\xfe\n,,,\n");
        assert_eq!(none, Digests::default());
    }

    #[test]
    fn lines_are_counted_whatever_their_line_ends() {
        let counts =
            [&b""[..], b"a", b"a\n", b"a\nb", b"a\r\nb\r\n", b"a\rb\r", b"\n\n"].map(lines);
        assert_eq!(counts, [0, 1, 1, 2, 2, 2, 2]);
    }
}
