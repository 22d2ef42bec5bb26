//! Struck entries as rows.

use super::held::{EntryKind, Strike};
use super::record::{Misfit, Record};
use super::table::columns;
use crate::book::csv::columns::{Column, Kind};
use crate::book::csv::kinds::{Aids, CellValue, Value, cell_values, texts};
use crate::book::files::names::BookFile;
use crate::trade::Range;
use jiff::civil::Date;

texts! {
    EntryKind: Kind::Words(Self::WORDS);
}

columns! {
    /// What a row of `struck.csv` says.
    Strike in BookFile::Struck => StrikeRow, StrikeParts;
    what: EntryKind, needed(EntryKind::WORDS), Column::new("what", "trial"),
        |strike| Some(strike.what);
    id: String, or(String::new()),
        Column::new("id", "T1").required()
            .about("its name; `trial/state/place` for a reading; `NAME/2` for the second forecast \
                of a name, and so on; see [ids](#ids)"),
        |strike| Some(strike.id.clone());
    reason: String, or(String::new()), Column::new("reason", "a slip").required(),
        |strike| Some(strike.reason.clone());
    date: Date, needed("a date is expected"), Column::new("date", "2026-03-14"),
        |strike| Some(strike.date);
}

impl Record for Strike {
    type Row = StrikeRow;

    fn made_of(parts: StrikeParts) -> Result<Self, Misfit> {
        let id = parts.id?;
        if id.is_empty() {
            let message = "the name of what is struck is missing";
            return Err(Misfit::at(StrikeRow::id, message));
        }
        Ok(Self { what: parts.what?, id, reason: parts.reason?, date: parts.date? })
    }
}
