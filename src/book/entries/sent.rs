//! Forms that were sent, as rows.

use super::held::Sent;
use super::table::*;
use crate::book::csv::columns::Kind;
use crate::book::csv::kinds::{Aids, cell_values, texts};
use crate::trade::{Range, SendNumber};
use jiff::civil::Date;

texts! {
    SendNumber: Kind::Text;
}

columns! {
    /// What a row of `sent.csv` says.
    sent: Sent in BookFile::Sent => SentRow, SentParts;
    number: SendNumber, needed("the number of a form is expected, of 32 digits"),
        Column::new("number", "0123456789abcdef0123456789abcdef", "the send number of the form, \
            once: 32 digits from 0 to 9 and a to f"), sent.number;
    date: Date, needed("a date is expected"), Column::new("date", "2026-03-14", "the day"), sent.date;
    said: String, or(String::new()),
        Column::new("said", "recorded paper bond", "what was written; the answer when the form is \
            sent again").required(), sent.said.clone();
}

impl Record for Sent {
    type Row = SentRow;

    fn made_of(parts: SentParts) -> Result<Self, Misfit> {
        Ok(Self { number: parts.number?, date: parts.date?, said: parts.said? })
    }
}
