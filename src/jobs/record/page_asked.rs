//! New entries from a form, asked about before they are written where they look wrong.

use crate::book::{Book, Entries};
use crate::jobs::desk::Desk;
use crate::jobs::doubt::command::listed;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use clap::Args;

/// What a form is shown again for.
#[derive(Default)]
pub(crate) struct Again {
    /// What is wrong, at its field.
    pub faults: Vec<Fault>,
    /// What looks wrong and can be kept all the same.
    pub asked: Vec<String>,
}

/// Makes the page of a form that was not done.
pub(crate) type ShowAgain = fn(&Desk, &Form, Again) -> Result<Content, Turned>;

/// A command that records: its entries, and what writes them.
pub(crate) struct Order<A> {
    pub fields: &'static [&'static str],
    pub entries: fn(&A, &mut Session<'_>, &Book) -> Result<Entries, CliError>,
    pub run: fn(A, &mut Session<'_>) -> Outcome,
}

/// Does it and goes to the page at `then`; or shows the form again.
///
/// # Errors
/// What no field is to blame for.
pub(crate) fn done<A: Args>(
    desk: &Desk,
    form: &Form,
    order: Order<A>,
    (then, again): (&str, ShowAgain),
) -> Result<Answer, Turned> {
    let Order { fields, entries, run } = order;
    let written = form.args(fields).map(|args: A| {
        written((desk, form), |session, is_sure| {
            let book = session.open_book()?;
            let new = entries(&args, session, &book)?;
            let asked = if is_sure { Vec::new() } else { listed(session, &book, &new) };
            if asked.is_empty() { run(args, session).map(|_| asked) } else { Ok(asked) }
        })
    });
    settled(desk, form, written, (then, again))
}

/// What was done, and what looks wrong where nothing was done for it: `change` returns that, and
/// asks for nothing if somebody is sure.
pub(crate) fn written(
    (desk, form): (&Desk, &Form),
    change: impl FnOnce(&mut Session<'_>, bool) -> Result<Vec<String>, CliError>,
) -> (Result<String, Turned>, Vec<String>) {
    let mut asked = Vec::new();
    let done = desk.write(form, |session| {
        asked = change(session, form.get("sure").is_some())?;
        if asked.is_empty() { Ok(()) } else { Err(CliError::Declined) }
    });
    (done, asked)
}

/// The page at `then` where it was written; else the form again.
///
/// # Errors
/// What no field is to blame for.
pub(crate) fn settled(
    desk: &Desk,
    form: &Form,
    written: Result<(Result<String, Turned>, Vec<String>), Turned>,
    (then, again): (&str, ShowAgain),
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
