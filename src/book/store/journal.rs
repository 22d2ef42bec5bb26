//! `book.journal`: what one command adds to the files, written before any of them is touched.
//!
//! It is a text that a person can read if necessary. The first line has the form and the digest of
//! all that follows. Then each file has a line and the bytes to be added. At the end of its line
//! are the added rows that the file held already: `-` for none, or the number of each such row and
//! how often it was there.
//!
//! ```text
//! swellbook journal 2 SHA256-OF-ALL-BELOW
//! trials.csv 512 SHA256-OF-THOSE-512-BYTES 48 -
//! plain-3,2026-03-14,block,bond,linen,8,4,1,0,no,,
//! ```
//!
//! A journal counts only if it is complete to the last byte. An incomplete one was cut off before
//! its command was decided, and no file has been touched.

use super::digests::{Sha256, Stamp};
use super::disk::{Disk, Growing, LARGEST, failed};
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use std::collections::{BTreeMap, HashMap};

pub(in crate::book) const JOURNAL: &str = "book.journal";
/// The form that this program writes. It also reads form 1, which did not count equal rows.
const FORM: u32 = 2;
/// The form of a journal that names a file of [`BookFile::is_made_late`]. An older program does not
/// know the file. It must not conclude that the command was never decided.
const LATE_FORM: u32 = 3;
/// The beginning of the first line.
const OPENING: &str = "swellbook journal ";

/// Bytes to append to a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Addition {
    pub(in crate::book) file: BookFile,
    /// The length and digest of the file before the addition.
    pub(in crate::book) before: Stamp,
    pub(in crate::book) bytes: Vec<u8>,
    /// How often the file held a row of the addition before. For example, a reading that was struck
    /// and recorded again has a twin. The key is the number of the row, from 0; rows without twins
    /// are left out.
    twins: BTreeMap<usize, u64>,
}

impl Addition {
    /// The addition of `bytes` to `file`, which now holds `before`.
    pub(in crate::book) fn new(file: BookFile, before: &[u8], bytes: Vec<u8>) -> Self {
        // Index the shorter of the two: a large sheet may be added to an empty file.
        let counts = counted(before, if before.len() < bytes.len() { before } else { &bytes });
        let twins = rows(&bytes).enumerate();
        let twins = twins.filter_map(|(number, row)| Some((number, *counts.get(row)?)));
        let twins = twins.filter(|(_, count)| *count > 0).collect();
        Self { file, before: Stamp::of(before), bytes, twins }
    }

    /// How much of the addition is among the rows of `now`, not counting its twins.
    pub(in crate::book) fn within(&self, now: &[u8]) -> Within {
        let there = counted(now, &self.bytes);
        let mut twins: BTreeMap<&[u8], u64> = BTreeMap::new();
        let mut added: BTreeMap<&[u8], u64> = BTreeMap::new();
        for (number, row) in rows(&self.bytes).enumerate() {
            twins.entry(row).or_insert(self.twins.get(&number).copied().unwrap_or_default());
            *added.entry(row).or_default() += 1;
        }
        let own = |row: &[u8]| there[row].saturating_sub(twins[row]);
        if added.iter().all(|(row, count)| own(row) >= *count) {
            Within::Whole
        } else if added.keys().any(|row| own(row) > 0) {
            Within::Part
        } else {
            Within::Nothing
        }
    }
}

/// How much of an addition a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::book) enum Within {
    Whole,
    Part,
    Nothing,
}

/// The rows in `bytes`, with any line ends, without empty ones.
fn rows(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    let lines = bytes.split(|byte| matches!(byte, b'\n' | b'\r'));
    lines.filter(|line| !line.is_empty())
}

/// How often each row of `wanted` is in `bytes`.
fn counted<'a>(bytes: &'a [u8], wanted: &'a [u8]) -> HashMap<&'a [u8], u64> {
    let mut counts: HashMap<&[u8], u64> = rows(wanted).map(|row| (row, 0)).collect();
    for row in rows(bytes) {
        if let Some(count) = counts.get_mut(row) {
            *count += 1;
        }
    }
    counts
}

pub(in crate::book) fn encode<'a>(additions: impl Iterator<Item = &'a Addition>) -> Vec<u8> {
    let (mut body, mut form) = (Vec::new(), FORM);
    for Addition { file, before, bytes, twins } in additions {
        if file.is_made_late() {
            form = LATE_FORM;
        }
        let Stamp { bytes: length, sha256, .. } = before;
        let twins = encode_twins(twins);
        let line = format!("{} {length} {sha256} {} {twins}\n", file.name(), bytes.len());
        body.extend_from_slice(line.as_bytes());
        body.extend_from_slice(bytes);
        body.push(b'\n');
    }
    let mut journal = format!("{OPENING}{form} {}\n", Sha256::of(&body)).into_bytes();
    journal.append(&mut body);
    journal
}

