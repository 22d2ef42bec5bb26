//! The readings of one trial in one state, together.

use crate::book::entries::record::{Located, located};
use crate::book::entries::resolve::place;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::opened::Book;
use crate::trade::{Edge, Name, Paper, Reading, State, Trial};
use crate::units::Millimetres;
use std::collections::BTreeMap;

/// The readings of one trial in one state, in the order of the file; at least one.
pub(in crate::book) struct Set<'a> {
    pub(in crate::book) trial: &'a Trial,
    pub(in crate::book) paper: Option<&'a Paper>,
    pub(in crate::book) state: State,
    pub(in crate::book) readings: Vec<Located<&'a Reading>>,
}

/// Every set of the book, trial by trial and in the order of the work.
pub(in crate::book) fn sets(book: &Book) -> Vec<Set<'_>> {
    let mut groups: BTreeMap<(&Name, State), Vec<Located<&Reading>>> = BTreeMap::new();
    for row in located(&book.live.readings, &book.rows.readings) {
        groups.entry((&row.value.trial, row.value.state)).or_default().push(row);
    }
    let papers: BTreeMap<&Name, &Paper> =
        book.papers().iter().map(|paper| (&paper.name, paper)).collect();
    let every = book.trials().iter().flat_map(|trial| State::ALL.map(|state| (trial, state)));
    every
        .filter_map(|(trial, state)| {
            let readings = groups.remove(&(&trial.name, state))?;
            Some(Set { trial, paper: papers.get(&trial.paper).copied(), state, readings })
        })
        .collect()
}

/// The place of a reading in its file.
pub(in crate::book) fn reading_place(reading: &Located<&Reading>) -> Location {
    place(BookFile::Readings, reading.row)
}

impl<'a> Set<'a> {
    /// The place of its first reading.
    pub(in crate::book) fn place(&self) -> Location {
        place(BookFile::Readings, self.readings.first().and_then(|reading| reading.row))
    }

    /// The thicknesses at one edge in mm, with their readings.
    pub(in crate::book) fn edge(&self, edge: Edge) -> Vec<(&Located<&'a Reading>, f64)> {
        let value = |row: &Located<&Reading>| row.value.edge(edge).map(Millimetres::mm);
        self.readings.iter().filter_map(|row| Some((row, value(row)?))).collect()
    }

    /// Whether an edge was measured.
    pub(in crate::book) fn has(&self, edge: Edge) -> bool {
        self.readings.iter().any(|row| row.value.edge(edge).is_some())
    }
}
