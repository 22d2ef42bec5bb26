//! Reads the files, and deals with what an earlier command left behind.

use super::digests::{Digests, Stamp};
use super::disk::{Disk, failed};
use super::journal::{Addition, JOURNAL, Journal};
use super::recover::{Left, SET_ASIDE, fixed, left, settle};
use super::torn::{Torn, aside, set_aside, torn};
use super::{digests, journal};
use crate::book::entries::contents::{FileBytes, bytes_of};
use crate::book::error::BookError;
use crate::book::files::config_file::parse_config;
use crate::book::files::names::{BookFile, SETTINGS};
use crate::book::location::Location;
use crate::book::notice::Notice;

/// The files as a command read them before adding to them.
#[derive(Clone, Debug)]
pub(in crate::book) struct Opened {
    pub(in crate::book) files: FileBytes,
    /// The digests after the program's last write.
    pub(in crate::book) digests: Digests,
}

/// The files as they will be once what was left behind is settled. Writes nothing.
pub(in crate::book) fn read<D: Disk>(
    disk: &D,
    mut files: FileBytes,
) -> Result<FileBytes, BookError> {
    let journal = left_behind(disk, &files)?;
    let left = left(&journal, &files.rows);
    let digests = digests::read(disk, &files)?;
    match &left {
        Left::Finish(fixes, _) | Left::TakeBack(fixes, _) => fixed(&mut files.rows, fixes),
        Left::Nothing | Left::CutOff => {}
    }
    files.notices.extend(unfinished(&left));
    files.notices.extend(saved_with(&left));
    // The notices about the journal already cover its files.
    let mut edited = edits(&files, &digests);
    if let Journal::Decided(additions) = &journal {
        let is_of = |name: &str| additions.iter().any(|Addition { file, .. }| file.name() == name);
        edited.retain(|notice| !is_of(&notice.place().file));
    }
    files.notices.extend(edited);
    files.notices.extend(unwatched(&files, &digests));
    for torn in torn_lines(&files, &digests) {
        files.notices.push(torn.notice(&files.rows));
        files.rows.entry(torn.file).or_default().truncate(torn.at);
    }
    files.notices.extend(put_aside(disk)?);
    Ok(files)
}

/// The files, after settling what was left behind on the disk.
pub(in crate::book) fn read_to_write<D: Disk>(
    disk: &D,
    mut files: FileBytes,
) -> Result<Opened, BookError> {
    let journal = left_behind(disk, &files)?;
    let mut digests = digests::read(disk, &files)?;
    let left = settle(disk, &journal, &mut files.rows, &mut digests)?;
    files.notices.extend(unfinished(&left));
    files.notices.extend(saved_with(&left));
    files.notices.extend(edits(&files, &digests));
    let torn = torn_lines(&files, &digests);
    files.notices.extend(set_aside(disk, &torn, &mut files.rows)?);
    files.notices.extend(put_aside(disk)?);
    Ok(Opened { files, digests })
}

/// Accepts the files as they are: writes their digests.
pub(in crate::book) fn accept<D: Disk>(disk: &D, opened: &Opened) -> Result<(), BookError> {
    digests::write(disk, &Digests::of(&opened.files.settings, &opened.files.rows))
}

/// The files that are not as the program left them, unless a command that was stopped explains it.
pub(in crate::book) fn edited_files<D: Disk>(
    disk: &D,
    files: &FileBytes,
) -> Result<Vec<BookFile>, BookError> {
    let journal = disk.read(JOURNAL).map_err(failed(disk, JOURNAL, "reading"))?;
    if journal.is_some_and(|bytes| !bytes.is_empty()) {
        return Ok(Vec::new());
    }
    let digests = digests::read(disk, files)?;
    let edited = |(file, bytes): (&BookFile, &Vec<u8>)| {
        let as_left = digests.rows.get(file).is_some_and(|stamp| stamp.fits(bytes));
        (!as_left).then_some(*file)
    };
    Ok(files.rows.iter().filter_map(edited).collect())
}

