//! What a part of a block cannot be.

use crate::trade::{Edge, Range, ReadingError, hint};
use crate::units::LengthUnit;
use thiserror::Error;

/// Why a part of a block cannot be what was said.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PartError {
    /// No section, or all of them.
    #[error("{}", sewn_message(*sewn, *sections))]
    Sewn {
        /// Sections said to be sewn.
        sewn: u32,
        /// Sections in the book.
        sections: u32,
    },
    /// A state in which nothing is sewn.
    #[error("an unsewn part has no swell to learn from; it was measured sewn, pressed or knocked")]
    Unsewn,
    /// An edge that was not measured.
    #[error("no reading of the {0}; both edges are needed")]
    NoReading(Edge),
    /// A thickness that these sections cannot have.
    #[error("{}", self.in_unit(LengthUnit::Millimetre))]
    Implausible {
        /// The edge.
        edge: Edge,
        /// The thickness in mm.
        value: f64,
        /// What these sections can measure.
        range: Range,
        /// Sections sewn.
        sewn: u32,
    },
    /// Edges that do not go together.
    #[error(transparent)]
    Edges(ReadingError),
}

impl PartError {
    /// What is wrong, with lengths in `unit`.
    pub fn in_unit(&self, unit: LengthUnit) -> String {
        match self {
            Self::Implausible { edge, value, range, sewn } => format!(
                "{edge} {} is outside {} for the {sewn} sections sewn; {}",
                unit.shown(*value),
                range.in_unit(unit),
                hint(*value, *range)
            ),
            Self::Edges(error) => error.in_unit(unit),
            Self::Sewn { .. } | Self::Unsewn | Self::NoReading(_) => self.to_string(),
        }
    }
}

fn sewn_message(sewn: u32, sections: u32) -> String {
    if sewn == 0 {
        return "no section is sewn yet; ask 'swellbook predict' instead".to_owned();
    }
    let last = sections.saturating_sub(1);
    let found = if sewn == sections {
        format!("all {sections} sections are sewn")
    } else {
        format!("{sewn} sections are more than the {sections} of the book")
    };
    format!(
        "{found}; part-way is 1 to {last}, and a finished book is recorded as a trial with \
         'swellbook record trial' and 'swellbook record readings'"
    )
}
