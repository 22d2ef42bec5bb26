//! The book: a folder of plain files that a spreadsheet opens and version control can follow.

mod config;
mod entries;
mod error;
mod location;

pub use config::{BeliefOverride, Config};
pub use entries::{Entries, EntryKind, Strike, Written};
pub use error::{BookError, Fault};
pub use location::Location;

use crate::trade::{Paper, Reading, Target, Thread, Trial};
use std::path::{Path, PathBuf};

/// An opened book: everything in it that is not struck, and what was struck.
#[derive(Clone, Debug)]
pub struct Book {
    dir: PathBuf,
    config: Config,
    live: Entries,
    struck: Vec<Strike>,
}

impl Book {
    /// Opens the book in `dir`, reading every file.
    ///
    /// # Errors
    /// [`BookError`]; faulty rows of all files are listed together.
    pub fn open(dir: &Path) -> Result<Self, BookError> {
        todo!("{dir:?}")
    }

    /// The folder.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// `book.toml`.
    pub fn config(&self) -> &Config {
        &self.config
    }

    /// Papers, without the struck ones, in the order of the file.
    pub fn papers(&self) -> &[Paper] {
        &self.live.papers
    }

    /// Threads, likewise.
    pub fn threads(&self) -> &[Thread] {
        &self.live.threads
    }

    /// Targets, likewise.
    pub fn targets(&self) -> &[Target] {
        &self.live.targets
    }

    /// Trials, likewise.
    pub fn trials(&self) -> &[Trial] {
        &self.live.trials
    }

    /// Readings, without struck ones and without those of struck trials.
    pub fn readings(&self) -> &[Reading] {
        &self.live.readings
    }

    /// What was struck.
    pub fn struck(&self) -> &[Strike] {
        &self.struck
    }

    /// Appends `entries` to the book's files, all of them or none, and returns what was written.
    ///
    /// # Errors
    /// [`BookError`] when an entry clashes with the book, or the files cannot be written; the
    /// book is then as it was.
    pub fn append(&mut self, entries: Entries) -> Result<Written, BookError> {
        todo!("{entries:?}")
    }
}

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
    todo!("{flag:?} {variable:?} {from:?}")
}

/// Makes a new book in `dir`: `book.toml`, the starting targets and empty files with their headers.
///
/// # Errors
/// [`BookError`] when there is a book already or the folder cannot be written.
pub fn init(dir: &Path, config: &Config) -> Result<Book, BookError> {
    todo!("{dir:?} {config:?}")
}
