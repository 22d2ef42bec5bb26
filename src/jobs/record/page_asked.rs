//! Writes new entries from a form; asks first about any that look wrong.

use crate::book::{Book, Entries};
use crate::jobs::desk::Desk;
use crate::jobs::doubt::command::listed;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use clap::Args;

/// Why a form is shown again.
#[derive(Default)]
pub(crate) struct Again {
    pub faults: Vec<Fault>,
    /// Doubts; the entry can be kept anyway.
    pub asked: Vec<String>,
}

/// Builds the page of a form that was not carried out.
pub(crate) type ShowAgain = fn(&Desk, &Form, Again) -> Result<Content, Turned>;

/// A command that records: its fields, its new entry, and the function that writes it.
pub(crate) struct Order<A, N> {
    pub fields: &'static [&'static str],
    pub new_of: fn(&A, &mut Session<'_>, &Book) -> Result<N, CliError>,
    pub run: fn(A, &mut Session<'_>) -> Outcome,
}

/// Carries out the order and goes to the page at `then`, or shows the form again.
pub(crate) fn done<A: Args, N: Into<Entries>>(
    desk: &Desk,
    form: &Form,
    order: Order<A, N>,
    then: &str,
    again: ShowAgain,
) -> Result<Answer, Turned> {
    let written = form.args(order.fields).map(|args: A| {
        written(desk, form, |session, is_sure| order.carried_out(args, session, is_sure))
    });
    settled(desk, form, written, then, again)
}

impl<A, N: Into<Entries>> Order<A, N> {
    /// Records what was ordered, or returns the doubts about it.
    pub fn carried_out(
        self,
        args: A,
        session: &mut Session<'_>,
        is_sure: bool,
    ) -> Result<Vec<String>, CliError> {
        let book = session.open_book()?;
        let new = (self.new_of)(&args, session, &book)?.into();
        let asked = if is_sure { Vec::new() } else { listed(session, &book, &new) };
        if asked.is_empty() { (self.run)(args, session).map(|_| asked) } else { Ok(asked) }
    }
}

/// Runs `change` and returns its result and its doubts. Doubts mean that nothing was written.
/// `change` gets whether the user is sure, and then must return no doubts.
pub(crate) fn written(
    desk: &Desk,
    form: &Form,
    change: impl FnOnce(&mut Session<'_>, bool) -> Result<Vec<String>, CliError>,
) -> (Result<String, Turned>, Vec<String>) {
    let mut asked = Vec::new();
    let done = desk.write(form, |session| {
        asked = change(session, form.get("sure").is_some())?;
        if asked.is_empty() { Ok(()) } else { Err(CliError::Declined) }
    });
    (done, asked)
}

/// Goes to the page at `then` if the change was written, else shows the form again. Errors that
/// belong to no field are returned.
pub(crate) fn settled(
    desk: &Desk,
    form: &Form,
    written: Result<(Result<String, Turned>, Vec<String>), Turned>,
    then: &str,
    again: ShowAgain,
) -> Result<Answer, Turned> {
    let turned = match written {
        Ok((Ok(number), _)) => return Ok(Answer::said(then, &number)),
        Ok((Err(_), asked)) if !asked.is_empty() => {
            return Ok(again(desk, form, Again { asked, ..Again::default() })?.into());
        }
        Ok((Err(turned), _)) | Err(turned) => turned,
    };
    let faults = turned.faults()?;
    Ok(again(desk, form, Again { faults, ..Again::default() })?.into())
}
