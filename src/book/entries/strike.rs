use super::held::{EntryKind, Strike};
use super::table::*;
use jiff::civil::Date;

columns! {
    strike: Strike in BookFile::Struck => StrikeRow, StrikeParts;
    what: EntryKind, needed(EntryKind::WORDS), Column::new("what", "trial", ""), strike.what;
    id: String, or(String::new()),
        Column::new("id", "T1", "its name; `trial/state/place` for a reading; `NAME/2` for the \
            second forecast of a name, and so on; see [ids](#ids)").required(), strike.id.clone();
    reason: String, or(String::new()),
        Column::new("reason", "a slip", "why").required(), strike.reason.clone();
    date: Date, needed("a date is expected"), Column::new("date", "2026-03-14", "the day"), strike.date;
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
