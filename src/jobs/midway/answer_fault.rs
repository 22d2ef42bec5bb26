//! Faults of a measured part of a block.

use crate::trade::{Edge, Range, ReadingError, hint};
use crate::units::LengthUnit;
use thiserror::Error;

#[derive(Clone, Debug, PartialEq, Error)]
pub enum PartError {
    /// No sections are sewn, or all of them, or more than the book has.
    #[error("{}", sewn_message(*sewn, *sections))]
    Sewn { sewn: u32, sections: u32 },
    #[error("an unsewn part has no swell to learn from; it was measured sewn, pressed or knocked")]
    Unsewn,
    #[error("no reading of the {0}; both edges are needed")]
    NoReading(Edge),
    #[error("{}", self.in_unit(LengthUnit::Millimetre))]
    Implausible {
        edge: Edge,
        /// The thickness in mm.
        value: f64,
        /// The thickness in mm that these sections can have.
        range: Range,
        sewn: u32,
    },
    /// The two edges do not fit together.
    #[error(transparent)]
    Edges(ReadingError),
}

impl PartError {
    /// The message, with lengths in `unit`.
    pub fn in_unit(&self, unit: LengthUnit) -> String {
        match self {
            Self::Implausible { edge, value, range, sewn } => format!(
                "{edge} {} is outside {} for the {}sewn; {}",
                unit.shown(*value),
                range.in_unit(unit),
                if *sewn == 1 { "section ".to_owned() } else { format!("{sewn} sections ") },
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
    let part_way = match sections {
        1 => "a book of 1 section has no part-way".to_owned(),
        _ => format!("part-way is 1 to {}", sections.saturating_sub(1)),
    };
    let found = match (sewn == sections, sections) {
        (true, 1) => String::new(),
        (true, _) => format!("all {sections} sections are sewn; "),
        (false, _) => format!("{sewn} sections are more than the {sections} of the book; "),
    };
    format!(
        "{found}{part_way}, and a finished book is recorded as a trial with 'swellbook record \
         trial' and 'swellbook record readings'"
    )
}
