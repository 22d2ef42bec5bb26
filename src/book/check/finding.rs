//! A fault or doubt and its location.

use super::doubt::{EntryDoubt, SetDoubt, Severity};
use crate::book::entries::held::EntryKind;
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::book::notice_telling::Telling;
use crate::trade::{Name, State};
use crate::units::LengthUnit;
use std::fmt;

#[derive(Clone, Debug, PartialEq)]
pub enum Finding {
    /// An impossible row or setting.
    Faulty(Fault),
    /// Something that was passed over while reading the files.
    PassedOver(Notice),
    /// A doubt about the readings of a trial in a state.
    Set {
        /// The location of the reading, or of the first reading of the state.
        place: Location,
        trial: Name,
        state: State,
        doubt: SetDoubt,
    },
    /// A doubt about a paper, thread, target or trial as a whole.
    Entry { place: Location, kind: EntryKind, name: Name, doubt: EntryDoubt },
}

impl Finding {
    pub fn place(&self) -> &Location {
        match self {
            Self::Faulty(fault) => &fault.place,
            Self::PassedOver(notice) => notice.place(),
            Self::Set { place, .. } | Self::Entry { place, .. } => place,
        }
    }

    /// Whether it says only that a file was changed outside swellbook.
    pub fn is_of_an_edit(&self) -> bool {
        matches!(self, Self::PassedOver(notice) if notice.is_of_an_edit())
    }

    pub fn severity(&self) -> Severity {
        match self {
            Self::Faulty(_) => Severity::Wrong,
            Self::PassedOver(notice) => match notice.telling() {
                _ if matches!(notice, Notice::Aside { .. } | Notice::Copy { .. }) => {
                    Severity::Check
                }
                Telling::Audited => Severity::Note,
                _ => Severity::Check,
            },
            Self::Set { doubt, .. } => doubt.severity(),
            Self::Entry { doubt, .. } => doubt.severity(),
        }
    }

    /// The sentence without the location. Lengths are in `unit`.
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

    /// The sentence with the location before it.
    pub fn said(&self, unit: LengthUnit) -> String {
        match self {
            Self::Faulty(_) | Self::PassedOver(_) => self.sentence(unit),
            Self::Set { place, .. } | Self::Entry { place, .. } => {
                format!("{place}: {}", self.sentence(unit))
            }
        }
    }

    /// A key that is the same for the same check of the same thing. It does not depend on values
    /// measured since, nor on the location.
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
