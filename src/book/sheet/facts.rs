//! One fact said by several rows, and perhaps by the book: all must say the same.

use super::row::Given;
use crate::book::check::faults::Faults;
use crate::book::csv::cells::Faulted;
use crate::book::csv::tail::decimal;
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::trade::{Hardness, Material, Name, ThreadCount, TrialKind};
use crate::units::{Grammage, Millimetres};
use jiff::civil::Date;

/// A value that rows say again and again.
pub(super) trait Said: Clone + PartialEq {
    /// As a message shows it, and as two rows must agree on it.
    fn said(&self) -> String;
}

macro_rules! said_by_display {
    ($($kind:ty),*) => {
        $(impl Said for $kind {
            fn said(&self) -> String {
                self.to_string()
            }
        })*
    };
}

said_by_display!(Name, Hardness, Material, ThreadCount, TrialKind, Date, u16, u8);

impl Said for bool {
    fn said(&self) -> String {
        if *self { "yes".to_owned() } else { "no".to_owned() }
    }
}

impl Said for Millimetres {
    /// As the files hold it, so that a sheet in inches agrees with the book it made.
    fn said(&self) -> String {
        format!("{} mm", decimal(self.mm(), false))
    }
}

impl Said for Grammage {
    fn said(&self) -> String {
        format!("{} g/m\u{b2}", decimal(self.gsm(), false))
    }
}

/// Where a fact was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum By {
    Book,
    Row(usize),
}

/// What is known so far of one column of a paper, a thread or a trial.
#[derive(Clone, Debug)]
pub(super) struct Fact<T> {
    column: &'static str,
    value: Option<(T, By)>,
    in_book: bool,
    faulted: bool,
}

/// A row that says facts, what it says them of (`paper 'laid'`), and what comes of it.
pub(super) struct Saying<'a> {
    pub(super) source: &'a str,
    pub(super) row: usize,
    pub(super) of: String,
    pub(super) faults: &'a mut Faults,
    pub(super) notices: &'a mut Vec<Notice>,
}

impl<T: Said> Fact<T> {
    /// Nothing is known yet.
    pub(super) fn new(column: &'static str) -> Self {
        Self { column, value: None, in_book: false, faulted: false }
    }

    /// What the book says, if only that it says nothing.
    pub(super) fn in_book(column: &'static str, value: Option<T>) -> Self {
        let value = value.map(|value| (value, By::Book));
        Self { column, value, in_book: true, faulted: false }
    }

    /// What the book says of an entry, when the book has it.
    pub(super) fn of<E>(
        column: &'static str,
        entry: Option<&E>,
        value: impl Fn(&E) -> Option<T>,
    ) -> Self {
        entry.map_or(Self::new(column), |entry| Self::in_book(column, value(entry)))
    }

    /// The value, when known.
    pub(super) fn value(&self) -> Option<T> {
        self.value.as_ref().map(|(value, _)| value.clone())
    }

    /// The row that said it first.
    pub(super) fn row(&self) -> Option<usize> {
        match self.value {
            Some((_, By::Row(row))) => Some(row),
            Some((_, By::Book)) | None => None,
        }
    }

    /// A row says it. What is at fault in the cell itself was noted when it was read.
    pub(super) fn say(&mut self, given: &Given<T>, saying: &mut Saying<'_>) {
        let value = match given {
            Ok(None) => return,
            Err(Faulted) => {
                self.faulted = true;
                return;
            }
            Ok(Some(value)) => value,
        };
        let place = Location::cell(saying.source, saying.row, self.column);
        match &self.value {
            Some((known, by)) if known != value && known.said() != value.said() => {
                let by = match by {
                    By::Book => "the book".to_owned(),
                    By::Row(row) => format!("row {row}"),
                };
                let (here, there) = (value.said(), known.said());
                let message = format!("{} has {here} here but {there} in {by}", saying.of);
                saying.faults.push(Fault::new(place, message));
            }
            Some(_) => {}
            None => {
                if self.in_book {
                    let what = format!("{} of {}", self.column, saying.of);
                    saying.notices.push(Notice::NotAdded { place, what });
                }
                self.value = Some((value.clone(), By::Row(saying.row)));
            }
        }
    }

    /// The value of something new to the book; without one, a fault in the row `saying` unless
    /// a cell that should say it is at fault already.
    pub(super) fn needed(&self, saying: &mut Saying<'_>, expected: &str) -> Result<T, Faulted> {
        if let Some((value, _)) = &self.value {
            return Ok(value.clone());
        }
        if !self.faulted {
            let place = Location::cell(saying.source, saying.row, self.column);
            let message =
                format!("{} is new to the book and no row says its {expected}", saying.of);
            saying.faults.push(Fault::new(place, message));
        }
        Err(Faulted)
    }

    /// The value of something new to the book that may be left out.
    pub(super) fn allowed(&self) -> Result<Option<T>, Faulted> {
        if self.faulted { Err(Faulted) } else { Ok(self.value()) }
    }
}
