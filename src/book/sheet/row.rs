//! One row of the sheet. Each cell is parsed, empty or faulty.

use super::states::{OfState, is_of_state};
use crate::book::csv::cells::{Cells, Faulted, Given};
use crate::book::csv::columns::Column;
use crate::book::csv::dates::{DateError, Dates};
use crate::book::entries::paper::PaperRow;
use crate::book::entries::reading::ReadingRow;
use crate::book::entries::table::Row;
use crate::book::entries::thread::ThreadRow;
use crate::book::entries::trial::TrialRow;
use crate::trade::{Name, Reading, ReadingError, State, Words, has_time, plain_day};
use crate::units::Millimetres;
use std::sync::Arc;

/// The cells of a row about the place measured.
#[derive(Clone, Debug)]
pub(super) struct ReadingCells {
    pub(super) state: State,
    place: Option<Name>,
    spine: Option<Millimetres>,
    fore_edge: Option<Millimetres>,
    taken: Words,
    note: Words,
}

/// The cells of a row besides its reading.
#[derive(Clone, Debug)]
pub(super) struct Told {
    pub(super) paper: PaperRow,
    pub(super) thread: ThreadRow,
    pub(super) trial: TrialRow,
}

#[derive(Clone, Debug)]
pub(super) struct SheetRow {
    pub(super) number: usize,
    pub(super) name: Result<Name, Faulted>,
    /// Shared with the rows above that say the same, as rows of one trial usually do.
    pub(super) facts: Arc<Told>,
    pub(super) cells: Result<ReadingCells, Faulted>,
}

impl SheetRow {
    /// Whether it gives its place.
    pub(super) fn is_placed(&self) -> bool {
        self.cells.as_ref().is_ok_and(|cells| cells.place.is_some())
    }

    /// The reading of the row. Until it gets a place, the name of its trial is used instead. Faulty
    /// cells were noted when they were read.
    pub(super) fn reading(&self) -> Result<Result<Reading, ReadingError>, Faulted> {
        let cells = self.cells.as_ref().map_err(|faulted| *faulted)?;
        let name = self.name.clone()?;
        let place = cells.place.as_ref().unwrap_or(&name).clone();
        let reading = Reading::new(name, cells.state, place, cells.spine, cells.fore_edge);
        Ok(reading.map(|mut reading| {
            reading.taken = cells.taken.clone();
            reading.note = cells.note.clone();
            reading
        }))
    }

    /// Whether it is about the same trial as `above` and says the same besides its reading.
    pub(super) fn repeats(&self, above: &Self) -> bool {
        self.name.is_ok() && self.name == above.name && Arc::ptr_eq(&self.facts, &above.facts)
    }

    /// The reading, if it has no fault.
    pub(super) fn sound(&self) -> Option<Reading> {
        self.reading().ok()?.ok()
    }
}

/// The cells of the row above besides its reading, if they have no fault.
#[derive(Default)]
pub(super) struct Above {
    /// The cells as written, each with the index of its column.
    cells: Vec<(usize, String)>,
    facts: Option<Arc<Told>>,
}

impl Above {
    /// The cells of this row besides its reading. Usually they equal those above and need no
    /// parsing.
    fn facts_of(&mut self, cells: &mut Cells<'_>) -> Arc<Told> {
        let as_here =
            |(index, above): &(usize, String)| cells.row.get(*index).unwrap_or_default() == above;
        let same = self.facts.as_ref().filter(|_| self.cells.iter().all(as_here));
        if let Some(same) = same {
            return Arc::clone(same);
        }
        let before = cells.faults.found();
        let facts = Arc::new(read_told(cells));
        let is_sound = cells.faults.found() == before;
        self.facts = is_sound.then(|| Arc::clone(&facts));
        let of_reading = |name| {
            is_of_state(name) || ReadingRow::COLUMNS.iter().any(|column| column.name == name)
        };
        let of_facts = cells.map.present().filter(|(column, _)| !of_reading(column.name));
        let written = |index| cells.row.get(index).unwrap_or_default().to_owned();
        self.cells = of_facts.map(|(_, index)| (index, written(index))).collect();
        facts
    }
}

