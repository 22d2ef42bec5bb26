//! Finding, making and reading the folder.

use super::columns::names;
use super::config_file::config_text;
use super::contents::FileBytes;
use super::files::{BookFile, SETTINGS};
use super::keep::{DIGESTS, Folder, JOURNAL, first_digests, io_error, read, sync_folder};
use super::lock::{LOCK, lock_to_read};
use super::tail::tails;
use super::text::read_file;
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
    let taken = |name: &str| dir.join(name).symlink_metadata().is_ok();
    if taken(SETTINGS) || BookFile::ALL.iter().any(|file| taken(file.name())) {
        return Err(BookError::Exists { dir: dir.to_owned() });
    }
    let settings = config_text(config);
    super::config_file::parse_config(settings.as_bytes())?;
    fs::create_dir_all(dir).map_err(|error| io_error(dir, "making the folder", error))?;
    let rows = new_files();
    let digests = first_digests(rows.iter());
    let mut files: Vec<(&str, Vec<u8>)> =
        rows.into_iter().map(|(file, bytes)| (file.name(), bytes)).collect();
    files.extend([(LOCK, Vec::new()), (JOURNAL, Vec::new()), (DIGESTS, digests)]);
    // Last, because it is what makes the folder a book.
    files.push((SETTINGS, settings.into_bytes()));
    write_new(dir, &files)?;
    Book::open(dir)
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

fn write_new(dir: &Path, files: &[(&str, Vec<u8>)]) -> Result<(), BookError> {
    for (index, (name, bytes)) in files.iter().enumerate() {
        let path = dir.join(name);
        let create = || {
            let mut file = File::options().write(true).create_new(true).open(&path)?;
            file.write_all(bytes)?;
            file.sync_all()
        };
        if let Err(error) = create() {
            for (name, _) in &files[..=index] {
                // The first error is the one to tell of.
                let _ = fs::remove_file(dir.join(name));
            }
            return Err(io_error(&path, "making it", error));
        }
    }
    sync_folder(dir).map_err(|error| io_error(dir, "syncing the folder", error))
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
        rows.insert(file, read_file(&path, file.name())?);
    }
    Ok(FileBytes { settings, rows, notices: Vec::new() })
}
