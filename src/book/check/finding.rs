//! A doubtful thing and where it is.

use super::repetition::Repetition;
use crate::book::entries::held::EntryKind;
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::book::notice::{Notice, Telling};
use crate::trade::{Edge, Name, Place, State};
use jiff::civil::Date;
use std::fmt;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Wrong: while it is there the book is not read.
    Wrong,
    /// Likely a mistake: look at it again.
    Check,
    /// Good to know.
    Note,
}

impl Severity {
    /// One word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wrong => "wrong",
            Self::Check => "check",
            Self::Note => "note",
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

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

/// What is doubtful about readings. Lengths are in mm.
#[derive(Clone, Debug, PartialEq)]
pub enum SetDoubt {
    /// A spine thinner than the fore-edge although there is thread in the folds.
    SpineThinner {
        /// The place measured.
        at: Place,
        /// The spine.
        spine_mm: f64,
        /// The fore-edge.
        fore_edge_mm: f64,
    },
    /// A mean fore-edge more than a quarter away from leaves × caliper.
    ForeEdgeFar {
        /// The mean.
        mean_mm: f64,
        /// Leaves × caliper.
        leaves_mm: f64,
    },
    /// A reading far from the others of its trial and state.
    Outlying {
        /// The place measured.
        at: Place,
        /// The edge.
        edge: Edge,
        /// The reading.
        value_mm: f64,
        /// The median of the others.
        others_mm: f64,
    },
    /// A reading out of line with its set, which the fit lets count less.
    CountsLess {
        /// The place measured.
        at: Place,
        /// The edge.
        edge: Edge,
        /// The reading.
        value_mm: f64,
        /// How much it counts: above zero and below one.
        weight: f64,
    },
    /// More swell after knocking down than as sewn.
    SwellGrew {
        /// As sewn.
        sewn_mm: f64,
        /// After knocking down.
        knocked_mm: f64,
    },
    /// Readings that are there twice.
    Repeated(Repetition),
    /// The same reading at every one of so many places.
    AllEqual {
        /// How many.
        places: usize,
    },
    /// Only this edge was measured, which gives no swell.
    OneEdge(Edge),
    /// One place only was measured.
    OnePlace,
}

/// What is doubtful about an entry.
#[derive(Clone, Debug, PartialEq)]
pub enum EntryDoubt {
    /// Caliper and grammage that hardly go together: their bulk in cm³/g.
    Bulk(f64),
    /// A measured diameter far from what the count gives, in mm.
    Diameter {
        /// As measured.
        laid_mm: f64,
        /// From the count.
        count_mm: f64,
    },
    /// No trial uses it.
    Unused,
    /// A name that differs from this other one only in capitals or spaces.
    AlikeTo(Name),
    /// A date after today.
    DateAhead(Date),
    /// No date.
    NoDate,
    /// Nobody's hand, in a book where other trials name one.
    NoHand,
    /// No readings.
    NoReadings,
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

impl SetDoubt {
    fn severity(&self) -> Severity {
        match self {
            Self::SpineThinner { .. }
            | Self::ForeEdgeFar { .. }
            | Self::Outlying { .. }
            | Self::CountsLess { .. }
            | Self::SwellGrew { .. }
            | Self::Repeated(Repetition { perhaps_chance: false, .. })
            | Self::OneEdge(_) => Severity::Check,
            Self::AllEqual { .. } | Self::Repeated(_) | Self::OnePlace => Severity::Note,
        }
    }
}

impl EntryDoubt {
    fn severity(&self) -> Severity {
        match self {
            Self::Bulk(_) | Self::Diameter { .. } | Self::AlikeTo(_) | Self::DateAhead(_) => {
                Severity::Check
            }
            Self::Unused | Self::NoDate | Self::NoHand | Self::NoReadings => Severity::Note,
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Faulty(fault) => fault.fmt(f),
            Self::PassedOver(notice) => notice.fmt(f),
            Self::Set { place, trial, state, doubt } => {
                write!(f, "{place}: {trial} {}: {doubt}", state.phrase())
            }
            Self::Entry { place, kind, name, doubt } => {
                write!(f, "{place}: {kind} '{name}' {doubt}")
            }
        }
    }
}

impl fmt::Display for SetDoubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SpineThinner { at, spine_mm, fore_edge_mm } => write!(
                f,
                "place {at} has a spine of {spine_mm} mm, thinner than its fore-edge of {fore_edge_mm} mm with thread in the folds; were the two exchanged?"
            ),
            Self::ForeEdgeFar { mean_mm, leaves_mm } => write!(
                f,
                "the fore-edge is {mean_mm:.2} mm, but the leaves make {leaves_mm:.2} mm; check the caliper, sections and sheets"
            ),
            Self::Outlying { at, edge, value_mm, others_mm } => write!(
                f,
                "place {at} has a {edge} of {value_mm} mm, far from the others' {others_mm:.2} mm; measure it again"
            ),
            Self::CountsLess { at, edge, value_mm, weight } => write!(
                f,
                "place {at} has a {edge} of {value_mm} mm, out of line with its set: it is given a \
                 weight of {weight:.2}; measure it again"
            ),
            Self::SwellGrew { sewn_mm, knocked_mm } => write!(
                f,
                "the swell is {knocked_mm:.2} mm, more than {sewn_mm:.2} mm as sewn; were the states exchanged?"
            ),
            Self::Repeated(repetition) => write!(f, "{repetition}; were they recorded twice?"),
            Self::AllEqual { places } => {
                write!(f, "all {places} places read the same; was one reading copied?")
            }
            Self::OneEdge(edge) => {
                write!(f, "only the {edge} was measured, which gives no swell; measure both edges")
            }
            Self::OnePlace => {
                f.write_str("one place only; two or more tell how repeatable the readings are")
            }
        }
    }
}

impl fmt::Display for EntryDoubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bulk(bulk) => write!(
                f,
                "has a bulk of {bulk:.2} cm\u{b3}/g by its caliper and grammage, where papers have 0.6 to 2.5; check both"
            ),
            Self::Diameter { laid_mm, count_mm } => write!(
                f,
                "has a laid diameter of {laid_mm} mm, but its count makes {count_mm:.2} mm; check both"
            ),
            Self::Unused => f.write_str("is not used in any trial"),
            Self::AlikeTo(other) => {
                write!(f, "differs from '{other}' only in capitals or spaces; are they the same?")
            }
            Self::DateAhead(date) => write!(f, "is dated {date}, which is in the future"),
            Self::NoDate => f.write_str("has no date"),
            Self::NoHand => f.write_str("does not say whose hand sewed it, as others do"),
            Self::NoReadings => f.write_str("has no readings yet"),
        }
    }
}
