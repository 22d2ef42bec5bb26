use super::added::Added;
use super::held::{Change, Turn};
use super::table::*;
use crate::trade::SendNumber;
use jiff::civil::Date;

columns! {
    change: Change in BookFile::Changes => ChangeRow, ChangeParts;
    date: Date, needed("a date is expected"), Column::new("date", "2026-03-14", "the day"),
        change.date;
    said: String, or(String::new()),
        Column::new("change", "recorded paper bond", "what was written").required(),
        change.said.clone();
    added: Added, optional,
        Column::new("rows", "papers 3; readings 4-9; sha256 0123456789abcdef", "what was added to \
            which files, counted from the first entry below the header, and the beginning of a \
            digest of it; where it is empty, the change cannot be undone"), change.added.clone();
    turn: Turn, optional,
        Column::new("turn", "undo", "set if it takes back the last change that counts, or brings \
            back what the undo before it took"), change.turn;
    number: SendNumber, optional,
        Column::new("number", "0123456789abcdef0123456789abcdef", "the send number of the form \
            that it came by, once: 32 digits from 0 to 9 and a to f"), change.number;
}

impl Record for Change {
    type Row = ChangeRow;

    fn made_of(parts: ChangeParts) -> Result<Self, Misfit> {
        Ok(Self {
            date: parts.date?,
            said: parts.said?,
            added: parts.added?,
            turn: parts.turn?,
            number: parts.number?,
        })
    }
}
