//! The page for undoing or redoing the last change.

use super::answer::undone_words;
use super::command::turned;
use crate::book::{Book, Turn};
use crate::jobs::desk::Desk;
use crate::page::form::Form;
use crate::page::form_page::FormPage;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};

/// The change that can be undone or redone: its index in the list of changes, and its description.
fn last(book: &Book, turn: Turn) -> Option<(usize, String)> {
    let history = book.history();
    let place = match turn {
        Turn::Undo => history.done.last(),
        Turn::Redo => history.taken.last(),
    };
    let place = *place?;
    let change = &book.changes()[place];
    Some((place, format!("{}: {}", change.date, undone_words(change))))
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, &[])?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let turn = turn_of(form);
    let meant = form.get("change").and_then(|place| place.parse().ok());
    match desk.write(form, |session| turned(turn, meant, session)) {
        Ok(number) => Ok(Answer::said("/undo", &number)),
        Err(turned) => Ok(page(desk, form, &turned.faults()?)?.into()),
    }
}

fn turn_of(form: &Form) -> Turn {
    if form.get("turn") == Some(Turn::Redo.word()) { Turn::Redo } else { Turn::Undo }
}

fn page(desk: &Desk, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let book = desk.book()?;
    let (turn, redo) = (turn_of(form), last(&book, Turn::Redo));
    let (title, button, nothing) = match turn {
        Turn::Undo => ("Undo the last change", "Undo it", "No change is left to undo."),
        Turn::Redo => ("Bring back what was undone", "Bring it back", "No undo is left to redo."),
    };
    let Some((place, words)) = last(&book, turn).filter(|_| !desk.is_read_only()) else {
        return Ok(Content::new(title, String::new()).beside(nothing));
    };
    let again = redo.filter(|_| turn == Turn::Undo);
    let again =
        again.map(|_| ("/undo?turn=redo".to_owned(), "Bring back what was undone", "other"));
    let back = ("/log".to_owned(), "Leave it as it is", "quiet");
    let drawn = FormPage {
        kept: vec![("turn", turn.word().to_owned()), ("change", place.to_string())],
        links: again.into_iter().chain([back]).collect(),
        ..FormPage::new("/undo", button, Vec::new(), desk.seal())
    };
    Ok(drawn.content(title, form, faults).beside(words))
}
