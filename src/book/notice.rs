//! What was passed over while reading: no fault, but the binder should know.

use super::Location;
use std::fmt;

/// Something passed over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Notice {
    /// Empty rows between others.
    BlankRows {
        /// The first of them.
        place: Location,
        /// How many there are.
        count: usize,
    },
    /// A column that is not read.
    UnreadColumn {
        /// Its header.
        place: Location,
        /// Its name.
        column: String,
    },
    /// A sheet says more than the book does of a paper, thread or trial that is there already.
    NotAdded {
        /// The cell.
        place: Location,
        /// What the book says nothing of: `grammage_gsm of paper 'laid'`.
        what: String,
    },
    /// A reading or trial of the sheet that was struck from the book, and is not added again.
    Struck {
        /// The row.
        place: Location,
        /// What was struck.
        what: String,
    },
}

impl fmt::Display for Notice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BlankRows { place, count: 1 } => {
                write!(f, "{place}: an empty row was passed over")
            }
            Self::BlankRows { place, count } => {
                write!(f, "{place}: {count} empty rows from here on were passed over")
            }
            Self::UnreadColumn { place, column } => {
                write!(f, "{place}: column '{column}' is not read")
            }
            Self::NotAdded { place, what } => {
                write!(f, "{place}: the book has no {what}; it is kept as it is")
            }
            Self::Struck { place, what } => {
                write!(f, "{place}: {what} was struck from the book and is not added again")
            }
        }
    }
}

impl Notice {
    /// Where it is.
    pub fn place(&self) -> &Location {
        match self {
            Self::BlankRows { place, .. }
            | Self::UnreadColumn { place, .. }
            | Self::NotAdded { place, .. }
            | Self::Struck { place, .. } => place,
        }
    }
}
