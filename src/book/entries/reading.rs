use super::table::*;
use crate::trade::{Edge, Name, Reading, ReadingError, State, Words, ranges};
use crate::units::Millimetres;

columns! {
    reading: Reading in BookFile::Readings => ReadingRow, ReadingParts;
    trial: Name, needed(A_NAME),
        Column::new("trial", "T1", "a name in `trials.csv`").in_sheet(1), reading.trial.clone();
    state: State, needed("the state of the block is expected"),
        Column::new("state", "knocked", "").in_sheet(20), reading.state;
    place: Name, needed("a number or a word such as head is expected"),
        Column::new("place", "head", "a number or a word such as `head`, once for each trial and \
            state").in_sheet(21), reading.place.clone();
    spine: Millimetres, optional,
        Column::new("spine_mm", "11.05", POSSIBLE).within(ranges::THICKNESS).required()
            .needs("one of the two").in_sheet(22), reading.spine();
    fore_edge: Millimetres, optional,
        Column::new("fore_edge_mm", "8.1", POSSIBLE).within(ranges::THICKNESS).required()
            .needs("one of the two").in_sheet(23), reading.fore_edge();
    taken: Words, or(Words::default()),
        Column::new("taken", "2026-03-14", "the day, or any text").in_sheet(25),
        reading.taken.clone();
    note: Words, or(Words::default()),
        Column::new("note", "x", "").in_sheet(24), reading.note.clone();
}

const POSSIBLE: &str = "possible for the paper, thread and sections";

impl From<ReadingError> for Misfit {
    fn from(error: ReadingError) -> Self {
        let column = match &error {
            ReadingError::NoEdge => ReadingRow::spine,
            ReadingError::Thickness { edge: Edge::ForeEdge, .. }
            | ReadingError::Implausible { edge: Edge::ForeEdge, .. } => ReadingRow::fore_edge,
            ReadingError::SpineTooThin { .. }
            | ReadingError::Thickness { .. }
            | ReadingError::Implausible { .. } => ReadingRow::spine,
        };
        let of_row = matches!(error, ReadingError::NoEdge);
        let why = match of_row {
            true => Why::Said(format!("{error}; fill in at least one of them, or delete the row")),
            false => Why::Measured(error),
        };
        Self::At { column: column.name, of_row, why }
    }
}

impl Record for Reading {
    type Row = ReadingRow;

    fn made_of(parts: ReadingParts) -> Result<Self, Misfit> {
        let (trial, state, place) = (parts.trial?, parts.state?, parts.place?);
        let mut reading = Self::new(trial, state, place, parts.spine?, parts.fore_edge?)?;
        reading.taken = parts.taken?;
        reading.note = parts.note?;
        Ok(reading)
    }
}
