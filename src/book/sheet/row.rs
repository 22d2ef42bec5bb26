//! One row of the sheet: what each cell says, or that it is empty, or at fault.

use crate::book::csv::cells::{Cells, Faulted, note};
use crate::book::entries::rows::{ends_range, read_on};
use crate::trade::{
    Hardness, Material, Name, Reading, ReadingError, State, ThreadCount, TrialKind, Words, ranges,
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
    pub(super) state: State,
    place: Option<Name>,
    spine: Option<Millimetres>,
    fore_edge: Option<Millimetres>,
    note: Words,
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
    pub(super) cells: Result<ReadingCells, Faulted>,
}

impl SheetRow {
    /// Whether it says its place.
    pub(super) fn is_placed(&self) -> bool {
        self.cells.as_ref().is_ok_and(|cells| cells.place.is_some())
    }

    /// The reading it holds, at the place it says; until it gets one, the name of its trial stands
    /// for it. Cells at fault were noted when they were read.
    pub(super) fn reading(&self) -> Result<Result<Reading, ReadingError>, Faulted> {
        let cells = self.cells.as_ref().map_err(|faulted| *faulted)?;
        let name = self.name.clone()?;
        let place = cells.place.as_ref().unwrap_or(&name).clone();
        let at = (name, cells.state, place);
        Ok(Reading::new(at, cells.spine, cells.fore_edge).map(|mut reading| {
            reading.note = cells.note.clone();
            reading
        }))
    }

    /// Whether it says of the same trial, and besides its reading, just what `above` says.
    pub(super) fn repeats(&self, above: &Self) -> bool {
        self.name.is_ok() && self.name == above.name && Arc::ptr_eq(&self.facts, &above.facts)
    }

    /// The same, where nothing is wrong with it.
    pub(super) fn sound(&self) -> Option<Reading> {
        self.reading().ok()?.ok()
    }
}

/// The columns that say something of the reading; all others say facts.
const OF_READINGS: [&str; 6] = ["trial", "state", "place", "spine_mm", "fore_edge_mm", "note"];

/// What the row above says besides its reading, if nothing is wrong with that.
#[derive(Default)]
pub(super) struct Above {
    /// The cells as written, each with its column.
    cells: Vec<(usize, String)>,
    facts: Option<Arc<Facts>>,
}

impl Above {
    /// What this row says besides its reading: mostly it need not be read once more.
    fn facts_of(&mut self, cells: &mut Cells<'_>) -> Arc<Facts> {
        let as_here =
            |(index, above): &(usize, String)| cells.row.get(*index).unwrap_or_default() == above;
        let same = self.facts.as_ref().filter(|_| self.cells.iter().all(as_here));
        if let Some(same) = same {
            return Arc::clone(same);
        }
        let before = cells.faults.found();
        let facts = Arc::new(read_facts(cells));
        let is_sound = cells.faults.found() == before;
        self.facts = is_sound.then(|| Arc::clone(&facts));
        let of_facts =
            cells.map.present().filter(|(column, _)| !OF_READINGS.contains(&column.name));
        let written = |index| cells.row.get(index).unwrap_or_default().to_owned();
        self.cells = of_facts.map(|(_, index)| (index, written(index))).collect();
        facts
    }
}

/// Reads every cell of a row, which stands below one that said `above`.
pub(super) fn read(cells: &mut Cells<'_>, above: &mut Above) -> SheetRow {
    SheetRow {
        number: cells.row.number,
        name: cells.required_name("trial"),
        facts: above.facts_of(cells),
        cells: read_reading(cells),
    }
}

fn read_reading(cells: &mut Cells<'_>) -> Result<ReadingCells, Faulted> {
    let state = cells.required("state", "the state of the block is expected");
    let place = cells.name("place");
    let spine = cells.length("spine_mm", ranges::THICKNESS);
    let fore_edge = cells.length("fore_edge_mm", ranges::THICKNESS);
    let note = read_note(cells);
    Ok(ReadingCells {
        state: state?,
        place: place?,
        spine: spine?,
        fore_edge: fore_edge?,
        note: note?,
    })
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
fn read_note(cells: &mut Cells<'_>) -> Result<Words, Faulted> {
    let text = cells.note("note")?;
    note(&text).map(Words::from).map_err(|error| cells.fault("note", error))
}
