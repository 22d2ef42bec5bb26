//! Finds and reads the folder of a book.

use super::disk::Folder;
use super::lock::lock_to_read;
use super::open::{edited_files, read};
use crate::book::csv::text::{read_file, read_of_book};
use crate::book::entries::contents::FileBytes;
use crate::book::entries::tables::header;
use crate::book::error::BookError;
use crate::book::files::names::{BookFile, SETTINGS};
use crate::units::shown_path;
use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Finds the book: `flag`, else the variable `SWELLBOOK` (given as `variable`), else the nearest
/// folder at or above `from` that contains `book.toml`.
pub fn find(
    flag: Option<&Path>,
    variable: Option<&Path>,
    from: &Path,
) -> Result<PathBuf, BookError> {
    if let Some(dir) = flag {
        return named(dir, "");
    }
    if let Some(dir) = variable.filter(|dir| !dir.as_os_str().is_empty()) {
        return named(dir, " (the variable SWELLBOOK)");
    }
    let from = std::path::absolute(from).unwrap_or_else(|_| from.to_owned());
    let mut refused = None;
    for dir in from.ancestors() {
        match is_book(dir) {
            Ok(true) => return Ok(dir.to_owned()),
            Ok(false) => {}
            Err(error) => refused = refused.or(Some(error)),
        }
    }
    Err(refused.unwrap_or_else(|| BookError::NotFound {
        looked: format!("no {SETTINGS} in {} or a folder above it", shown_path(&from)),
    }))
}

/// Whether a folder holds a book. A folder that may not be read is an error: it may hold one.
fn is_book(dir: &Path) -> Result<bool, BookError> {
    let there = dir.join(SETTINGS).metadata().map(|there| there.is_file());
    match is_file(there).map_err(unreadable(dir))? {
        true => Ok(true),
        false => refuse_lost_settings(dir).map(|()| false),
    }
}

/// Refuses a folder that has all the other files of a book, with a paper in it. Those of an `init`
/// that was stopped have none.
pub(in crate::book) fn refuse_lost_settings(dir: &Path) -> Result<(), BookError> {
    let length = |file: BookFile| dir.join(file.name()).metadata().map_or(0, |there| there.len());
    let needed = BookFile::of_new_book().filter(|file| !file.is_made_late());
    let are_there = needed.into_iter().all(|file| length(file) > 0);
    let path = dir.join(SETTINGS);
    let is_lost = is_missing(&path) && are_there;
    // The header, and more than its line end.
    if !is_lost || length(BookFile::Papers) <= header(BookFile::Papers).len() as u64 + 2 {
        return Ok(());
    }
    let message = "the file is missing beside the other files of a book; bring it back from a copy or \
                   a backup, or make one with the line format = 1 (title, unit and beliefs are then \
                   those of a new book)";
    Err(BookError::Damaged { path, message: message.to_owned() })
}

/// Whether there is a file, by what the system says of its name.
fn is_file(said: std::io::Result<bool>) -> std::io::Result<bool> {
    match said {
        Err(error) if error.kind() == ErrorKind::PermissionDenied => Err(error),
        said => Ok(said.unwrap_or_default()),
    }
}

/// The error for a file or folder that may not be read.
fn unreadable(path: &Path) -> impl Fn(std::io::Error) -> BookError {
    let path = path.to_owned();
    move |source| BookError::Io { path: path.clone(), doing: READING, source }
}

const READING: &str = "reading";

/// A folder given by its own path, or by the path of its `book.toml`.
fn named(dir: &Path, by: &str) -> Result<PathBuf, BookError> {
    let folder = match dir.parent() {
        Some(parent) if dir.file_name().is_some_and(|name| name == SETTINGS) => parent,
        _ => dir,
    };
    if is_book(folder)? {
        Ok(folder.to_owned())
    } else {
        Err(BookError::NotFound { looked: format!("no {SETTINGS} in {}{by}", shown_path(folder)) })
    }
}

pub(in crate::book) fn require_book(dir: &Path) -> Result<(), BookError> {
    if is_book(dir)? {
        return Ok(());
    }
    Err(BookError::NotFound { looked: format!("no {SETTINGS} in {}", shown_path(dir)) })
}

/// The bytes of every file, read under the lock. What an earlier command left behind is settled in
/// memory.
pub(in crate::book) fn read_settled(dir: &Path) -> Result<FileBytes, BookError> {
    require_book(dir)?;
    let _lock = lock_to_read(dir)?;
    read(&Folder(dir), read_files(dir)?)
}

/// How long a file must be left alone before it counts as saved. Some programs save a file piece by
/// piece, and rows added in between would land in the middle of it.
const STILL: Duration = Duration::from_millis(500);
/// How long to wait for that.
const PATIENCE: Duration = Duration::from_secs(5);

/// The bytes of every file, once no other program is saving one of them.
pub(in crate::book) fn read_still_files(dir: &Path) -> Result<FileBytes, BookError> {
    let start = Instant::now();
    loop {
        let files = read_files(dir)?;
        let edited = edited_files(&Folder(dir), &files)?;
        let since = |file: BookFile| {
            let changed = dir.join(file.name()).metadata().and_then(|there| there.modified());
            // If the disk's clock is ahead, a file may be from the future. Do not wait for it.
            changed.ok()?.elapsed().ok()
        };
        let ages = edited.into_iter().filter_map(|file| Some((since(file)?, file)));
        let Some((age, file)) = ages.min().filter(|(age, _)| *age < STILL) else {
            return Ok(files);
        };
        if start.elapsed() > PATIENCE {
            let holder = format!("one that is saving {}", file.name());
            return Err(BookError::InUse { dir: dir.to_owned(), holder });
        }
        std::thread::sleep(STILL - age);
    }
}

/// Whether nothing has this name. A dangling link counts as something.
fn is_missing(path: &Path) -> bool {
    path.symlink_metadata().is_err_and(|error| error.kind() == ErrorKind::NotFound)
}

/// The bytes of every file as they are.
pub(in crate::book) fn read_files(dir: &Path) -> Result<FileBytes, BookError> {
    let settings = read_file(&dir.join(SETTINGS), SETTINGS)?;
    let mut rows = BTreeMap::new();
    for file in BookFile::ALL {
        let path = dir.join(file.name());
        if file.is_made_late() && is_missing(&path) {
            continue;
        }
        let message = match path.metadata() {
            Ok(there) if there.is_file() => {
                rows.insert(file, read_of_book(&path, file.name())?);
                continue;
            }
            // Reading a pipe would wait forever.
            Ok(_) => "this is a folder, a pipe or a device, not a file; move it away and restore \
                      the file from a copy"
                .to_owned(),
            Err(error) if error.kind() == ErrorKind::PermissionDenied => {
                return Err(unreadable(&path)(error));
            }
            // Without their strikes, entries that were wrong would count again.
            Err(_) if file == BookFile::Struck => format!(
                "the file is missing; bring it back from a copy or a backup; in a new file with only \
                 the line {}, nothing would be struck, so every struck entry would count again",
                header(file)
            ),
            Err(_) => format!(
                "the file is missing; restore it from a copy, or make one with the line {}",
                header(file)
            ),
        };
        return Err(BookError::Damaged { path, message });
    }
    Ok(FileBytes { settings, rows, notices: Vec::new() })
}
