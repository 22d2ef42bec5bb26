//! The first page: the book at a glance, and the next useful thing.

use crate::jobs::desk::Desk;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;

pub(crate) fn show(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    let book = desk.book()?;
    Ok(Content::new(book.config().title.clone(), String::new()).into())
}
