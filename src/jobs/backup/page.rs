//! The backup as a download, to keep on the phone or the desktop.

use crate::book::back_up;
use crate::jobs::desk::Desk;
use crate::jobs::export::answer_columns::plain;
use crate::page::form::Form;
use crate::page::route::{Answer, Attached};
use crate::page::turned::Turned;

pub(crate) fn show(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    let (book, today) = (desk.book()?, desk.today()?);
    let backup = back_up(book.dir(), today)?;
    // A title may contain characters that a file name cannot.
    let title = plain(&book.config().title);
    let name = format!("{title}-{today}.tar");
    Ok(Answer::Attached(Attached { name, kind: "application/x-tar", bytes: backup.bytes }))
}
