//! One row of the sheet: what each cell says, or that it is empty, or at fault.

use crate::book::csv::cells::{Cells, Faulted, note};
use crate::book::entries::rows::{ends_range, read_on};
use crate::trade::{
    Hardness, Material, Name, Reading, ReadingError, State, ThreadCount, TrialKind, ranges,
};
use crate::units::{Grammage, Millimetres};
use jiff::civil::Date;
use std::sync::Arc;

/// What a cell says; `Ok(None)` when it is empty.
pub(super) type Given<T> = Result<Option<T>, Faulted>;

/// What a row says of its paper.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct PaperCells {
    pub(super) hardness: Given<Hardness>,
    pub(super) grammage: Given<Grammage>,
    pub(super) caliper: Given<Millimetres>,
}

/// What a row says of its thread.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ThreadCells {
    pub(super) material: Given<Material>,
    pub(super) count: Given<ThreadCount>,
    pub(super) laid: Given<Millimetres>,
}

/// What a row says of its trial.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct TrialCells {
    pub(super) date: Given<Date>,
    pub(super) kind: Given<TrialKind>,
    pub(super) paper: Given<Name>,
    pub(super) thread: Given<Name>,
    pub(super) sections: Given<u16>,
    pub(super) sheets: Given<u16>,
    pub(super) on: Given<u8>,
    pub(super) ends: Given<u16>,
    pub(super) boned: Given<bool>,
    pub(super) guards: Given<Millimetres>,
    pub(super) hand: Given<Name>,
}

/// What a row says of the place measured.
#[derive(Clone, Debug)]
pub(super) struct ReadingCells {
    pub(super) state: Result<State, Faulted>,
    pub(super) place: Given<Name>,
    pub(super) spine: Given<Millimetres>,
    pub(super) fore_edge: Given<Millimetres>,
    pub(super) note: Result<String, Faulted>,
}

/// What a row says besides its reading.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Facts {
    pub(super) paper: PaperCells,
    pub(super) thread: ThreadCells,
    pub(super) trial: TrialCells,
}

/// A row.
#[derive(Clone, Debug)]
pub(super) struct SheetRow {
    pub(super) number: usize,
    pub(super) name: Result<Name, Faulted>,
    /// Shared with the rows above that say the same, as those of one trial mostly do.
    pub(super) facts: Arc<Facts>,
    pub(super) cells: ReadingCells,
}

impl SheetRow {
    /// Whether it says its place.
    pub(super) fn is_placed(&self) -> bool {
        matches!(self.cells.place, Ok(Some(_)))
    }

    /// The reading it holds, at the place it says or, until it gets one, at place 1. Cells at fault
    /// were noted when they were read.
    pub(super) fn reading(&self) -> Result<Result<Reading, ReadingError>, Faulted> {
        let cells = &self.cells;
        let place = match cells.place.clone()? {
            Some(place) => place,
            None => "1".parse().map_err(|_| Faulted)?,
        };
        let at = (self.name.clone()?, cells.state?, place);
        let note = cells.note.clone()?;
        Ok(Reading::new(at, cells.spine?, cells.fore_edge?).map(|mut reading| {
            reading.note = note;
            reading
        }))
    }

    /// The same, where nothing is wrong with it.
    pub(super) fn sound(&self) -> Option<Reading> {
        self.reading().ok()?.ok()
    }
}

/// Reads every cell of a row, which stands below one that said `above`.
pub(super) fn read(cells: &mut Cells<'_>, above: &mut Option<Arc<Facts>>) -> SheetRow {
    let name = cells.required_name("trial");
    let facts = read_facts(cells);
    let facts = above.take().filter(|above| **above == facts).unwrap_or_else(|| Arc::new(facts));
    *above = Some(Arc::clone(&facts));
    SheetRow {
        number: cells.row.number,
        name,
        facts,
        cells: ReadingCells {
            state: cells.required("state", "the state of the block is expected"),
            place: cells.name("place"),
            spine: cells.length("spine_mm", ranges::THICKNESS),
            fore_edge: cells.length("fore_edge_mm", ranges::THICKNESS),
            note: read_note(cells),
        },
    }
}

fn read_facts(cells: &mut Cells<'_>) -> Facts {
    Facts {
        paper: PaperCells {
            hardness: cells.optional("hardness"),
            grammage: cells
                .number("grammage_gsm", ranges::GRAMMAGE)
                .map(|grammage| grammage.and_then(Grammage::new)),
            caliper: cells.length("caliper_mm", ranges::CALIPER),
        },
        thread: ThreadCells {
            material: cells.optional("material"),
            count: cells.optional("count"),
            laid: cells.length("laid_mm", ranges::LAID),
        },
        trial: read_trial(cells),
    }
}

fn read_trial(cells: &mut Cells<'_>) -> TrialCells {
    TrialCells {
        date: cells.date("date"),
        kind: cells.optional("kind"),
        paper: cells.name("paper"),
        thread: cells.name("thread"),
        sections: cells.whole("sections", ranges::SECTIONS),
        sheets: cells.whole("sheets", ranges::SHEETS),
        on: read_on(cells),
        ends: cells.whole("ends", ends_range()),
        boned: cells.yes_no("boned"),
        guards: cells.length("guards_mm", ranges::GUARDS),
        hand: cells.name("hand"),
    }
}

/// A note that may be written into the book.
fn read_note(cells: &mut Cells<'_>) -> Result<String, Faulted> {
    let text = cells.note("note")?;
    note(&text).map_err(|error| cells.fault("note", error))
}
