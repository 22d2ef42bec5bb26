//! A doubtful thing and where it is.

use super::doubt::{EntryDoubt, SetDoubt, Severity};
use crate::book::entries::held::EntryKind;
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::book::notice::{Notice, Telling};
use crate::trade::{Name, State};
use crate::units::LengthUnit;
use std::fmt;

/// Something doubtful in a book.
#[derive(Clone, Debug, PartialEq)]
pub enum Finding {
    /// An impossible row or setting.
    Faulty(Fault),
    /// Something was passed over in reading the files.
    PassedOver(Notice),
    /// About the readings of a trial in a state.
    Set {
        /// Where: the reading, or the first of the state.
        place: Location,
        /// The trial.
        trial: Name,
        /// The state.
        state: State,
        /// What is doubtful.
        doubt: SetDoubt,
    },
    /// About a paper, thread, target or trial as a whole.
    Entry {
        /// Where.
        place: Location,
        /// What kind of entry.
        kind: EntryKind,
        /// Its name.
        name: Name,
        /// What is doubtful.
        doubt: EntryDoubt,
    },
}

impl Finding {
    /// Where it is.
    pub fn place(&self) -> &Location {
        match self {
            Self::Faulty(fault) => &fault.place,
            Self::PassedOver(notice) => notice.place(),
            Self::Set { place, .. } | Self::Entry { place, .. } => place,
        }
    }

    /// How much it matters.
    pub fn severity(&self) -> Severity {
        match self {
            Self::Faulty(_) => Severity::Wrong,
            Self::PassedOver(notice) => match notice.telling() {
                Telling::Audited if !matches!(notice, Notice::Aside { .. }) => Severity::Note,
                _ => Severity::Check,
            },
            Self::Set { doubt, .. } => doubt.severity(),
            Self::Entry { doubt, .. } => doubt.severity(),
        }
    }
}

impl Finding {
    /// What is doubtful, with lengths in the unit of the book, and without its place in a file.
    pub fn sentence(&self, unit: LengthUnit) -> String {
        match self {
            Self::Faulty(fault) => fault.to_string(),
            Self::PassedOver(notice) => notice.to_string(),
            Self::Set { trial, state, doubt, .. } => {
                format!("{trial} {}: {}", state.phrase(), doubt.words(unit))
            }
            Self::Entry { kind, name, doubt, .. } => {
                format!("{kind} '{name}' {}", doubt.words(unit))
            }
        }
    }

    /// The same with its place before it.
    pub fn said(&self, unit: LengthUnit) -> String {
        match self {
            Self::Faulty(_) | Self::PassedOver(_) => self.sentence(unit),
            Self::Set { place, .. } | Self::Entry { place, .. } => {
                format!("{place}: {}", self.sentence(unit))
            }
        }
    }

    /// The same check of the same thing has the same name, whatever was read since and wherever it
    /// is written.
    pub fn subject(&self) -> String {
        match self {
            Self::Faulty(_) | Self::PassedOver(_) => self.sentence(LengthUnit::default()),
            Self::Set { trial, state, doubt, .. } => {
                format!("{trial}/{state} {}", doubt.subject())
            }
            Self::Entry { kind, name, doubt, .. } => format!("{kind} {name} {}", doubt.check()),
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.said(LengthUnit::default()))
    }
}
