//! What a backup holds.

use crate::book::{Backup, Book};
use serde::Serialize;

/// A backup that was written.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct BackedUp {
    /// The file as it was typed.
    pub file: String,
    /// Its size.
    pub bytes: usize,
    /// Its digest.
    pub sha256: String,
    /// Files of the book in it.
    pub files: usize,
    #[serde(flatten)]
    pub holds: Holds,
    /// The command that makes the book again.
    pub restore: String,
}

/// How many entries of each kind a book holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Holds {
    pub papers: usize,
    pub threads: usize,
    pub targets: usize,
    pub trials: usize,
    pub readings: usize,
    pub forecasts: usize,
    pub plans: usize,
    pub struck: usize,
}

impl Holds {
    /// The entries of this book.
    pub(crate) fn of(book: &Book) -> Self {
        let written = book.entries().written();
        Self {
            papers: written.papers,
            threads: written.threads,
            targets: written.targets,
            trials: written.trials,
            readings: written.readings,
            forecasts: written.forecasts,
            plans: written.plans,
            struck: book.struck().len(),
        }
    }
}

/// What is to be said of a backup, written as `file` and restored with the command `restore`.
pub(crate) fn backed_up(backup: &Backup, file: String, restore: String) -> BackedUp {
    BackedUp {
        file,
        bytes: backup.bytes.len(),
        sha256: backup.sha256.clone(),
        files: backup.files,
        holds: Holds::of(&backup.book),
        restore,
    }
}