/// The journal that an earlier command left behind. The journal of a newer program's book is not
/// read.
fn left_behind<D: Disk>(disk: &D, files: &FileBytes) -> Result<Journal, BookError> {
    if let Err(error @ BookError::Damaged { .. }) = parse_config(&files.settings) {
        return Err(error);
    }
    let bytes = disk.read(JOURNAL).map_err(failed(disk, JOURNAL, "reading"))?;
    let journal = journal::decode(&bytes.unwrap_or_default());
    let message = match journal {
        Journal::Newer => "left unfinished by a newer swellbook; use the newer program",
        Journal::Foreign => {
            "this was not written by swellbook, which needs this name for a file of its own; \
             move it away"
        }
        Journal::Empty | Journal::CutOff | Journal::Decided(_) => return Ok(journal),
    };
    Err(BookError::Damaged { path: disk.path(JOURNAL), message: message.to_owned() })
}

/// The notice about a command that was stopped.
fn unfinished(left: &Left) -> Option<Notice> {
    let place = Location::file(JOURNAL);
    match left {
        Left::Nothing | Left::CutOff => None,
        Left::Finish(..) => Some(Notice::Finished { place }),
        Left::TakeBack(_, stays) => {
            Some(Notice::TakenBack { place, aside: SET_ASIDE, stays: stays.clone() })
        }
    }
}

fn torn_lines(files: &FileBytes, digests: &Digests) -> Vec<Torn> {
    let torn = |(&file, bytes): (&BookFile, &Vec<u8>)| torn(file, bytes, digests.rows.get(&file));
    files.rows.iter().filter_map(torn).collect()
}

/// Notices about files that another program saved with what a finished command added to them.
pub(in crate::book) fn saved_with(left: &Left) -> Vec<Notice> {
    let Left::Finish(_, stays) = left else { return Vec::new() };
    stays.iter().map(|name| Notice::Saved { place: Location::file(name) }).collect()
}

/// Notices about files that were edited since the program's last write.
fn edits(files: &FileBytes, digests: &Digests) -> Vec<Notice> {
    let edit = |(&file, then): (&BookFile, &Stamp)| {
        // A file that is made late may have been removed again, with its rows.
        let bytes = bytes_of(&files.rows, file);
        if then.fits(bytes) {
            return None;
        }
        let now = Stamp::of(bytes).rows.unwrap_or_default();
        let place = Location::file(file.name());
        Some(Notice::Edited { place, then: then.rows.unwrap_or_default(), now })
    };
    let of_rows = digests.rows.iter().filter_map(edit);
    of_rows.chain(settings_edited(&files.settings, digests)).collect()
}

/// The notice about files with rows whose digest is not known. Older books have none.
fn unwatched(files: &FileBytes, digests: &Digests) -> Option<Notice> {
    let has_rows = |bytes: &[u8]| {
        let end = bytes.iter().position(|byte| matches!(byte, b'\n' | b'\r'));
        end.is_some_and(|end| !bytes[end..].trim_ascii().is_empty())
    };
    let unknown = files.rows.iter().filter(|(file, _)| !digests.rows.contains_key(file));
    let unknown = unknown.filter(|(_, bytes)| has_rows(bytes));
    let names: Vec<&str> = unknown.map(|(file, _)| file.name()).collect();
    let place = Location::file(digests::DIGESTS);
    (!names.is_empty()).then_some(Notice::Unwatched { place, files: names })
}

/// The notice about edited settings. A part of the settings is valid too, with the defaults for
/// what is missing. So if they may be incomplete, this is reported whenever the book is opened.
fn settings_edited(bytes: &[u8], digests: &Digests) -> Option<Notice> {
    let then = digests.settings.filter(|then| !then.fits(bytes))?;
    let (place, now) = (Location::file(SETTINGS), Stamp::of(bytes).rows.unwrap_or_default());
    let is_part = (bytes.len() as u64) < then.bytes;
    let then = then.rows.unwrap_or_default();
    match is_part && (now < then || !bytes.ends_with(b"\n")) {
        true => Some(Notice::Shorter { place, then, now }),
        false => Some(Notice::Edited { place, then, now }),
    }
}

/// Notices about files that were set aside and not dealt with yet.
fn put_aside<D: Disk>(disk: &D) -> Result<Vec<Notice>, BookError> {
    let mut notices = Vec::new();
    let names = BookFile::ALL.into_iter().map(aside).chain([SET_ASIDE.to_owned()]);
    for name in names {
        if disk.read(&name).map_err(failed(disk, &name, "reading"))?.is_some() {
            notices.push(Notice::Aside { place: Location::file(&name) });
        }
    }
    Ok(notices)
}
