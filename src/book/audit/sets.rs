//! The readings of one trial in one state, together.

use super::super::files::BookFile;
use super::super::record::Located;
use super::super::resolve::place;
use super::super::{Book, Location};
use crate::trade::{Edge, Paper, Reading, State, Trial};
use crate::units::Millimetres;

/// The readings of one trial in one state, in the order of the file; at least one.
pub(super) struct Set<'a> {
    pub(super) trial: &'a Trial,
    pub(super) paper: Option<&'a Paper>,
    pub(super) state: State,
    pub(super) readings: Vec<&'a Located<Reading>>,
}

/// Every set of the book, trial by trial and in the order of the work.
pub(super) fn sets(book: &Book) -> Vec<Set<'_>> {
    let mut sets = Vec::new();
    for trial in book.trials() {
        let paper = book.papers().iter().find(|paper| paper.name == trial.paper);
        let all = &book.resolved.live.readings;
        let own: Vec<_> = all.iter().filter(|row| row.value.trial == trial.name).collect();
        for state in State::ALL {
            let readings: Vec<_> =
                own.iter().copied().filter(|row| row.value.state == state).collect();
            if !readings.is_empty() {
                sets.push(Set { trial, paper, state, readings });
            }
        }
    }
    sets
}

/// The place of a reading in its file.
pub(super) fn reading_place(reading: &Located<Reading>) -> Location {
    place(BookFile::Readings, reading.row)
}

impl Set<'_> {
    /// The place of its first reading.
    pub(super) fn place(&self) -> Location {
        place(BookFile::Readings, self.readings.first().and_then(|reading| reading.row))
    }

    /// The thicknesses at one edge in mm, with their readings.
    pub(super) fn edge(&self, edge: Edge) -> Vec<(&Located<Reading>, f64)> {
        let value = |row: &Located<Reading>| row.value.edge(edge).map(Millimetres::mm);
        self.readings.iter().filter_map(|row| Some((*row, value(row)?))).collect()
    }

    /// The mean thickness at one edge in mm; `None` when it was not measured.
    pub(super) fn mean(&self, edge: Edge) -> Option<f64> {
        let values = self.edge(edge);
        let sum: f64 = values.iter().map(|(_, value)| value).sum();
        (!values.is_empty()).then(|| sum / values.len() as f64)
    }

    /// The swell in mm: mean spine less mean fore-edge.
    pub(super) fn swell(&self) -> Option<f64> {
        Some(self.mean(Edge::Spine)? - self.mean(Edge::ForeEdge)?)
    }
}
