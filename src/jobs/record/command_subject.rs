//! The block measured at the bench, and the replies to input lines.

use super::answer_measure::stock_of;
use crate::book::{Book, Config, Finding};
use crate::terminal::number;
use crate::trade::{Paper, Reading, ReadingError, State, Thread, Trial, expected_thickness};
use crate::units::{GaugeReading, LengthUnit, Millimetres};

#[derive(Clone, Copy)]
pub(crate) struct Subject<'b> {
    pub trial: &'b Trial,
    pub paper: &'b Paper,
    pub thread: &'b Thread,
    pub state: State,
    pub config: &'b Config,
    /// Finds doubts about readings that are not yet in the book.
    pub doubts: &'b Doubts<'b>,
}

pub(crate) type Doubts<'b> = dyn Fn(&[Reading]) -> Vec<Finding> + 'b;

impl<'b> Subject<'b> {
    /// A trial of the book in a state. The error is the word for what is struck: its paper or its
    /// thread.
    pub fn of(
        book: &'b Book,
        trial: &'b Trial,
        state: State,
        doubts: &'b Doubts<'b>,
    ) -> Result<Self, &'static str> {
        let (paper, thread) = stock_of(book, trial);
        let (paper, thread) = (paper.ok_or("paper")?, thread.ok_or("thread")?);
        Ok(Self { trial, paper, thread, state, config: book.config(), doubts })
    }

    /// The text before the first reading.
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

    /// A length as the book's gauge shows it.
    pub fn length(&self, length: Millimetres) -> String {
        number::length(length, self.config)
    }
}

/// The help for the words that the bench understands.
pub(super) const WORDS: &str = "\
  a value and Enter, from the gauge or by hand;
             several on a line separated by ; or a tab
  undo       undo the last reading or skip
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

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Reply {
    Quiet,
    Said(String),
    /// Why the line is not taken.
    Refused(String),
    /// The readings are complete.
    Over,
    /// The binder stopped; the readings are not written.
    Left,
}

/// Why a reading is not taken, and the reading that was probably meant.
pub(super) struct Refusal {
    pub why: String,
    /// What to type if the reading is right anyway.
    pub ways: &'static str,
    pub meant: Option<GaugeReading>,
    /// Whether the reading may be right anyway.
    pub doubtful: bool,
}

impl Refusal {
    pub fn of(error: &ReadingError, reading: &GaugeReading, unit: LengthUnit) -> Self {
        let meant = error.meant().and_then(Millimetres::new);
        let meant = meant.map(|value| GaugeReading { value, ..reading.clone() });
        Self { why: error.in_unit(unit), ways: "", meant, doubtful: false }
    }
}
