//! The trials that a sheet names.

use super::facts::{Fact, Saying};
use super::row::TrialCells;
use crate::book::csv::cells::Faulted;
use crate::book::entries::rows::{no_guards, sewing_column};
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::trade::{Name, Sewing, Trial, TrialKind};
use crate::units::Millimetres;
use jiff::civil::Date;

/// A trial as book and rows describe it.
#[derive(Clone, Debug)]
pub(super) struct TrialFacts {
    name: Name,
    first_row: usize,
    date: Fact<Date>,
    kind: Fact<TrialKind>,
    paper: Fact<Name>,
    thread: Fact<Name>,
    sections: Fact<u16>,
    sheets: Fact<u16>,
    on: Fact<u8>,
    ends: Fact<u16>,
    boned: Fact<bool>,
    guards: Fact<Millimetres>,
    hand: Fact<Name>,
    in_book: Option<Trial>,
}

impl TrialFacts {
    pub(super) fn new(name: Name, first_row: usize, known: Option<&Trial>) -> Self {
        Self {
            name,
            first_row,
            date: Fact::of("date", known, |trial| trial.date),
            kind: Fact::of("kind", known, |trial| Some(trial.kind)),
            paper: Fact::of("paper", known, |trial| Some(trial.paper.clone())),
            thread: Fact::of("thread", known, |trial| Some(trial.thread.clone())),
            sections: Fact::of("sections", known, |trial| Some(trial.sewing.sections())),
            sheets: Fact::of("sheets", known, |trial| Some(trial.sewing.sheets())),
            on: Fact::of("on", known, |trial| Some(trial.sewing.on())),
            ends: Fact::of("ends", known, |trial| Some(trial.sewing.ends())),
            boned: Fact::of("boned", known, |trial| Some(trial.boned)),
            guards: Fact::of("guards_mm", known, |trial| Some(trial.guards)),
            hand: Fact::of("hand", known, |trial| trial.hand.clone()),
            in_book: known.cloned(),
        }
    }

    /// The paper and the thread, as far as known.
    pub(super) fn stock(&self) -> (Option<Name>, Option<Name>) {
        (self.paper.value(), self.thread.value())
    }

    pub(super) fn say(&mut self, cells: &TrialCells, saying: &mut Saying<'_>) {
        saying.of = format!("trial '{}'", self.name);
        self.date.say(&cells.date, saying);
        self.kind.say(&cells.kind, saying);
        self.paper.say(&cells.paper, saying);
        self.thread.say(&cells.thread, saying);
        self.sections.say(&cells.sections, saying);
        self.sheets.say(&cells.sheets, saying);
        self.on.say(&cells.on, saying);
        self.ends.say(&cells.ends, saying);
        self.boned.say(&cells.boned, saying);
        self.guards.say(&cells.guards, saying);
        self.hand.say(&cells.hand, saying);
    }

    /// The trial, and whether it is new.
    pub(super) fn trial(&self, saying: &mut Saying<'_>) -> Result<(Trial, bool), Faulted> {
        if let Some(trial) = &self.in_book {
            return Ok((trial.clone(), false));
        }
        saying.of = format!("trial '{}'", self.name);
        saying.row = self.first_row;
        let paper = self.paper.needed(saying, "paper");
        let thread = self.thread.needed(saying, "thread");
        let sewing = self.sewing(saying);
        let trial = Trial {
            name: self.name.clone(),
            date: self.date.allowed()?,
            kind: self.kind.allowed()?.unwrap_or_default(),
            paper: paper?,
            thread: thread?,
            sewing: sewing?,
            boned: self.boned.allowed()?.unwrap_or(false),
            guards: self.guards.allowed()?.unwrap_or_else(no_guards),
            hand: self.hand.allowed()?,
            note: String::new(),
        };
        Ok((trial, true))
    }

    fn sewing(&self, saying: &mut Saying<'_>) -> Result<Sewing, Faulted> {
        let sections = self.sections.needed(saying, "sections");
        let sheets = self.sheets.needed(saying, "sheets (folded sheets in a section)");
        let (on, ends) = (self.on.allowed(), self.ends.allowed());
        let sewing = Sewing::new(sections?, sheets?, on?.unwrap_or(1), ends?.unwrap_or(0));
        sewing.map_err(|error| {
            let row = self.ends.row().unwrap_or(self.first_row);
            let place = Location::cell(saying.source, row, sewing_column(&error));
            saying.faults.push(Fault::new(place, error));
            Faulted
        })
    }
}
