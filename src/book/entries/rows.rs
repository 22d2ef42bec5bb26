//! Papers, threads, targets, trials, readings and struck entries as rows.

use super::held::{EntryKind, Strike};
use super::record::{Record, Value};
use crate::book::csv::cells::{Cells, Faulted};
use crate::book::files::names::BookFile;
use crate::trade::{
    Hardness, Material, Paper, Reading, ReadingError, Sewing, SewingError, Target, Thread, Trial,
    ranges,
};
use crate::units::{Grammage, Millimetres};

impl Record for Paper {
    const FILE: BookFile = BookFile::Papers;

    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted> {
        let name = cells.required_name("paper");
        let grammage = cells.number("grammage_gsm", ranges::GRAMMAGE);
        let caliper = cells.length("caliper_mm", ranges::CALIPER);
        let caliper =
            cells.filled("caliper_mm", caliper, "the thickness of one leaf in mm is expected");
        let hardness = cells.required("hardness", "hard, medium or soft is expected");
        let note = cells.note("note");
        let paper = Self::new(name?, caliper?, hardness?);
        let mut paper = paper.map_err(|error| cells.fault("caliper_mm", error))?;
        paper.grammage = grammage?.and_then(Grammage::new);
        paper.note = note?;
        Ok(paper)
    }

    fn value(&self, column: &str) -> Value<'_> {
        match column {
            "paper" => Value::text(self.name.as_str()),
            "grammage_gsm" => Value::number(self.grammage.map(Grammage::gsm)),
            "caliper_mm" => Value::Number(self.caliper().mm()),
            "hardness" => Value::text(Hardness::word(self.hardness)),
            "note" => Value::text(&self.note),
            _ => Value::Empty,
        }
    }
}

impl Record for Thread {
    const FILE: BookFile = BookFile::Threads;

    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted> {
        let name = cells.required_name("thread");
        let material = cells.optional("material");
        let count = cells.optional("count");
        let laid = cells.length("laid_mm", ranges::LAID);
        let note = cells.note("note");
        let thread = Self::new(name?, material?.unwrap_or_default(), count?, laid?);
        let mut thread = thread.map_err(|error| cells.row_fault(error))?;
        thread.note = note?;
        Ok(thread)
    }

    fn value(&self, column: &str) -> Value<'_> {
        match column {
            "thread" => Value::text(self.name.as_str()),
            "material" => Value::text(Material::word(self.material)),
            "count" => self.count().map_or(Value::Empty, Value::shown),
            "laid_mm" => Value::number(self.laid().map(Millimetres::mm)),
            "note" => Value::text(&self.note),
            _ => Value::Empty,
        }
    }
}

impl Record for Target {
    const FILE: BookFile = BookFile::Targets;

    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted> {
        let expected = "a swell in per cent is expected";
        let name = cells.required_name("target");
        let low = cells.number("low_percent", ranges::SWELL_PERCENT);
        let low = cells.filled("low_percent", low, expected);
        let high = cells.number("high_percent", ranges::SWELL_PERCENT);
        let high = cells.filled("high_percent", high, expected);
        let note = cells.note("note");
        let target = Self::new(name?, low?, high?);
        let mut target = target.map_err(|error| cells.row_fault(error))?;
        target.note = note?;
        Ok(target)
    }

    fn value(&self, column: &str) -> Value<'_> {
        match column {
            "target" => Value::text(self.name.as_str()),
            "low_percent" => Value::Number(self.low_percent()),
            "high_percent" => Value::Number(self.high_percent()),
            "note" => Value::text(&self.note),
            _ => Value::Empty,
        }
    }
}

/// The column that a sewing's error is about.
pub(in crate::book) fn sewing_column(error: &SewingError) -> &'static str {
    match error {
        SewingError::Sections(_) => "sections",
        SewingError::Sheets(_) => "sheets",
        SewingError::On(_) => "on",
        SewingError::Ends { .. } => "ends",
    }
}

/// Reads sections, sheets, on and ends.
fn read_sewing(cells: &mut Cells<'_>) -> Result<Sewing, Faulted> {
    let sections = cells.whole("sections", ranges::SECTIONS);
    let sections = cells.filled("sections", sections, "how many sections is expected");
    let sheets = cells.whole("sheets", ranges::SHEETS);
    let sheets = cells.filled("sheets", sheets, "how many folded sheets a section has is expected");
    let on = read_on(cells);
    let ends = cells.whole("ends", ends_range());
    let sewing = Sewing::new(sections?, sheets?, on?.unwrap_or(1), ends?.unwrap_or(0));
    sewing.map_err(|error| cells.fault(sewing_column(&error), error))
}

/// Sections in one traverse.
pub(in crate::book) fn read_on(cells: &mut Cells<'_>) -> Result<Option<u8>, Faulted> {
    let on = cells.whole("on", ranges::ON)?;
    Ok(on.and_then(|on| u8::try_from(on).ok()))
}

