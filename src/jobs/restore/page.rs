//! The page for bringing back a struck entry.

use super::command::run;
use crate::book::EntryKind;
use crate::jobs::desk::Desk;
use crate::jobs::entries::page_where::listed_at;
use crate::page::form::Form;
use crate::page::form_page::FormPage;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};

const FIELDS: &[&str] = &["kind", "ids"];

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, &[])?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    desk.settled(form, desk.order(form, FIELDS, run), &listed_at(form), page)
}

fn page(desk: &Desk, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let missing = || Turned::Missing("No such entry is struck.".to_owned());
    let kind = form.get("kind").and_then(|word| word.parse::<EntryKind>().ok());
    let kind = kind.ok_or_else(missing)?;
    let struck = desk.book()?.restorable(kind);
    let ids: Vec<&str> = form.all("ids").filter(|id| struck.iter().any(|it| it == id)).collect();
    if ids.is_empty() && faults.is_empty() {
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
    let ids = ids.into_iter().map(|id| ("ids", id.to_owned()));
    let drawn = FormPage {
        kept: [("kind", kind.to_string())].into_iter().chain(ids).chain(trial).collect(),
        links: vec![(listed_at(form), "Leave it struck", "quiet")],
        ..FormPage::new("/restore", "Bring it back", Vec::new(), desk.seal())
    };
    Ok(drawn.content(title, form, faults).beside(with))
}
