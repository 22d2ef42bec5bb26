//! What a backup holds.

use crate::book::{Backup, Book};
use serde::Serialize;

#[derive(Clone, Debug, Serialize)]
pub(crate) struct BackedUp {
    /// The file name as typed.
    pub file: String,
    pub bytes: usize,
    pub sha256: String,
    /// Number of book files in it.
    pub files: usize,
    #[serde(flatten)]
    pub holds: Holds,
    /// The command that restores the book.
    pub restore: String,
}

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

/// Describes a backup written to `file`, which the command `restore` restores.
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
