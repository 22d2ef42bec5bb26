use super::digests;
use super::digests::{DIGESTS, Digests, first_digests};
use super::disk::{Disk, Folder, beside, io_error};
use super::folder::refuse_lost_settings;
use super::journal::JOURNAL;
use super::lock::{LOCK, lock_to_write};
use super::plain::{has_another_name, make_plain, open_plain};
use crate::book::csv::tail::tails;
use crate::book::entries::contents::{FileBytes, Rows, tables_of};
use crate::book::entries::held::Entries;
use crate::book::entries::tables::first_line;
use crate::book::error::BookError;
use crate::book::files::config::Config;
use crate::book::files::config_file::{config_text, parse_config};
use crate::book::files::names::{BookFile, SETTINGS};
use crate::book::opened::Book;
use crate::trade::{Thread, starting_targets, starting_threads};
use std::fs::OpenOptions;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::{fs, io};

/// Tells version control to ignore the files that belong to this folder only and mean nothing in
/// another, and the lock, which must not be replaced.
pub(in crate::book) const IGNORE: &str = ".gitignore";
const IGNORED: &str = "# Notes of the program on this folder; the rows are in the other files.\n\
                       book.lock\nbook.journal\nbook.digests\nbook.*.new\n*.csv.new\n.~lock.*#\n";

/// Makes a new book in `dir`: `book.toml`, the starting targets and empty files with their headers.
///
/// # Errors
/// [`BookError`] if there is a book already or the folder cannot be written. What was made until
/// then is removed again.
pub fn init(dir: &Path, config: &Config) -> Result<Book, BookError> {
    new_book(dir, config, false)
}

/// Like [`init`], with common linen threads as well.
pub fn init_with_threads(dir: &Path, config: &Config) -> Result<Book, BookError> {
    new_book(dir, config, true)
}

pub(in crate::book) struct NewFile<'n> {
    pub(in crate::book) name: &'n str,
    pub(in crate::book) bytes: Vec<u8>,
    /// Its bytes in a book that begins with other entries. An `init` that was stopped may have left
    /// them.
    pub(in crate::book) other: Vec<u8>,
}

fn new_book(dir: &Path, config: &Config, has_threads: bool) -> Result<Book, BookError> {
    let settings = config_text(config);
    parse_config(settings.as_bytes())?;
    let files = new_files(has_threads);
    make(dir, &files, settings.as_bytes(), || {
        // The book is complete without this. If it fails, an edit of the settings is not noticed
        // until something is added.
        let _ = digests::write(&Folder(dir), &Digests::of(settings.as_bytes(), &rows_of(&files)));
        Ok(())
    })?;
    // The files are not read again: a failure now would hide that the book was made.
    let (rows, notices) = (rows_of(&files), Vec::new());
    Book::from_files(dir, &FileBytes { settings: settings.into_bytes(), rows, notices })
}

fn rows_of(files: &[NewFile<'_>]) -> Rows {
    let rows = |file: &NewFile<'_>| Some((BookFile::named(file.name)?, file.bytes.clone()));
    files.iter().filter_map(rows).collect()
}

/// The files of a new book except `book.toml`, in the order in which they are made.
fn new_files(has_threads: bool) -> Vec<NewFile<'static>> {
    let (plain, full) = (contents(Vec::new()), contents(starting_threads()));
    let (own, other) = if has_threads { (full, plain) } else { (plain, full) };
    let file = |((name, bytes), (_, other))| NewFile { name, bytes, other };
    own.into_iter().zip(other).map(file).collect()
}

fn contents(threads: Vec<Thread>) -> Vec<(&'static str, Vec<u8>)> {
    let mut rows: Rows = BookFile::of_new_book().map(|file| (file, first_line(file))).collect();
    let tables = tables_of(&rows);
    let entries = Entries { targets: starting_targets(), threads, ..Entries::default() };
    for (file, tail) in tails(&tables, &entries).unwrap_or_default() {
        rows.entry(file).or_default().extend(tail);
    }
    let digests = first_digests(&rows);
    let rows = rows.into_iter().map(|(file, bytes)| (file.name(), bytes));
    rows.chain([(JOURNAL, Vec::new()), (DIGESTS, digests)]).collect()
}