fn encode_twins(twins: &BTreeMap<usize, u64>) -> String {
    let pairs = twins.iter().map(|(number, count)| format!("{number}:{count}"));
    let text = pairs.collect::<Vec<_>>().join(",");
    if text.is_empty() { "-".to_owned() } else { text }
}

fn decode_twins(text: &str) -> Option<BTreeMap<usize, u64>> {
    if text == "-" {
        return Some(BTreeMap::new());
    }
    let pair = |pair: &str| {
        let (number, count) = pair.split_once(':')?;
        Some((number.parse().ok()?, count.parse().ok()?))
    };
    text.split(',').map(pair).collect()
}

/// What the bytes of a journal mean.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) enum Journal {
    /// No command is unfinished.
    Empty,
    /// The journal was cut off during writing, so nothing was decided.
    CutOff,
    /// A command that may be half done.
    Decided(Vec<Addition>),
    /// Not written by this program.
    Foreign,
    /// Written by a newer program.
    Newer,
}

pub(in crate::book) fn decode(bytes: &[u8]) -> Journal {
    if bytes.is_empty() {
        return Journal::Empty;
    }
    // On some file systems, bytes that did not reach the disk are zeros.
    let begins = |(now, own): (&u8, &u8)| now == own || *now == 0;
    if !bytes.iter().zip(OPENING.as_bytes()).all(begins) {
        return Journal::Foreign;
    }
    let Some((first, body)) = line(bytes) else { return Journal::CutOff };
    let Some((form, sum)) = first.strip_prefix(OPENING).and_then(|rest| rest.split_once(' '))
    else {
        return Journal::CutOff;
    };
    match form.parse::<u32>() {
        Ok(form @ 1..=LATE_FORM) if Sha256::read(sum) == Some(Sha256::of(body)) => {
            let late = |all: &Vec<Addition>| all.iter().any(|it| it.file.is_made_late());
            let fits = |all: &Vec<Addition>| late(all) == (form == LATE_FORM);
            additions(body).filter(fits).map_or(Journal::CutOff, Journal::Decided)
        }
        Ok(newer) if newer > LATE_FORM => Journal::Newer,
        _ => Journal::CutOff,
    }
}

fn additions(mut body: &[u8]) -> Option<Vec<Addition>> {
    let mut found = Vec::new();
    while !body.is_empty() {
        let (head, rest) = line(body)?;
        let mut words = head.split(' ');
        let file = BookFile::named(words.next()?)?;
        let (before, sha256) = (words.next()?.parse().ok()?, Sha256::read(words.next()?)?);
        let length: usize = words.next()?.parse().ok()?;
        let bytes = rest.get(..length)?.to_vec();
        body = rest.get(length..)?.strip_prefix(b"\n")?;
        let twins = words.next().map_or(Some(BTreeMap::new()), decode_twins)?;
        let before = Stamp { bytes: before, rows: None, sha256 };
        found.push(Addition { file, before, bytes, twins });
    }
    Some(found)
}

/// The first line of `bytes`, and the rest.
fn line(bytes: &[u8]) -> Option<(&str, &[u8])> {
    let end = bytes.iter().position(|&byte| byte == b'\n')?;
    Some((std::str::from_utf8(&bytes[..end]).ok()?, &bytes[end + 1..]))
}

/// Writes the journal of a command and syncs it. From here on the command is decided.
///
/// # Errors
/// [`BookError::Io`] if nothing was kept; [`BookError::Undecided`] if the journal may be on the
/// disk.
pub(in crate::book) fn write<'a, D: Disk>(
    disk: &D,
    additions: impl Iterator<Item = &'a Addition> + Clone,
) -> Result<(), BookError> {
    const DOING: &str = "noting what is to be added";
    let bytes = encode(additions.clone());
    if bytes.len() as u64 > LARGEST {
        let message = "this is too much to add at once; nothing was saved; add it in parts";
        return Err(BookError::Clash(message.to_owned()));
    }
    let error = failed(disk, JOURNAL, DOING);
    let file = match disk.read(JOURNAL).map_err(&error)? {
        Some(_) => disk.open(JOURNAL),
        None => {
            let like = additions.clone().next().map_or(JOURNAL, |addition| addition.file.name());
            disk.create(JOURNAL, like)
        }
    };
    let mut file = file.map_err(&error)?;
    // Sync its name too: a program that was stopped may have made the file without syncing the
    // folder.
    disk.sync_folder().map_err(&error)?;
    // The journal holds the rows, so it must be as private as their files.
    additions.clone().for_each(|addition| disk.hide(JOURNAL, addition.file.name()));
    let written = file.add(&bytes, &mut 0).and_then(|()| file.sync());
    written.map_err(|source| match file.cut(0).and_then(|()| file.sync()) {
        // A journal that is cut off does not count. Report the first error.
        Ok(()) => error(source),
        Err(_) => BookError::Undecided { path: disk.path(JOURNAL), doing: DOING, source },
    })
}

