//! The papers and threads that a sheet names.

use super::facts::{Fact, Saying};
use super::row::{PaperCells, ThreadCells};
use crate::book::csv::cells::Faulted;
use crate::book::error::Fault;
use crate::book::location::Location;
use crate::trade::{Hardness, Material, Name, Paper, Thread, ThreadCount};
use crate::units::{Grammage, Millimetres};

/// A paper as book and rows describe it.
#[derive(Clone, Debug)]
pub(super) struct PaperFacts {
    name: Name,
    first_row: usize,
    hardness: Fact<Hardness>,
    grammage: Fact<Grammage>,
    caliper: Fact<Millimetres>,
    in_book: Option<Paper>,
}

impl PaperFacts {
    pub(super) fn new(name: Name, first_row: usize, known: Option<&Paper>) -> Self {
        Self {
            name,
            first_row,
            hardness: Fact::of("hardness", known, |paper| Some(paper.hardness)),
            grammage: Fact::of("grammage_gsm", known, |paper| paper.grammage),
            caliper: Fact::of("caliper_mm", known, |paper| Some(paper.caliper())),
            in_book: known.cloned(),
        }
    }

    pub(super) fn say(&mut self, cells: &PaperCells, saying: &mut Saying<'_>) {
        saying.of = format!("paper '{}'", self.name);
        self.hardness.say(&cells.hardness, saying);
        self.grammage.say(&cells.grammage, saying);
        self.caliper.say(&cells.caliper, saying);
    }

    /// The paper, and whether it is new.
    pub(super) fn paper(&self, saying: &mut Saying<'_>) -> Result<(Paper, bool), Faulted> {
        if let Some(paper) = &self.in_book {
            return Ok((paper.clone(), false));
        }
        saying.of = format!("paper '{}'", self.name);
        saying.row = self.first_row;
        let caliper = self.caliper.needed(saying, "caliper (the thickness of one leaf in mm)");
        let hardness = self.hardness.needed(saying, "hardness (hard, medium or soft)");
        let grammage = self.grammage.allowed();
        // The cell was read within the range of calipers.
        let mut paper = Paper::new(self.name.clone(), caliper?, hardness?).map_err(|_| Faulted)?;
        paper.grammage = grammage?;
        Ok((paper, true))
    }
}

/// A thread as book and rows describe it.
#[derive(Clone, Debug)]
pub(super) struct ThreadFacts {
    name: Name,
    first_row: usize,
    material: Fact<Material>,
    count: Fact<ThreadCount>,
    laid: Fact<Millimetres>,
    in_book: Option<Thread>,
}

impl ThreadFacts {
    pub(super) fn new(name: Name, first_row: usize, known: Option<&Thread>) -> Self {
        Self {
            name,
            first_row,
            material: Fact::of("material", known, |thread| Some(thread.material)),
            count: Fact::of("count", known, Thread::count),
            laid: Fact::of("laid_mm", known, Thread::laid),
            in_book: known.cloned(),
        }
    }

    pub(super) fn say(&mut self, cells: &ThreadCells, saying: &mut Saying<'_>) {
        saying.of = format!("thread '{}'", self.name);
        self.material.say(&cells.material, saying);
        self.count.say(&cells.count, saying);
        self.laid.say(&cells.laid, saying);
    }

    /// The thread, and whether it is new.
    pub(super) fn thread(&self, saying: &mut Saying<'_>) -> Result<(Thread, bool), Faulted> {
        if let Some(thread) = &self.in_book {
            return Ok((thread.clone(), false));
        }
        let material = self.material.allowed()?.unwrap_or_default();
        let (count, laid) = (self.count.allowed()?, self.laid.allowed()?);
        let thread = Thread::new(self.name.clone(), material, count, laid);
        let thread = thread.map_err(|error| {
            let row = self.count.row().unwrap_or(self.first_row);
            saying.faults.push(Fault::new(Location::row(saying.source, row), error));
            Faulted
        })?;
        Ok((thread, true))
    }
}
