use super::table::*;
use crate::trade::{Hardness, Name, Paper, ranges};
use crate::units::{Grammage, Millimetres};

columns! {
    paper: Paper in BookFile::Papers => PaperRow, PaperParts;
    name: Name, needed(A_NAME),
        Column::new("paper", "Alder bond", "a name, once"), paper.name.clone();
    grammage: Grammage, optional,
        Column::new("grammage_gsm", "80", "a number, or pounds and a kind such as `24 lb bond`").within(ranges::GRAMMAGE).in_sheet(6), paper.grammage;
    caliper: Millimetres, needed("the thickness of one leaf in mm is expected"),
        Column::new("caliper_mm", "0.105", "thickness of one leaf").within(ranges::CALIPER)
            .in_sheet(7).asked("caliper (the thickness of one leaf in mm)"), paper.caliper();
    hardness: Hardness, needed("hard, medium or soft is expected"),
        Column::new("hardness", "soft", "")
            .in_sheet(5).asked("hardness (hard, medium or soft)"), paper.hardness;
    note: String, or(String::new()), Column::new("note", "x", ""), paper.note.clone();
}

impl Record for Paper {
    type Row = PaperRow;

    fn made_of(parts: PaperParts) -> Result<Self, Misfit> {
        let mut paper = Self::new(parts.name?, parts.caliper?, parts.hardness?)
            .map_err(|error| Misfit::at(PaperRow::caliper, error))?;
        paper.grammage = parts.grammage?;
        paper.note = parts.note?;
        Ok(paper)
    }
}