/// Refuses a folder that is a book already, or where other files have the names that a book needs.
fn refuse_taken(dir: &Path, files: &[NewFile<'_>], settings: &[u8]) -> Result<(), BookError> {
    // The settings of all new books are the same up to the title.
    let title = b"\ntitle";
    let same = settings.windows(title.len()).position(|part| part == title).unwrap_or(0);
    let settings = &settings[..same];
    let beside = (beside(SETTINGS), [settings, settings]);
    let names =
        files.iter().map(|file| (file.name.to_owned(), [file.bytes.as_slice(), &file.other]));
    // A book makes some of its files later, and their names must be free then.
    let is_new = |name: &str| files.iter().any(|file| file.name == name);
    let late = BookFile::ALL.into_iter().filter(|file| !is_new(file.name()));
    let late = late.map(|file| dir.join(file.name())).find(|path| path.symlink_metadata().is_ok());
    let mut taken = late.map_or(Ok(()), |path| Err(BookError::Taken { path }));
    for (name, own) in names.chain([beside]) {
        let path = dir.join(name);
        let free = is_free(&path, own);
        if !free.map_err(|error| io_error(&path, "checking whether it exists", error).unkept())? {
            taken = Err(BookError::Taken { path });
            break;
        }
    }
    // Last, because another `init` may have made the book during these checks.
    match dir.join(SETTINGS).symlink_metadata() {
        Ok(_) => Err(BookError::Exists { dir: dir.to_owned() }),
        // Files that are as this book needs them were left by a command that was stopped.
        Err(_) => taken.or_else(|taken| refuse_lost_settings(dir).and(Err(taken))),
    }
}

/// Whether the path is free. The beginning of what a new book has there, or all of it, was left by
/// an `init` that was stopped, so it counts as free.
fn is_free(path: &Path, own: [&[u8]; 2]) -> io::Result<bool> {
    let there = match path.symlink_metadata() {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(true),
        there => there?,
    };
    if !there.is_file() || has_another_name(&there) {
        return Ok(false);
    }
    let there = match fs::read(path) {
        // Another `init` has just removed it.
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(true),
        there => there?,
    };
    let longer = path.ends_with(beside(SETTINGS));
    Ok(own.iter().any(|own| own.starts_with(&there) || longer && there.starts_with(own)))
}

/// Makes the book under its lock, and calls `then` before releasing the lock.
///
/// # Errors
/// As [`init`], and those of `then`. What was made until then is removed again.
pub(in crate::book) fn make<T>(
    dir: &Path,
    files: &[NewFile<'_>],
    settings: &[u8],
    then: impl FnOnce() -> Result<T, BookError>,
) -> Result<T, BookError> {
    // Check first, so that a folder which cannot become a book is left without a trace.
    refuse_taken(dir, files, settings)?;
    make_folder(dir).map_err(|error| io_error(dir, "making the folder", error).unkept())?;
    let locks = lock_to_write(dir).map_err(BookError::unkept)?;
    let mut made = Made(locks.made.then(|| dir.join(LOCK)).into_iter().collect());
    let done = made.all(dir, files, settings).and_then(|()| then());
    done.map_err(|error| match made.take_away(dir) {
        true => error.unkept(),
        false => error.undecided(),
    })
}

/// Makes the folder and its missing parents, and syncs their names.
fn make_folder(dir: &Path) -> io::Result<()> {
    let dir = std::path::absolute(dir)?;
    let new: Vec<&Path> = dir.ancestors().take_while(|folder| !folder.exists()).collect();
    fs::create_dir_all(&dir)?;
    // Sync the parent also if `dir` existed: a program that was stopped may just have made it.
    // Ignore an error: a parent that may not be read was not made by this program.
    let _ = dir.parent().map(|above| Folder(above).sync_folder());
    new.into_iter().filter_map(Path::parent).try_for_each(|above| Folder(above).sync_folder())
}

/// The files that this program has made so far. If it fails, they are removed, and nothing else:
/// existing files are not its own.
struct Made(Vec<PathBuf>);

impl Made {
    /// Removes the files, last made first. Returns whether the folder is no longer a book. If the
    /// settings cannot be removed, the other files stay: without them the book would be damaged.
    fn take_away(&self, dir: &Path) -> bool {
        for path in self.0.iter().rev() {
            let removed = fs::remove_file(path);
            if path.ends_with(SETTINGS) && removed.and_then(|()| Folder(dir).sync_folder()).is_err()
            {
                return false;
            }
        }
        true
    }

    /// Makes every file. It checks first, because another program may have made a book meanwhile.
    fn all(&mut self, dir: &Path, files: &[NewFile<'_>], settings: &[u8]) -> Result<(), BookError> {
        refuse_taken(dir, files, settings)?;
        for NewFile { name, bytes, .. } in files {
            self.complete(dir, name, bytes)?;
        }
        if dir.join(IGNORE).symlink_metadata().is_err() {
            self.complete(dir, IGNORE, IGNORED.as_bytes())?;
        }
        let sync = || {
            let synced = Folder(dir).sync_folder();
            synced.map_err(|error| io_error(dir, "syncing the folder", error))
        };
        // The settings make the folder a book, so the other names must last before theirs.
        sync()?;
        self.settings(dir, settings)?;
        sync()
    }

    /// Makes a file, or completes one that has only the beginning. What belongs to a book with
    /// other starting entries is cut off.
    fn complete(&mut self, dir: &Path, name: &str, bytes: &[u8]) -> Result<(), BookError> {
        let path = dir.join(name);
        let mut complete = || {
            let mut there = Vec::new();
            let mut file = match make_plain(&path, None) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                    let mut file = open_plain(&path, OpenOptions::new().read(true).append(true))?;
                    file.read_to_end(&mut there)?;
                    file
                }
                made => {
                    let file = made?;
                    self.0.push(path.clone());
                    file
                }
            };
            let same = there.iter().zip(bytes).take_while(|(there, own)| there == own).count();
            if same < there.len() {
                file.set_len(same as u64)?;
            }
            file.write_all(&bytes[same..])?;
            file.sync_all()
        };
        complete().map_err(|error| io_error(&path, "making it", error))
    }

    /// Makes the settings, whole and at once. They come last, because they make the folder a book.
    /// They never replace others.
    fn settings(&mut self, dir: &Path, bytes: &[u8]) -> Result<(), BookError> {
        let beside = beside(SETTINGS);
        let (path, from) = (dir.join(SETTINGS), dir.join(&beside));
        // Left by a program that was stopped here. A file with other contents was refused.
        let _ = fs::remove_file(&from);
        self.complete(dir, &beside, bytes)?;
        match link(&from, &path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                return Err(BookError::Exists { dir: dir.to_owned() });
            }
            linked => linked.map_err(|error| io_error(&path, "making it", error))?,
        }
        self.0.push(path);
        let _ = fs::remove_file(from);
        Ok(())
    }
}

/// Gives the file `from` the second name `to`, which must be free. On a file system without hard
/// links the file is renamed.
pub(crate) fn link(from: &Path, to: &Path) -> io::Result<()> {
    match fs::hard_link(from, to) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(error),
        Err(_) if to.symlink_metadata().is_err() => fs::rename(from, to),
        linked => linked,
    }
}