/// Sections sewn all along at each end: at most half of all.
pub(in crate::book) fn ends_range() -> crate::trade::Range {
    crate::trade::Range { low: 0.0, high: ranges::SECTIONS.high / 2.0, unit: "" }
}

impl Record for Trial {
    const FILE: BookFile = BookFile::Trials;

    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted> {
        let name = cells.required_name("trial");
        let date = cells.date("date");
        let kind = cells.optional("kind");
        let paper = cells.required_name("paper");
        let thread = cells.required_name("thread");
        let sewing = read_sewing(cells);
        let boned = cells.yes_no("boned");
        let guards = cells.length("guards_mm", ranges::GUARDS);
        let hand = cells.name("hand");
        let note = cells.note("note");
        Ok(Self {
            name: name?,
            date: date?,
            kind: kind?.unwrap_or_default(),
            paper: paper?,
            thread: thread?,
            sewing: sewing?,
            boned: boned?.unwrap_or(false),
            guards: guards?.unwrap_or_else(no_guards),
            hand: hand?,
            note: note?,
        })
    }

    fn value(&self, column: &str) -> Value<'_> {
        match column {
            "trial" => Value::text(self.name.as_str()),
            "date" => self.date.map_or(Value::Empty, Value::shown),
            "kind" => Value::text(self.kind.word()),
            "paper" => Value::text(self.paper.as_str()),
            "thread" => Value::text(self.thread.as_str()),
            "sections" => Value::Number(f64::from(self.sewing.sections())),
            "sheets" => Value::Number(f64::from(self.sewing.sheets())),
            "on" => Value::Number(f64::from(self.sewing.on())),
            "ends" => Value::Number(f64::from(self.sewing.ends())),
            "boned" => Value::text(if self.boned { "yes" } else { "no" }),
            "guards_mm" => Value::Number(self.guards.mm()),
            "hand" => self.hand.as_ref().map_or(Value::Empty, |hand| Value::text(hand.as_str())),
            "note" => Value::text(&self.note),
            _ => Value::Empty,
        }
    }
}

/// No repairs at the fold.
pub(in crate::book) fn no_guards() -> Millimetres {
    Millimetres::new(0.0).unwrap_or_else(|| unreachable!("zero is finite"))
}

/// The column that a reading's error is about; `None` for the row.
pub(in crate::book) fn reading_column(error: &ReadingError) -> Option<&'static str> {
    use crate::trade::Edge;
    match error {
        ReadingError::NoEdge => None,
        ReadingError::SpineTooThin { .. } => Some("spine_mm"),
        ReadingError::Thickness { edge, .. } | ReadingError::Implausible { edge, .. } => {
            Some(match edge {
                Edge::Spine => "spine_mm",
                Edge::ForeEdge => "fore_edge_mm",
            })
        }
    }
}

impl Record for Reading {
    const FILE: BookFile = BookFile::Readings;

    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted> {
        let trial = cells.required_name("trial");
        let state = cells.required("state", "the state of the block is expected");
        let place = cells.name("place");
        let place = cells.filled("place", place, "a number or a word such as head is expected");
        let spine = cells.length("spine_mm", ranges::THICKNESS);
        let fore_edge = cells.length("fore_edge_mm", ranges::THICKNESS);
        let taken = cells.note("taken");
        let note = cells.note("note");
        let reading = Self::new((trial?, state?, place?), spine?, fore_edge?);
        let mut reading = reading.map_err(|error| match reading_column(&error) {
            Some(column) => cells.fault(column, error),
            None => cells.row_fault(error),
        })?;
        reading.taken = taken?.into();
        reading.note = note?.into();
        Ok(reading)
    }

    fn value(&self, column: &str) -> Value<'_> {
        match column {
            "trial" => Value::text(self.trial.as_str()),
            "state" => Value::text(self.state.word()),
            "place" => Value::text(self.place.as_str()),
            "spine_mm" => Value::number(self.spine().map(Millimetres::mm)),
            "fore_edge_mm" => Value::number(self.fore_edge().map(Millimetres::mm)),
            "taken" => Value::text(&self.taken),
            "note" => Value::text(&self.note),
            _ => Value::Empty,
        }
    }
}

impl Record for Strike {
    const FILE: BookFile = BookFile::Struck;

    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted> {
        let what = cells.required::<EntryKind>("what", EntryKind::WORDS);
        let id = match cells.note("id")? {
            id if id.is_empty() => Err(cells.fault("id", "the name of what is struck is missing")),
            id => Ok(id),
        };
        let reason = cells.note("reason");
        let date = cells.date("date");
        let date = cells.filled("date", date, "a date is expected");
        Ok(Self { what: what?, id: id?, reason: reason?, date: date? })
    }

    fn value(&self, column: &str) -> Value<'_> {
        match column {
            "what" => Value::text(self.what.word()),
            "id" => Value::text(&self.id),
            "reason" => Value::text(&self.reason),
            "date" => Value::shown(self.date),
            _ => Value::Empty,
        }
    }
}
