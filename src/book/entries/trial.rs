//! Trials as rows.

use super::record::{Misfit, Record};
use super::table::columns;
use crate::book::csv::columns::{A_NAME, Column};
use crate::book::files::names::BookFile;
use crate::trade::{Name, Sewing, SewingError, Trial, TrialKind, ranges};
use crate::units::Millimetres;
use jiff::civil::Date;

columns! {
    /// What a row of `trials.csv` says.
    Trial in BookFile::Trials => TrialRow, TrialParts;
    name: Name, needed(A_NAME), Column::new("trial", "T1").about("a name, once"),
        |trial| Some(trial.name.clone());
    date: Date, optional,
        Column::new("date", "2026-03-14").about("the day it was sewn").in_sheet(2),
        |trial| trial.date;
    kind: TrialKind, or(TrialKind::default()), Column::new("kind", "book").in_sheet(17),
        |trial| Some(trial.kind);
    paper: Name, needed(A_NAME),
        Column::new("paper", "Alder bond").about("a name in `papers.csv`").in_sheet(4),
        |trial| Some(trial.paper.clone());
    thread: Name, needed(A_NAME),
        Column::new("thread", "flax 25/3").about("a name in `threads.csv`").in_sheet(8),
        |trial| Some(trial.thread.clone());
    sections: u16, needed("how many sections is expected"),
        Column::new("sections", "12").within(ranges::SECTIONS).in_sheet(12),
        |trial| Some(trial.sewing.sections());
    sheets: u16, needed("how many folded sheets a section has is expected"),
        Column::new("sheets", "4").within(ranges::SHEETS).about("folded sheets in a section")
            .in_sheet(13).asked("sheets (folded sheets in a section)"),
        |trial| Some(trial.sewing.sheets());
    on: u8, or(1),
        Column::new("on", "2").within(ranges::ON).about("sections sewn in one traverse")
            .in_sheet(14),
        |trial| Some(trial.sewing.on());
    ends: u16, or(0),
        Column::new("ends", "1").within(ranges::ENDS).in_sheet(15)
            .about("sections at each end sewn all along; at most half of all"),
        |trial| Some(trial.sewing.ends());
    boned: bool, or(false), Column::new("boned", "yes").in_sheet(16),
        |trial| Some(trial.boned);
    guards: Millimetres, or(no_guards()),
        Column::new("guards_mm", "0.4").within(ranges::GUARDS).in_sheet(18)
            .about("build-up of repairs at the fold over the block"),
        |trial| Some(trial.guards);
    hand: Name, optional, Column::new("hand", "Ann").about("who sewed it").in_sheet(19),
        |trial| trial.hand.clone();
    note: String, or(String::new()), Column::new("note", "x"), |trial| Some(trial.note.clone());
}

/// No repairs at the fold.
fn no_guards() -> Millimetres {
    Millimetres::new(0.0).unwrap_or_else(|| unreachable!("zero is finite"))
}

impl From<SewingError> for Misfit {
    fn from(error: SewingError) -> Self {
        let column = match &error {
            SewingError::Sections(_) => TrialRow::sections,
            SewingError::Sheets(_) => TrialRow::sheets,
            SewingError::On(_) => TrialRow::on,
            SewingError::Ends { .. } => TrialRow::ends,
        };
        Self::at(column, error)
    }
}

impl Record for Trial {
    type Row = TrialRow;

    fn made_of(parts: TrialParts) -> Result<Self, Misfit> {
        let (sections, sheets) = (parts.sections?, parts.sheets?);
        let sewing = Sewing::new(sections, sheets, parts.on?, parts.ends?)?;
        Ok(Self {
            name: parts.name?,
            date: parts.date?,
            kind: parts.kind?,
            paper: parts.paper?,
            thread: parts.thread?,
            sewing,
            boned: parts.boned?,
            guards: parts.guards?,
            hand: parts.hand?,
            note: parts.note?,
        })
    }
}
