//! Adding to several files: all of them or none.

use super::digests::{self, Digests, Stamp};
use super::disk::{Disk, Growing, failed};
use super::journal::{self, Addition};
use super::spreadsheet::refuse_open;
use crate::book::BookError;
use crate::book::contents::FileBytes;
use crate::book::files::BookFile;
use crate::units::shown_path;
use std::collections::BTreeMap;

/// The files as they were read to be added to.
#[derive(Clone, Debug)]
pub(in crate::book) struct Opened {
    /// Their bytes.
    pub(in crate::book) files: FileBytes,
    /// What they held when the program last wrote to them.
    pub(super) digests: Digests,
}

/// Writes every tail at the end of its file, or none.
///
/// # Errors
/// [`BookError::Clash`] when a file is no longer as it was read; [`BookError::Open`] when a
/// spreadsheet has it open; [`BookError::Io`] when the system refuses. Every file is then as it
/// was, unless the error says otherwise.
pub(in crate::book) fn commit<D: Disk>(
    disk: &D,
    opened: &Opened,
    tails: BTreeMap<BookFile, Vec<u8>>,
) -> Result<(), BookError> {
    let additions = additions(opened, tails);
    let mut files = Vec::new();
    for addition in &additions {
        files.push(open(disk, opened, addition)?);
    }
    journal::write(disk, &additions)?;
    add(disk, &mut files, &additions)
        .and_then(|()| digests::write(disk, &digests_after(opened, &additions)))
        .and_then(|()| journal::clear(disk))
        .or_else(|error| {
            take_back(disk, opened, &mut files, &additions)?;
            Err(error)
        })
}

fn additions(opened: &Opened, tails: BTreeMap<BookFile, Vec<u8>>) -> Vec<Addition> {
    let bytes = |file: BookFile| opened.files.rows.get(&file).map_or(&[][..], Vec::as_slice);
    let addition = |(file, tail)| Addition { file, before: Stamp::of(bytes(file)), bytes: tail };
    tails.into_iter().map(addition).collect()
}

/// Opens a file to add to it, if it is still as it was when it was read.
fn open<D: Disk>(disk: &D, opened: &Opened, addition: &Addition) -> Result<D::File, BookError> {
    let name = addition.file.name();
    refuse_open(disk, name)?;
    let file = disk.open(name).map_err(failed(disk, name, "opening it to write"))?;
    let now = disk.read(name).map_err(failed(disk, name, "reading it again"))?;
    if now.as_ref() == opened.files.rows.get(&addition.file) {
        return Ok(file);
    }
    let path = disk.path(name);
    let message =
        format!("{} was changed meanwhile; nothing was written, try again", shown_path(&path));
    Err(BookError::Clash(message))
}

fn add<D: Disk>(disk: &D, files: &mut [D::File], additions: &[Addition]) -> Result<(), BookError> {
    for (file, addition) in files.iter_mut().zip(additions) {
        file.add(&addition.bytes).and_then(|()| file.sync()).map_err(failed(
            disk,
            addition.file.name(),
            "writing to it (nothing was kept)",
        ))?;
    }
    Ok(())
}

fn digests_after(opened: &Opened, additions: &[Addition]) -> Digests {
    let mut digests = opened.digests.clone();
    for Addition { file, bytes, .. } in additions {
        let mut whole = opened.files.rows.get(file).cloned().unwrap_or_default();
        whole.extend_from_slice(bytes);
        digests.insert(*file, Stamp::of(&whole));
    }
    digests
}

/// Cuts every file back. While that cannot be done the journal stays, for the next command to
/// finish what it says.
fn take_back<D: Disk>(
    disk: &D,
    opened: &Opened,
    files: &mut [D::File],
    additions: &[Addition],
) -> Result<(), BookError> {
    const DOING: &str =
        "taking back what was added; it could not be, so the next command that writes finishes it";
    for (file, addition) in files.iter_mut().zip(additions) {
        file.cut(addition.before.bytes).and_then(|()| file.sync()).map_err(failed(
            disk,
            addition.file.name(),
            DOING,
        ))?;
    }
    // Without them an edit is told that was none; that is no reason to keep the rows.
    let _ = digests::write(disk, &opened.digests);
    journal::clear(disk)
}
