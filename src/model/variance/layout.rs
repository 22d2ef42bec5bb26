//! What a study can show, given who measured what and how often.

use crate::observe::{Repeat, Repeats};
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// Why a study cannot show how operators differ.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoReproducibility {
    /// One operator, or none named.
    OneOperator,
    /// No part was measured by two operators.
    OwnParts,
    /// Some operator did not measure some part.
    LeftOut { operator: String, part: String },
    /// All measured all parts, but not equally often.
    UnequallyOften {
        /// The operator of the cell that differs from the first.
        operator: String,
        part: String,
        readings: usize,
        /// The first cell's readings.
        others: usize,
    },
    /// All measured the only part there is.
    OnePart,
}

/// How operators and parts are combined.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Layout {
    /// Parts alone, each measured by one operator.
    Parts(NoReproducibility),
    /// Every operator measured every part equally often.
    Crossed {
        /// Readings in a cell.
        repeats: usize,
    },
    /// Operators share parts, but did not measure all of them equally often. Only the repeats of
    /// each operator on each part can be used.
    Uneven(NoReproducibility),
}

impl Layout {
    /// Its name in JSON.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Parts(_) => "parts",
            Self::Crossed { .. } => "crossed",
            Self::Uneven(_) => "uneven",
        }
    }

    /// Why the study cannot show how operators differ, if that is so.
    pub fn why_not(&self) -> Option<&NoReproducibility> {
        match self {
            Self::Crossed { .. } => None,
            Self::Parts(why) | Self::Uneven(why) => Some(why),
        }
    }
}

/// Only the kind is written.
impl Serialize for NoReproducibility {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(match self {
            Self::OneOperator => "one_operator",
            Self::OwnParts => "own_parts",
            Self::LeftOut { .. } => "left_out",
            Self::UnequallyOften { .. } => "unequally_often",
            Self::OnePart => "one_part",
        })
    }
}

/// Readings by part and operator.
pub(super) type Cells = BTreeMap<(usize, usize), Vec<f64>>;

/// The readings of each operator on each part.
pub(super) fn cells(readings: &[Repeat]) -> Cells {
    let mut cells = Cells::new();
    for reading in readings {
        cells.entry((reading.part, reading.operator)).or_default().push(reading.mm);
    }
    cells
}

/// How operators and parts are combined in `repeats`, whose cells are `cells`.
pub(super) fn layout(repeats: &Repeats, cells: &Cells) -> Layout {
    let (parts, operators) = (repeats.parts.len(), repeats.operators.len());
    if operators < 2 {
        return Layout::Parts(NoReproducibility::OneOperator);
    }
    if cells.len() == parts {
        return Layout::Parts(NoReproducibility::OwnParts);
    }
    match unequal(repeats, cells) {
        Some(why) => Layout::Uneven(why),
        None if parts < 2 => Layout::Uneven(NoReproducibility::OnePart),
        None => Layout::Crossed { repeats: cells.values().next().map_or(0, Vec::len) },
    }
}

/// The first cell that is missing, or differs in size from the first one.
fn unequal(repeats: &Repeats, cells: &Cells) -> Option<NoReproducibility> {
    let others = cells.values().next()?.len();
    let all = (0..repeats.parts.len())
        .flat_map(|part| (0..repeats.operators.len()).map(move |operator| (part, operator)));
    let mut sized = all.map(|cell| (cell, cells.get(&cell).map(Vec::len)));
    let ((part, operator), found) = sized.find(|(_, found)| *found != Some(others))?;
    let (operator, part) = (repeats.operators[operator].clone(), repeats.parts[part].clone());
    Some(match found {
        None => NoReproducibility::LeftOut { operator, part },
        Some(readings) => NoReproducibility::UnequallyOften { operator, part, readings, others },
    })
}
