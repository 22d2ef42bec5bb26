//! The backup as a file to keep on the phone or the desk.

use crate::book::back_up;
use crate::jobs::desk::Desk;
use crate::jobs::export::answer_columns::column_words;
use crate::page::form::Form;
use crate::page::route::{Answer, Attached};
use crate::page::turned::Turned;

pub(crate) fn show(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    let (book, today) = (desk.book()?, desk.today()?);
    let backup = back_up(book.dir(), today)?;
    // A title may hold what no file is called.
    let title = column_words([book.config().title.as_str()].into_iter()).concat();
    let name = format!("{title}-{today}.tar");
    Ok(Answer::Attached(Attached { name, kind: "application/x-tar", bytes: backup.bytes }))
}
