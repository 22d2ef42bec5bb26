use super::table::*;
use crate::trade::{Name, Target, ranges};

const A_SWELL: &str = "a swell in per cent is expected";

columns! {
    target: Target in BookFile::Targets => TargetRow, TargetParts;
    name: Name, needed(A_NAME),
        Column::new("target", "limp", "a name, once"), target.name.clone();
    low: f64, needed(A_SWELL),
        Column::new("low_percent", "3.5", "below the high").within(ranges::SWELL_PERCENT),
        target.low_percent();
    high: f64, needed(A_SWELL),
        Column::new("high_percent", "15", "").within(ranges::SWELL_PERCENT), target.high_percent();
    note: String, or(String::new()), Column::new("note", "x", ""), target.note.clone();
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
