use super::table::*;
use crate::trade::{Ends, Name, Sewing, SewingError, Trial, TrialKind, ranges};
use crate::units::Millimetres;
use jiff::civil::Date;

columns! {
    trial: Trial in BookFile::Trials => TrialRow, TrialParts;
    name: Name, needed(A_NAME), Column::new("trial", "T1", "a name, once"), trial.name.clone();
    date: Date, optional,
        Column::new("date", "2026-03-14", "the day it was sewn").in_sheet(2), trial.date;
    kind: TrialKind, or(TrialKind::default()),
        Column::new("kind", "book", "").in_sheet(17), trial.kind;
    paper: Name, needed(A_NAME),
        Column::new("paper", "Alder bond", "a name in `papers.csv`").in_sheet(4),
        trial.paper.clone();
    thread: Name, needed(A_NAME),
        Column::new("thread", "flax 25/3", "a name in `threads.csv`").in_sheet(8),
        trial.thread.clone();
    sections: u16, needed("how many sections is expected"),
        Column::new("sections", "12", "").within(ranges::SECTIONS).in_sheet(12),
        trial.sewing.sections();
    sheets: u16, needed("how many folded sheets a section has is expected"),
        Column::new("sheets", "4", "folded sheets in a section").within(ranges::SHEETS)
            .in_sheet(13).asked("sheets (folded sheets in a section)"), trial.sewing.sheets();
    on: u8, or(1),
        Column::new("on", "2", "sections sewn in one traverse").within(ranges::ON).in_sheet(14),
        trial.sewing.on();
    ends: Ends, or(Ends::default()),
        Column::new("ends", "1", "sections at each end sewn all along, or `3+4` for the first and \
            the last, together at most all").within(ranges::ENDS).in_sheet(15),
        trial.sewing.both_ends();
    boned: bool, or(false), Column::new("boned", "yes", "").in_sheet(16), trial.boned;
    guards: Millimetres, or(no_guards()),
        Column::new("guards_mm", "0.4", "build-up of repairs at the fold over the block")
            .within(ranges::GUARDS).in_sheet(18), trial.guards;
    hand: Name, optional,
        Column::new("hand", "Ann", "who sewed it").in_sheet(19), trial.hand.clone();
    note: String, or(String::new()), Column::new("note", "x", ""), trial.note.clone();
}

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

impl TrialRow {
    /// The row for comparison with a trial, without ends that are sewn like the rest. `on` is that
    /// of the trial, which a row may leave out.
    pub(in crate::book) fn compared(&self, on: u8) -> Self {
        let on = self.on.ok().flatten().unwrap_or(on);
        let is_separate = |ends: &Ends| ends.separate(on) == *ends;
        Self { ends: self.ends.map(|ends| ends.filter(is_separate)), ..self.clone() }
    }
}

impl Record for Trial {
    type Row = TrialRow;

    fn made_of(parts: TrialParts) -> Result<Self, Misfit> {
        let (sections, sheets) = (parts.sections?, parts.sheets?);
        let Ends { first, last } = parts.ends?;
        let sewing = Sewing::new(sections, sheets, parts.on?, 0)?.with_ends(first, last)?;
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
