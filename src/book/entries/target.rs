//! Targets as rows.

use super::record::{Misfit, Record};
use super::table::columns;
use crate::book::csv::columns::{A_NAME, Column};
use crate::book::files::names::BookFile;
use crate::trade::{Name, Target, ranges};

const A_SWELL: &str = "a swell in per cent is expected";

columns! {
    /// What a row of `targets.csv` says.
    Target in BookFile::Targets => TargetRow, TargetParts;
    name: Name, needed(A_NAME), Column::new("target", "limp").about("a name, once"),
        |target| Some(target.name.clone());
    low: f64, needed(A_SWELL),
        Column::new("low_percent", "3.5").within(ranges::SWELL_PERCENT).about("below the high"),
        |target| Some(target.low_percent());
    high: f64, needed(A_SWELL),
        Column::new("high_percent", "15").within(ranges::SWELL_PERCENT),
        |target| Some(target.high_percent());
    note: String, or(String::new()), Column::new("note", "x"), |target| Some(target.note.clone());
}

impl Record for Target {
    type Row = TargetRow;

    fn made_of(parts: TargetParts) -> Result<Self, Misfit> {
        let mut target = Self::new(parts.name?, parts.low?, parts.high?)
            .map_err(|error| Misfit::of_row(TargetRow::low, error))?;
        target.note = parts.note?;
        Ok(target)
    }
}
