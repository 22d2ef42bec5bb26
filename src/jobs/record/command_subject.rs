//! What is measured at the bench, and what is said to a line.

use crate::book::{Config, Finding};
use crate::trade::{Paper, Reading, ReadingError, State, Thread, Trial};
use crate::units::{GaugeReading, LengthUnit, Millimetres};
use std::fmt;

/// What is being measured.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Subject<'b> {
    pub trial: &'b Trial,
    pub paper: &'b Paper,
    pub thread: &'b Thread,
    pub state: State,
    pub config: &'b Config,
    pub doubts: Doubts<'b>,
}

/// Finds what is doubtful about readings that are not in the book yet.
#[derive(Clone, Copy)]
pub(crate) struct Doubts<'b>(pub &'b dyn Fn(&[Reading]) -> Vec<Finding>);

impl fmt::Debug for Doubts<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Doubts")
    }
}

/// What to say to a line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Reply {
    /// Nothing.
    Quiet,
    /// An answer.
    Said(String),
    /// Why the line is not taken.
    Refused(String),
    /// The readings are complete.
    Over,
    /// They are not to be written.
    Left,
}

/// A reading that is not taken, and the one that was probably meant.
pub(super) struct Refusal {
    pub why: String,
    /// What to type where it is right all the same.
    pub ways: &'static str,
    pub meant: Option<GaugeReading>,
    /// Whether it may be right all the same.
    pub doubtful: bool,
}

impl Refusal {
    pub fn of(error: &ReadingError, reading: &GaugeReading, unit: LengthUnit) -> Self {
        let meant = error.meant().and_then(Millimetres::new);
        let meant = meant.map(|value| GaugeReading { value, ..reading.clone() });
        Self { why: error.in_unit(unit), ways: "", meant, doubtful: false }
    }
}
