//! What is measured at the bench, and what is said to a line.

use crate::book::{Config, Finding};
use crate::terminal::number;
use crate::trade::{Paper, Reading, ReadingError, State, Thread, Trial, expected_thickness};
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

impl Subject<'_> {
    /// What is said before the first reading.
    pub fn introduction(&self) -> String {
        let Subject { trial, paper, thread, state, .. } = *self;
        let range = expected_thickness(trial.sewing, paper, thread);
        let length = |mm| Millimetres::new(mm).map(|mm| self.length(mm));
        format!(
            "{}, {}: {} to {} is possible here\n\
             every spine first, then every fore-edge in the same order\n\
             words: undo, skip, note TEXT, done, ? (what they do)",
            trial.name,
            state.phrase(),
            length(range.low).unwrap_or_default(),
            length(range.high).unwrap_or_default(),
        )
    }

    /// A length as the gauge of the book shows it.
    pub fn length(&self, length: Millimetres) -> String {
        number::length(length, self.config)
    }
}

/// What the words of the bench do.
pub(super) const WORDS: &str = "\
  a value and Enter, from the gauge or by hand;
             several on a line separated by ; or a tab
  undo       take back the last reading or skip
  y          keep a reading that looks wrong
  x          exchange the edges of all readings, when asked
  skip       leave this place out at this edge
  note TEXT  keep a note with the last reading
  done       from the spine on to the fore-edge,
             from there to writing the readings
  quit       stop without writing; said twice
             if there are readings
  Ctrl-C     stop at once without writing;
             the readings are shown
  Ctrl-D     stop and write what was taken";

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
