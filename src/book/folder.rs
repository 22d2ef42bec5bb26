//! Finding, making and reading the folder.

use super::columns::names;
use super::config_file::config_text;
use super::contents::FileBytes;
use super::files::{BookFile, SETTINGS};
use super::keep::{DIGESTS, Disk, Folder, JOURNAL, first_digests, io_error, read};
use super::lock::{LOCK, lock_to_read};
use super::tail::tails;
use super::text::{OF_BOOKS, read_file, read_within};
use super::{Book, BookError, Config, Entries};
use crate::trade::starting_targets;
use crate::units::shown_path;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Finds the book: `flag`, else the variable `SWELLBOOK` (given as `variable`), else the nearest
/// folder at or above `from` that holds `book.toml`.
///
/// # Errors
/// [`BookError::NotFound`] says where it looked.
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
    let above = from.ancestors().find(|dir| dir.join(SETTINGS).is_file());
    above.map(Path::to_owned).ok_or_else(|| BookError::NotFound {
        looked: format!("no {SETTINGS} in {} or a folder above it", shown_path(&from)),
    })
}

/// A folder that was named; naming its `book.toml` will do.
fn named(dir: &Path, by: &str) -> Result<PathBuf, BookError> {
    let folder = match dir.parent() {
        Some(parent) if dir.file_name().is_some_and(|name| name == SETTINGS) => parent,
        _ => dir,
    };
    if folder.join(SETTINGS).is_file() {
        Ok(folder.to_owned())
    } else {
        Err(BookError::NotFound { looked: format!("no {SETTINGS} in {}{by}", shown_path(folder)) })
    }
}

/// Makes a new book in `dir`: `book.toml`, the starting targets and empty files with their headers.
///
/// # Errors
/// [`BookError`] when there is a book already or the folder cannot be written; what was written
/// until then is taken away again.
pub fn init(dir: &Path, config: &Config) -> Result<Book, BookError> {
    let settings = config_text(config);
    super::config_file::parse_config(settings.as_bytes())?;
    let rows = new_files();
    let digests = first_digests(rows.iter());
    let mut files: Vec<(&str, Vec<u8>)> =
        rows.into_iter().map(|(file, bytes)| (file.name(), bytes)).collect();
    files.extend([(LOCK, Vec::new()), (JOURNAL, Vec::new()), (DIGESTS, digests)]);
    if dir.join(SETTINGS).symlink_metadata().is_ok() || files.iter().any(|file| taken(dir, file)) {
        return Err(BookError::Exists { dir: dir.to_owned() });
    }
    fs::create_dir_all(dir).map_err(|error| io_error(dir, "making the folder", error))?;
    write_new(dir, &files, settings.as_bytes())?;
    Book::open(dir)
}

/// Whether somebody's own file has the name. The beginning of what is to be there, or all of it, is
/// what a program that was stopped in making the book has left behind.
fn taken(dir: &Path, (name, bytes): &(&str, Vec<u8>)) -> bool {
    let path = dir.join(name);
    match path.symlink_metadata() {
        Err(error) => error.kind() != std::io::ErrorKind::NotFound,
        Ok(there) if !there.is_file() || there.len() > bytes.len() as u64 => true,
        Ok(_) => !fs::read(path).is_ok_and(|there| bytes.starts_with(&there)),
    }
}

/// The files of a new book with their headers, and the starting targets.
fn new_files() -> BTreeMap<BookFile, Vec<u8>> {
    let header = |file: BookFile| format!("{}\n", names(file.layout())).into_bytes();
    let mut files: BTreeMap<BookFile, Vec<u8>> =
        BookFile::ALL.into_iter().map(|file| (file, header(file))).collect();
    let tables = super::contents::tables_of(&files);
    let targets = Entries { targets: starting_targets(), ..Entries::default() };
    for (file, tail) in tails(&tables, &targets).unwrap_or_default() {
        files.entry(file).or_default().extend(tail);
    }
    files
}

/// Writes the files of a new book; the settings last and at once, because they make the folder a
/// book.
fn write_new(dir: &Path, files: &[(&str, Vec<u8>)], settings: &[u8]) -> Result<(), BookError> {
    let failed = |name: &str| {
        let path = dir.join(name);
        move |error| io_error(&path, "making it", error)
    };
    let make = || {
        for (name, bytes) in files {
            create(&dir.join(name), bytes).map_err(failed(name))?;
        }
        let folder = Folder(dir);
        folder.replace(SETTINGS, settings).map_err(failed(SETTINGS))?;
        folder.sync_folder().map_err(|error| io_error(dir, "syncing the folder", error))
    };
    make().inspect_err(|_| {
        for name in files.iter().map(|(name, _)| *name).chain([SETTINGS]) {
            // The first error is the one to tell of.
            let _ = fs::remove_file(dir.join(name));
        }
    })
}

fn create(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(error),
        _ => {}
    }
    let mut file = File::options().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Refuses a folder that holds no book.
pub(super) fn require_book(dir: &Path) -> Result<(), BookError> {
    if dir.join(SETTINGS).exists() {
        return Ok(());
    }
    Err(BookError::NotFound { looked: format!("no {SETTINGS} in {}", shown_path(dir)) })
}

/// The bytes of every file, while nobody writes, with what an earlier command left behind settled
/// in memory.
pub(super) fn read_settled(dir: &Path) -> Result<FileBytes, BookError> {
    require_book(dir)?;
    let _lock = lock_to_read(dir)?;
    read(&Folder(dir), read_files(dir)?)
}

/// The bytes of every file as they are.
pub(super) fn read_files(dir: &Path) -> Result<FileBytes, BookError> {
    let settings = read_file(&dir.join(SETTINGS), SETTINGS)?;
    let mut rows = BTreeMap::new();
    for file in BookFile::ALL {
        let path = dir.join(file.name());
        if !path.exists() {
            let message = format!(
                "the file is missing; bring it back from a copy, or make one with the line {}",
                names(file.layout())
            );
            return Err(BookError::Damaged { path, message });
        }
        rows.insert(file, read_within(OF_BOOKS, &path, file.name())?);
    }
    Ok(FileBytes { settings, rows, notices: Vec::new() })
}
