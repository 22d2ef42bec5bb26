use super::contents::{Files, LARGEST, checked};
use crate::book::error::BookError;
use crate::book::files::names::SETTINGS;
use crate::book::opened::Book;
use crate::book::store::disk::{Folder, beside};
use crate::book::store::folder::read_files;
use crate::book::store::init::{IGNORE, NewFile, make};
use crate::book::store::lock::LOCK;
use crate::book::store::open::read;
use crate::units::{shown, shown_path};
use std::fs;
use std::io::Read;
use std::path::Path;

/// Reads a backup, at most as many bytes as a backup may have. Messages call it `name`.
///
/// # Errors
/// [`BookError::Io`]; [`BookError::Damaged`] for a file that is too large.
pub fn read_backup(reader: impl Read, name: &Path) -> Result<Vec<u8>, BookError> {
    let mut bytes = Vec::new();
    let read = reader.take(LARGEST + 1).read_to_end(&mut bytes);
    read.map_err(|source| BookError::Io { path: name.to_owned(), doing: "reading", source })?;
    match bytes.len() as u64 > LARGEST {
        true => Err(refused(name, "larger than a backup may be (1 GiB)".to_owned())),
        false => Ok(bytes),
    }
}

/// Restores the book of a backup in `dir`, a new or empty folder. The whole backup is checked
/// before anything is written. If restoring fails, everything it wrote is removed.
///
/// # Errors
/// [`BookError::Damaged`] for a backup, called `name`, that is not as it was written;
/// [`BookError::Exists`] and [`BookError::Clash`] for a folder that is not empty; those of writing
/// and of [`Book::open`].
pub fn restore(backup: &[u8], name: &Path, dir: &Path) -> Result<Book, BookError> {
    let files = checked(backup).map_err(|error| refused(name, error.to_string()))?;
    require_empty(dir, &files)?;
    let settings = files.get(SETTINGS).copied().unwrap_or_default();
    let others = files.iter().filter(|(name, _)| *name != SETTINGS);
    let others =
        others.map(|(name, bytes)| NewFile { name, bytes: bytes.to_vec(), other: bytes.to_vec() });
    let others: Vec<NewFile<'_>> = others.collect();
    // Open the book under the same lock, so a book that does not open is removed again.
    make(dir, &others, settings, || Book::from_files(dir, &read(&Folder(dir), read_files(dir)?)?))
}

fn refused(name: &Path, message: String) -> BookError {
    BookError::Damaged { path: name.to_owned(), message }
}

/// Refuses a folder that is not empty. Files that an interrupted restore of this same backup may
/// have left are allowed.
fn require_empty(dir: &Path, files: &Files<'_>) -> Result<(), BookError> {
    if dir.join(SETTINGS).symlink_metadata().is_ok() {
        return Err(BookError::Exists { dir: dir.to_owned() });
    }
    let left = [LOCK, IGNORE, &beside(SETTINGS)];
    let is_other = |name: &String| !files.contains_key(name.as_str()) && !left.contains(&&**name);
    let entries = fs::read_dir(dir).into_iter().flatten().flatten();
    let mut names = entries.map(|entry| entry.file_name().to_string_lossy().into_owned());
    match names.find(is_other) {
        Some(name) => Err(BookError::Clash(format!(
            "{} is not empty, it holds '{}'; name a new or an empty folder",
            shown_path(dir),
            shown(&name)
        ))),
        None => Ok(()),
    }
}
