//! The page for striking entries: shows them, and asks for the reason.

use super::command::{Args, run};
use crate::book::{Book, EntryKind, Named, reading_id};
use crate::jobs::desk::Desk;
use crate::jobs::entries::answer_struck::readings_along;
use crate::jobs::entries::page_where::{listed_at, seen};
use crate::jobs::entries::text::{
    paper_line, plan_line, reading_line, target_line, thread_line, trial_line,
};
use crate::page::field::Field;
use crate::page::form::Form;
use crate::page::form_page::Seal;
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned, of_no_field};
use crate::terminal::number::plural;
use askama::Template;
use std::collections::BTreeSet;

const FIELDS: &[&str] = &["kind", "ids", "reason"];

#[derive(Template)]
#[template(path = "bench/strike.html")]
struct View {
    found: Found,
    /// The trial whose page is shown afterwards.
    trial: Option<String>,
    reason: Field,
    back: String,
    seal: Seal,
    faults: Vec<String>,
}

struct Found {
    kind: EntryKind,
    ids: Vec<String>,
    /// How often each had been struck before.
    seen: Vec<usize>,
    lines: Vec<String>,
    /// The readings that are struck with trials.
    along: Vec<String>,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    Ok(page(desk, form, &[])?.into())
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let done = form.args(FIELDS).and_then(|mut args: Args| {
        args.seen = seen(form);
        let is_trial = form.get("kind") == Some(EntryKind::Trial.word());
        args.along = is_trial.then(|| form.all("along").map(str::to_owned).collect());
        desk.write(form, |session| run(args, session))
    });
    desk.settled(form, done, &listed_at(form), page)
}

fn page(desk: &Desk, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let book = desk.book()?;
    let found = found(&book, form)?;
    let title = match (&found.ids[..], found.kind) {
        ([_], EntryKind::Reading) => "Strike this reading?".to_owned(),
        (ids, EntryKind::Reading) => format!("Strike these {}?", plural(ids.len(), "reading")),
        (ids, kind) => format!("Strike {kind} {}?", ids.join(", ")),
    };
    let reason = Field::text("reason", "Reason")
        .hint("For example: misread by a millimetre")
        .needed()
        .filled(form, faults);
    let view = View {
        found,
        trial: form.get("trial").map(str::to_owned),
        reason,
        back: listed_at(form),
        seal: desk.seal(),
        faults: of_no_field(faults, &["reason"]),
    };
    let content = Content::of(title, &view);
    let content = content.beside(
        "A struck entry no longer counts, but stays in the book, like a wrong figure with a line \
         through it.",
    );
    Ok(if faults.is_empty() { content } else { content.refused() })
}

fn found(book: &Book, form: &Form) -> Result<Found, Turned> {
    let kind = form.get("kind").and_then(|word| word.parse::<EntryKind>().ok());
    let kind = kind.ok_or_else(missing)?;
    let wanted: BTreeSet<&str> = form.all("ids").collect();
    let config = book.config();
    let all: Vec<(String, String)> = match kind {
        EntryKind::Paper => lines(book.papers(), |it| paper_line(it, config)),
        EntryKind::Thread => lines(book.threads(), |it| thread_line(it, config)),
        EntryKind::Target => lines(book.targets(), target_line),
        EntryKind::Trial => lines(book.trials(), |it| trial_line(it, config)),
        EntryKind::Plan => lines(book.plans(), plan_line),
        EntryKind::Reading => {
            let readings = book.readings().iter().map(|it| {
                let line = reading_line(it, config);
                (reading_id(it), format!("{}, {}: {line}", it.trial, it.state.phrase()))
            });
            readings.collect()
        }
        EntryKind::Forecast => {
            let ids = book.forecast_ids().iter();
            ids.map(|id| (id.clone(), format!("kept forecast {id}"))).collect()
        }
    };
    let all = all.into_iter().filter(|(id, _)| wanted.contains(id.as_str()));
    let (ids, lines): (Vec<String>, Vec<String>) = all.unzip();
    if ids.is_empty() {
        return Err(missing());
    }
    let along = match kind {
        EntryKind::Trial => readings_along(book, &ids),
        _ => Vec::new(),
    };
    let seen = ids.iter().map(|id| book.times_struck(kind, id)).collect();
    Ok(Found { kind, ids, seen, lines, along })
}

impl Found {
    fn along_words(&self) -> Option<String> {
        match self.along.len() {
            0 => None,
            1 => Some("Its reading is struck with it.".to_owned()),
            count => Some(format!("Its {count} readings are struck with it.")),
        }
    }
}

fn lines<T: Named>(entries: &[T], line: impl Fn(&T) -> String) -> Vec<(String, String)> {
    entries.iter().map(|it| (it.name().to_string(), line(it))).collect()
}

fn missing() -> Turned {
    Turned::Missing("This entry is not in the book, or it was struck already.".to_owned())
}
