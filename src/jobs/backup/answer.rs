//! What a backup holds.

use crate::book::{Backup, Book, Written};
use crate::units::fields_of;

#[derive(Clone, Debug)]
pub(crate) struct BackedUp {
    /// The file name as typed.
    pub file: String,
    pub bytes: usize,
    pub sha256: String,
    /// Number of book files in it.
    pub files: usize,
    pub holds: Written,
    /// The command that restores the book.
    pub restore: String,
}

fields_of! { BackedUp, |it|
    "file": it.file,
    "bytes": it.bytes,
    "sha256": it.sha256,
    "files": it.files,
    "papers": it.holds.papers,
    "threads": it.holds.threads,
    "targets": it.holds.targets,
    "trials": it.holds.trials,
    "readings": it.holds.readings,
    "forecasts": it.holds.forecasts,
    "plans": it.holds.plans,
    "struck": it.holds.strikes,
    "restore": it.restore,
}

/// What a book holds, with its strikes.
pub(crate) fn holds(book: &Book) -> Written {
    Written { strikes: book.struck().len(), ..book.entries().written() }
}

pub(crate) fn backed_up(backup: &Backup, file: String, restore: String) -> BackedUp {
    BackedUp {
        file,
        bytes: backup.bytes.len(),
        sha256: backup.sha256.clone(),
        files: backup.files,
        holds: holds(&backup.book),
        restore,
    }
}
