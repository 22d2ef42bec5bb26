//! Downloads the empty sheet to fill in.

use crate::book::template_csv;
use crate::jobs::desk::Desk;
use crate::page::form::Form;
use crate::page::route::{Answer, Attached};
use crate::page::turned::Turned;

pub(crate) fn show(_: &Desk, _: &Form) -> Result<Answer, Turned> {
    let (name, bytes) = ("trials-sheet.csv".to_owned(), template_csv().into_bytes());
    Ok(Answer::Attached(Attached { name, kind: "text/csv; charset=utf-8", bytes }))
}
