//! The page for bringing back a struck entry.

use super::command::{Args, run};
use crate::book::EntryKind;
use crate::jobs::desk::Desk;
use crate::jobs::entries::page_where::{listed_at, seen};
use crate::page::form::Form;
use crate::page::form_page::FormPage;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};

const FIELDS: &[&str] = &["kind", "ids"];

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, &[])?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let done = form.args(FIELDS).and_then(|mut args: Args| {
        args.seen = seen(form);
        desk.write(form, |session| run(args, session))
    });
    desk.settled(form, done, &listed_at(form), page)
}

fn page(desk: &Desk, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let why = "This entry is not struck. Perhaps it was brought back meanwhile.";
    let missing = || Turned::Missing(why.to_owned());
    let kind = form.get("kind").and_then(|word| word.parse::<EntryKind>().ok());
    let kind = kind.ok_or_else(missing)?;
    let book = desk.book()?;
    let struck = book.restorable(kind);
    let ids: Vec<&str> = form.all("ids").filter(|id| struck.iter().any(|it| it == id)).collect();
    if ids.is_empty() {
        return Err(missing());
    }
    let title = format!("Bring back {kind} {}?", ids.join(", "));
    let with = match kind {
        EntryKind::Trial => {
            "It counts again as it was, with the readings that were struck with it."
        }
        _ => "It counts again as it was.",
    };
    let trial = form.get("trial").map(|trial| ("trial", trial.to_owned()));
    let seen = |id: &&str| ("seen", book.times_struck(kind, id).to_string());
    let seen: Vec<_> = ids.iter().map(seen).collect();
    let ids = ids.into_iter().map(|id| ("ids", id.to_owned()));
    let of = [("kind", kind.to_string())].into_iter();
    let drawn = FormPage {
        kept: of.chain(ids).chain(seen).chain(trial).collect(),
        links: vec![(listed_at(form), "Leave it struck", "quiet")],
        ..FormPage::new("/restore", "Bring it back", Vec::new(), desk.seal())
    };
    Ok(drawn.content(title, form, faults).beside(with))
}
