//! What a book holds.

use crate::trade::{Paper, Reading, Target, Thread, Trial};
use jiff::civil::Date;

/// Entries of every kind, in order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Entries {
    /// Papers.
    pub papers: Vec<Paper>,
    /// Threads.
    pub threads: Vec<Thread>,
    /// Targets.
    pub targets: Vec<Target>,
    /// Trials.
    pub trials: Vec<Trial>,
    /// Readings.
    pub readings: Vec<Reading>,
    /// Struck entries.
    pub strikes: Vec<Strike>,
}

/// The kinds of entry that can be struck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EntryKind {
    /// A paper.
    Paper,
    /// A thread.
    Thread,
    /// A target.
    Target,
    /// A trial, with its readings.
    Trial,
    /// A reading, named `trial/state/place`.
    Reading,
}

/// A struck entry: it stays legible in its file but counts no more.
#[derive(Clone, Debug, PartialEq)]
pub struct Strike {
    /// What kind of entry.
    pub what: EntryKind,
    /// Its name; for a reading `trial/state/place`.
    pub id: String,
    /// Why.
    pub reason: String,
    /// When.
    pub date: Date,
}

/// What an append wrote, by kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Written {
    /// Papers.
    pub papers: usize,
    /// Threads.
    pub threads: usize,
    /// Targets.
    pub targets: usize,
    /// Trials.
    pub trials: usize,
    /// Readings.
    pub readings: usize,
    /// Struck entries.
    pub strikes: usize,
}