/// The columns of a sheet that a file of a book has in another form.
pub(super) struct OwnColumns<'a> {
    /// Those of single states.
    pub(super) states: &'a [OfState],
    /// The days in the column `taken`.
    pub(super) taken: Dates<'a>,
}

/// Parses every cell of a row. It adds a row for the state that the row names, or for each state
/// that has its own columns. `above` belongs to the row above.
pub(super) fn read(
    cells: &mut Cells<'_>,
    above: &mut Above,
    columns: &OwnColumns<'_>,
    rows: &mut Vec<SheetRow>,
) {
    cells.aids.is_new = true;
    let (number, name) = (cells.row.number, cells.filled(&ReadingRow::trial));
    let facts = above.facts_of(cells);
    let row = |cells| SheetRow { number, name: name.clone(), facts: Arc::clone(&facts), cells };
    if columns.states.is_empty() {
        rows.push(row(read_reading(cells, &columns.taken)));
    } else {
        rows.extend(read_states(cells, columns).into_iter().map(row));
    }
}

/// The readings in those of `states` for which a row has an edge. If it has none at all, the last
/// state is kept without its edges, so that the fault is reported.
fn read_states(
    cells: &mut Cells<'_>,
    OwnColumns { states, taken }: &OwnColumns<'_>,
) -> Vec<Result<ReadingCells, Faulted>> {
    let shared = [ReadingRow::place, ReadingRow::taken, ReadingRow::note].map(|one| one.in_sheet);
    let mut row = ReadingRow::read(cells, |column| shared.contains(&column.in_sheet));
    row.taken = day_of(cells, taken, row.taken);
    let mut read = Vec::new();
    for (at, of) in states.iter().enumerate() {
        let (spine, fore_edge) = (cells.read(&of.spine), cells.read(&of.fore_edge));
        let is_empty = spine == Ok(None) && fore_edge == Ok(None);
        if is_empty && (!read.is_empty() || at + 1 < states.len()) {
            continue;
        }
        let state = Ok(Some(of.state));
        read.push(reading_cells(ReadingRow { state, spine, fore_edge, ..row.clone() }));
    }
    read
}

fn reading_cells(row: ReadingRow) -> Result<ReadingCells, Faulted> {
    Ok(ReadingCells {
        state: row.state?.ok_or(Faulted)?,
        place: row.place?,
        spine: row.spine?,
        fore_edge: row.fore_edge?,
        taken: row.taken?.unwrap_or_default(),
        note: row.note?.unwrap_or_default(),
    })
}

fn read_reading(cells: &mut Cells<'_>, taken: &Dates<'_>) -> Result<ReadingCells, Faulted> {
    // Each has its own number in the sheet. Comparing whole columns would take a seventh of the time
    // of an import.
    let apart = [ReadingRow::trial, ReadingRow::state].map(|column| column.in_sheet);
    let state = cells.filled(&ReadingRow::state).map(Some);
    let row = ReadingRow::read(cells, |column| !apart.contains(&column.in_sheet));
    let taken = day_of(cells, taken, row.taken);
    reading_cells(ReadingRow { state, taken, ..row })
}

/// The cell of the column `taken`. A day is written as a book writes it. Another text stays as it
/// is, and so does a day with a time, which says more.
fn day_of(cells: &mut Cells<'_>, dates: &Dates<'_>, said: Given<Words>) -> Given<Words> {
    let Ok(Some(text)) = &said else { return said };
    if plain_day(text).is_some() || has_time(text) {
        return said;
    }
    match dates.read(text, true) {
        Ok(day) => {
            cells.say_back(ReadingRow::taken.name, text, &day);
            Ok(Some(day.to_string().into()))
        }
        Err(DateError::Day(_)) => said,
        Err(unsettled) => Err(cells.fault(ReadingRow::taken.name, unsettled)),
    }
}

fn read_told(cells: &mut Cells<'_>) -> Told {
    let in_sheet = |column: &Column| column.in_sheet.is_some();
    Told {
        paper: PaperRow::read(cells, in_sheet),
        thread: ThreadRow::read(cells, in_sheet),
        trial: TrialRow::read(cells, in_sheet),
    }
}
