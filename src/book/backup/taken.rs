use super::contents::{Files, LARGEST, is_kept, written};
use crate::book::error::BookError;
use crate::book::files::names::SETTINGS;
use crate::book::opened::Book;
use crate::book::store::digests::Sha256;
use crate::book::store::disk::{Disk, Folder, failed, io_error};
use crate::book::store::folder::{read_files, require_book};
use crate::book::store::lock::lock_to_read;
use crate::book::store::open::read;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

#[derive(Clone, Debug)]
pub struct Backup {
    pub bytes: Vec<u8>,
    /// The SHA-256 digest of the file, in hexadecimal digits.
    pub sha256: String,
    /// The number of files of the book in the backup.
    pub files: usize,
    pub book: Book,
}

/// Packs the book in `dir` into one file, dated `day`. It includes every file byte for byte, also
/// what was set aside and what an unfinished command left. Writes nothing.
///
/// # Errors
/// As [`Book::open`]; [`BookError::Clash`] for a book too large for a backup.
pub fn back_up(dir: &Path, day: Date) -> Result<Backup, BookError> {
    require_book(dir)?;
    let lock = lock_to_read(dir)?;
    let files = read_files(dir)?;
    let others = others(dir, |name| files.rows.keys().any(|file| file.name() == name))?;
    // Check now that the book opens; otherwise the fault would show only when the backup is needed.
    let book = Book::from_files(dir, &read(&Folder(dir), files.clone())?)?;
    drop(lock);
    let mut all: Files<'_> =
        files.rows.iter().map(|(file, bytes)| (file.name().to_owned(), bytes.as_slice())).collect();
    all.insert(SETTINGS.to_owned(), &files.settings);
    all.extend(others.iter().map(|(name, bytes)| (name.clone(), bytes.as_slice())));
    if all.values().map(|bytes| bytes.len() as u64).sum::<u64>() > LARGEST - (1 << 20) {
        let message = "the book is too large for a backup in one file; copy its folder instead";
        return Err(BookError::Clash(message.to_owned()));
    }
    let bytes = written(&all, &book.config().title, &day.to_string(), seconds_of(day));
    Ok(Backup { sha256: Sha256::of(&bytes).to_string(), files: all.len(), bytes, book })
}

/// The files that go into a backup besides the settings and the files with rows.
fn others(
    dir: &Path,
    is_read: impl Fn(&str) -> bool,
) -> Result<BTreeMap<String, Vec<u8>>, BookError> {
    let entries = fs::read_dir(dir).map_err(|error| io_error(dir, "reading the folder", error))?;
    let names = entries.flatten().filter_map(|entry| entry.file_name().into_string().ok());
    let wanted = names.filter(|name| is_kept(name) && name != SETTINGS && !is_read(name));
    let read = |name: String| {
        let bytes = Folder(dir).read(&name).map_err(failed(&Folder(dir), &name, "reading"));
        bytes.map(|bytes| bytes.map(|bytes| (name, bytes))).transpose()
    };
    wanted.filter_map(read).collect()
}

/// Midnight of a day in seconds since 1970. So the same book gives the same backup all day.
fn seconds_of(day: Date) -> u64 {
    let first = Date::constant(1970, 1, 1);
    let days = first.until(day).map_or(0, |span| span.get_days());
    u64::try_from(days).unwrap_or_default() * 24 * 60 * 60
}
