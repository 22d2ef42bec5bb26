//! The flat sheet as a download for a spreadsheet.

use super::answer_columns::plain;
use super::answer_sheet::sheet_of;
use crate::jobs::desk::Desk;
use crate::page::form::Form;
use crate::page::route::{Answer, Attached};
use crate::page::turned::Turned;

pub(crate) fn show(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    let (book, today) = (desk.book()?, desk.today()?);
    let title = plain(&book.config().title);
    let (name, bytes) = (format!("{title}-{today}.csv"), sheet_of(&book).bytes);
    Ok(Answer::Attached(Attached { name, kind: "text/csv; charset=utf-8", bytes }))
}
