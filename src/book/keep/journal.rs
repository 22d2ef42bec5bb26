//! `book.journal`: what one command adds to the files, written before any of them is touched.
//!
//! A text that a person can read in need: a line with the form and the digest of all that
//! follows, then for each file a line and the bytes to be added to it.
//!
//! ```text
//! swellbook journal 1 SHA256-OF-ALL-BELOW
//! trials.csv 512 SHA256-OF-THOSE-512-BYTES 48
//! plain-3,2026-03-14,block,bond,linen,8,4,1,0,no,,
//! ```
//!
//! Only a journal that is there to its last byte counts: one that is not was cut off before its
//! command was decided, and no file has been touched.

use super::digests::{Sha256, Stamp};
use super::disk::{Disk, Growing, failed};
use crate::book::BookError;
use crate::book::files::BookFile;

/// The file's name in the folder.
pub(in crate::book) const JOURNAL: &str = "book.journal";
/// The form this program writes and reads.
const FORM: u32 = 1;
/// How its first line begins.
const OPENING: &str = "swellbook journal ";

/// Bytes for the end of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Addition {
    /// The file.
    pub(super) file: BookFile,
    /// What it held before.
    pub(super) before: Stamp,
    /// What is added to it.
    pub(super) bytes: Vec<u8>,
}

/// The journal's bytes.
pub(super) fn encode(additions: &[Addition]) -> Vec<u8> {
    let mut body = Vec::new();
    for Addition { file, before, bytes } in additions {
        let Stamp { bytes: length, sha256, .. } = before;
        let line = format!("{} {length} {sha256} {}\n", file.name(), bytes.len());
        body.extend_from_slice(line.as_bytes());
        body.extend_from_slice(bytes);
        body.push(b'\n');
    }
    let mut journal = format!("{OPENING}{FORM} {}\n", Sha256::of(&body)).into_bytes();
    journal.append(&mut body);
    journal
}

/// What the bytes of a journal say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Journal {
    /// Nothing was under way.
    Empty,
    /// It was cut off in writing: nothing was decided.
    CutOff,
    /// A command that may be half done.
    Decided(Vec<Addition>),
    /// Written by a newer program.
    Newer,
}

/// Reads the bytes of a journal.
pub(super) fn decode(bytes: &[u8]) -> Journal {
    if bytes.is_empty() {
        return Journal::Empty;
    }
    let Some((first, body)) = line(bytes) else { return Journal::CutOff };
    let Some((form, sum)) = first.strip_prefix(OPENING).and_then(|rest| rest.split_once(' '))
    else {
        return Journal::CutOff;
    };
    match form.parse::<u32>() {
        Ok(FORM) if sum.parse() == Ok(Sha256::of(body)) => {
            additions(body).map_or(Journal::CutOff, Journal::Decided)
        }
        Ok(newer) if newer > FORM => Journal::Newer,
        _ => Journal::CutOff,
    }
}

fn additions(mut body: &[u8]) -> Option<Vec<Addition>> {
    let mut found = Vec::new();
    while !body.is_empty() {
        let (head, rest) = line(body)?;
        let mut words = head.split(' ');
        let file = BookFile::named(words.next()?)?;
        let (before, sha256) = (words.next()?.parse().ok()?, words.next()?.parse().ok()?);
        let length: usize = words.next()?.parse().ok()?;
        let bytes = rest.get(..length)?.to_vec();
        body = rest.get(length..)?.strip_prefix(b"\n")?;
        let before = Stamp { bytes: before, rows: None, sha256 };
        found.push(Addition { file, before, bytes });
    }
    Some(found)
}

/// The first line of `bytes` and what follows it.
fn line(bytes: &[u8]) -> Option<(&str, &[u8])> {
    let end = bytes.iter().position(|&byte| byte == b'\n')?;
    Some((std::str::from_utf8(&bytes[..end]).ok()?, &bytes[end + 1..]))
}

/// What is said where a journal could neither be made lasting nor emptied.
const UNDECIDED: &str = "writing down what is to be added; look whether it is there before you \
                         repeat the command";

/// Writes the journal of a command and makes it lasting: from here on the command is decided.
///
/// # Errors
/// [`BookError::Io`]; the journal is then empty again, unless that cannot be done either.
pub(super) fn write<D: Disk>(disk: &D, additions: &[Addition]) -> Result<(), BookError> {
    let error = failed(disk, JOURNAL, "writing down what is to be added (nothing was kept)");
    let mut file = match disk.read(JOURNAL).map_err(&error)? {
        Some(_) => disk.open(JOURNAL).map_err(&error)?,
        None => {
            let file = disk.create(JOURNAL).map_err(&error)?;
            disk.sync_folder().map_err(&error)?;
            file
        }
    };
    let written = file.add(&encode(additions)).and_then(|()| file.sync());
    written.map_err(|source| match file.cut(0).and_then(|()| file.sync()) {
        // One that is cut off counts as none; the first error is the one to tell of.
        Ok(()) => error(source),
        Err(_) => failed(disk, JOURNAL, UNDECIDED)(source),
    })
}

/// Empties the journal: its command is done, or taken back.
///
/// # Errors
/// [`BookError::Io`].
pub(super) fn clear<D: Disk>(disk: &D) -> Result<(), BookError> {
    let empty = |mut file: D::File| file.cut(0).and_then(|()| file.sync());
    disk.open(JOURNAL).and_then(empty).map_err(failed(
        disk,
        JOURNAL,
        "noting that the command is done",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn additions() -> Vec<Addition> {
        [(BookFile::Trials, "T1,\"a\nb\"\n"), (BookFile::Readings, "\nT1,sewn,1\n")]
            .map(|(file, text)| {
                let before = Stamp { rows: None, ..Stamp::of(b"a header\n") };
                Addition { file, before, bytes: text.as_bytes().to_vec() }
            })
            .to_vec()
    }

    #[test]
    fn what_is_written_reads_alike() {
        assert_eq!(decode(&encode(&additions())), Journal::Decided(additions()));
        assert_eq!(decode(b""), Journal::Empty);
    }

    #[test]
    fn a_journal_cut_off_anywhere_counts_as_none() {
        let whole = encode(&additions());
        for length in 1..whole.len() {
            assert_eq!(decode(&whole[..length]), Journal::CutOff, "{length}");
        }
    }

    #[test]
    fn a_journal_with_any_byte_changed_counts_as_none() {
        let whole = encode(&additions());
        for at in 0..whole.len() {
            let mut changed = whole.clone();
            changed[at] ^= 1;
            assert!(!matches!(decode(&changed), Journal::Decided(_)), "byte {at}");
        }
    }

    #[test]
    fn a_newer_journal_is_known_for_one() {
        assert_eq!(decode(b"swellbook journal 2 whatever\n"), Journal::Newer);
    }

    #[test]
    fn a_journal_names_no_file_but_those_of_a_book() {
        let body = b"../../etc/passwd 0 e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855 1\nx\n";
        let journal = format!("{OPENING}1 {}\n", Sha256::of(body));
        assert_eq!(decode(&[journal.as_bytes(), body].concat()), Journal::CutOff);
    }
}