/// The action named in errors while the journal of a finished command is emptied.
pub(in crate::book) const DONE: &str = "noting that the command is done";

/// Empties the journal, because its command is done or was taken back; `doing` says which. If the
/// file cannot be emptied, an empty one replaces it.
pub(in crate::book) fn clear<D: Disk>(disk: &D, doing: &'static str) -> Result<(), BookError> {
    let empty = |mut file: D::File| file.cut(0).and_then(|()| file.sync());
    let cleared = disk.open(JOURNAL).and_then(empty);
    let cleared = cleared.or_else(|error| {
        let replaced = disk.replace(JOURNAL, b"", JOURNAL).and_then(|()| disk.sync_folder());
        replaced.map_err(|_| error)
    });
    cleared.map_err(failed(disk, JOURNAL, doing))
}

/// Syncs a journal that was found, and its name, before it is acted on. The program that wrote it
/// may have been stopped before its sync, or the sync may have failed. A new file replaces the
/// journal, because a later sync does not write what a failed one has lost.
///
/// # Errors
/// [`BookError::Io`]; the journal is then as it was.
pub(in crate::book) fn make_lasting<D: Disk>(disk: &D, bytes: &[u8]) -> Result<(), BookError> {
    let replaced = disk.replace(JOURNAL, bytes, JOURNAL).and_then(|()| disk.sync_folder());
    replaced.map_err(failed(disk, JOURNAL, "syncing it to the disk"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn additions() -> Vec<Addition> {
        [(BookFile::Trials, "T1,\"a\nb\"\n"), (BookFile::Readings, "\nT1,sewn,1\nT1,sewn,2\n")]
            .map(|(file, text)| {
                let before = b"a header\nT1,sewn,2\n";
                let addition = Addition::new(file, before, text.as_bytes().to_vec());
                // The journal does not store the number of lines.
                Addition { before: Stamp { rows: None, ..addition.before }, ..addition }
            })
            .to_vec()
    }

    #[test]
    fn what_is_written_reads_alike() {
        assert_eq!(decode(&encode(additions().iter())), Journal::Decided(additions()));
        assert_eq!(decode(b""), Journal::Empty);
    }

    #[test]
    fn a_journal_cut_off_anywhere_counts_as_none() {
        let whole = encode(additions().iter());
        for length in 1..whole.len() {
            assert_eq!(decode(&whole[..length]), Journal::CutOff, "{length}");
        }
    }

    #[test]
    fn a_journal_with_any_byte_changed_counts_as_none() {
        let whole = encode(additions().iter());
        for at in 0..whole.len() {
            let mut changed = whole.clone();
            changed[at] ^= 1;
            assert!(!matches!(decode(&changed), Journal::Decided(_)), "byte {at}");
        }
    }

    #[test]
    fn a_newer_journal_is_known_for_one() {
        assert_eq!(decode(b"swellbook journal 4 whatever\n"), Journal::Newer);
    }

    #[test]
    fn a_journal_that_names_a_file_made_late_is_newer_to_an_older_program() {
        let late =
            Addition::new(BookFile::Changes, b"date,change,rows,turn,number\n", b"a\n".to_vec());
        let journal = encode(additions().iter().chain([&late]));
        assert!(journal.starts_with(b"swellbook journal 3 "));
        assert!(encode(additions().iter()).starts_with(b"swellbook journal 2 "));
        assert!(matches!(decode(&journal), Journal::Decided(all) if all.len() == 3));
    }

    #[test]
    fn a_journal_of_the_first_form_is_read() {
        let header = Sha256::of(b"header\n");
        let body = format!("trials.csv 7 {header} 4\nT1,\n\n");
        let journal = format!("{OPENING}1 {}\n{body}", Sha256::of(body.as_bytes()));
        let Journal::Decided(found) = decode(journal.as_bytes()) else { panic!("it is not read") };
        assert_eq!(found[0].bytes, b"T1,\n");
        assert!(found[0].twins.is_empty());
    }

    #[test]
    fn rows_are_counted_beside_their_twins() {
        let addition = Addition::new(BookFile::Readings, b"h\na\nb\n", b"a\nc\nc\n".to_vec());
        assert_eq!(addition.within(b"h\na\nc\nb\nc\na\n"), Within::Whole);
        assert_eq!(addition.within(b"h\na\nb\nc\nc\n"), Within::Part, "the twin is not the row");
        assert_eq!(addition.within(b"h\na\nb\na\nc\n"), Within::Part, "one of two is gone");
        assert_eq!(addition.within(b"h\na\nb\n"), Within::Nothing);
    }

    #[test]
    fn a_journal_names_no_file_but_those_of_a_book() {
        let body = b"../../etc/passwd 0 e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855 1 -\nx\n";
        let journal = format!("{OPENING}{FORM} {}\n", Sha256::of(body));
        assert_eq!(decode(&[journal.as_bytes(), body].concat()), Journal::CutOff);
    }
}
