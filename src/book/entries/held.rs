//! What a book holds.

use crate::trade::{KeptForecast, Paper, Reading, Target, Thread, Trial, UnknownWord};
use jiff::civil::Date;
use std::fmt;
use std::str::FromStr;

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
    /// Kept forecasts.
    pub forecasts: Vec<KeptForecast>,
}

impl Entries {
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.written() == Written::default()
    }

    /// How many there are, by kind.
    pub fn written(&self) -> Written {
        Written {
            papers: self.papers.len(),
            threads: self.threads.len(),
            targets: self.targets.len(),
            trials: self.trials.len(),
            readings: self.readings.len(),
            strikes: self.strikes.len(),
            forecasts: self.forecasts.len(),
        }
    }
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
    /// A reading, named `trial/state/place` (see [`reading_id`]).
    Reading,
    /// A kept forecast; the second one of a name is `NAME/2`.
    Forecast,
}

impl EntryKind {
    /// The words, as a list for messages.
    pub const WORDS: &'static str = "paper, thread, target, trial, reading, forecast";

    /// Every kind.
    pub const ALL: [Self; 6] =
        [Self::Paper, Self::Thread, Self::Target, Self::Trial, Self::Reading, Self::Forecast];

    /// The word in the files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Paper => "paper",
            Self::Thread => "thread",
            Self::Target => "target",
            Self::Trial => "trial",
            Self::Reading => "reading",
            Self::Forecast => "forecast",
        }
    }
}

impl fmt::Display for EntryKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl FromStr for EntryKind {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let word = text.trim().to_lowercase();
        let kind = Self::ALL.into_iter().find(|kind| kind.word() == word);
        kind.ok_or_else(|| UnknownWord::new(text, Self::WORDS))
    }
}

/// The id of a reading in `struck.csv`: `trial/state/place`, a slash or backslash inside a name
/// with a backslash before it, so that no two readings share one.
pub fn reading_id(reading: &Reading) -> String {
    format!("{}/{}/{}", in_id(&reading.trial), reading.state, in_id(&reading.place))
}

/// A name as a part of an id.
pub(in crate::book) fn in_id(name: &impl AsRef<str>) -> String {
    name.as_ref().replace('\\', r"\\").replace('/', r"\/")
}

/// An id without the backslashes that keep names apart: what older books have in `struck.csv`, and
/// what a person types. Two entries may share one.
pub fn plain_id(id: &str) -> String {
    let mut plain = String::new();
    let mut letters = id.chars();
    while let Some(c) = letters.next() {
        plain.extend(if c == '\\' { letters.next() } else { Some(c) });
    }
    plain
}

/// A struck entry: it stays legible in its file but counts no more.
#[derive(Clone, Debug, PartialEq)]
pub struct Strike {
    /// What kind of entry.
    pub what: EntryKind,
    /// Its name; for a reading `trial/state/place`, for a later forecast of a name `NAME/2`.
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
    /// Kept forecasts.
    pub forecasts: usize,
}
