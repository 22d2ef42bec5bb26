//! The page that corrects a trial or a reading: strikes it and writes it again in one step.

use super::answer::reading_of;
use super::command_entry::{correct, reading_of as reading_typed};
use super::page_parts::{correcting, correction, doubts, reason};
use super::page_stock;
use crate::book::{Book, EntryKind, entry_named};
use crate::jobs::desk::Desk;
use crate::jobs::entries::text::trial_in_full;
use crate::jobs::record::command_trial::{Args, trial_of};
use crate::jobs::record::page_asked::{Again, settled, written};
use crate::jobs::record::page_sewing::{FIELDS, Offer, plain};
use crate::page::address::address;
use crate::page::field::{Field, Typed};
use crate::page::form::Form;
use crate::page::form_page::{FormPage, Group};
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::number::plural;
use crate::trade::{Edge, Reading, Trial};

/// The entry to correct: the trial in the field `was`, or the reading in the field `reading`.
enum Subject<'b> {
    Trial(&'b Trial),
    Reading(&'b Reading),
}

/// Whether `kind` names a kind of entry. A trial's form also has a field `kind`: block or book.
fn is_of_stock(form: &Form) -> bool {
    form.get("kind").is_some_and(|kind| kind.parse::<EntryKind>().is_ok())
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    if is_of_stock(form) {
        return page_stock::show(desk, form);
    }
    Ok(page(desk, &of_address(form), Again::default())?.into())
}

/// Moves the trial's name from `trial`, as in every address, to `was`: in the form, `trial` is the
/// new name.
fn of_address(form: &Form) -> Form {
    let mut form = form.without("was");
    if let Some(name) = form.get("trial").map(str::to_owned) {
        form = form.without("trial");
        form.push("was", name);
    }
    form
}

pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    if let Some(number) = desk.was_done(form)? {
        let there = if is_of_stock(form) { page_stock::THEN.to_owned() } else { then(form, None) };
        return Ok(Answer::said(&there, &number));
    }
    if is_of_stock(form) {
        return page_stock::send(desk, form);
    }
    let book = desk.book()?;
    match subject(&book, form)? {
        Subject::Trial(_) => {
            let of = correction(form, "was");
            let written = form.args::<Args>(FIELDS).map(|args| {
                written(desk, form, |session, is_sure| {
                    let doubts = doubts(is_sure);
                    correct(EntryKind::Trial, &of, doubts, session, |session, _, without| {
                        trial_of(&args, session, without)
                    })
                })
            });
            settled(desk, form, written, &then(form, None), page)
        }
        Subject::Reading(old) => {
            let of = correction(form, "reading");
            let edges = ["spine", "fore-edge"].map(|name| form.get(name));
            let written = written(desk, form, |session, is_sure| {
                correct(EntryKind::Reading, &of, doubts(is_sure), session, |_, book, _| {
                    Ok(vec![reading_typed(edges, old, book)?])
                })
            });
            settled(desk, form, Ok(written), &then(form, Some(old)), page)
        }
    }
}

/// The address of the trial's page, by its new name.
fn then(form: &Form, reading: Option<&Reading>) -> String {
    let name = reading.map(|reading| reading.trial.as_str());
    let name = name.or_else(|| form.get("trial")).or_else(|| form.get("of"));
    address("/log", &[("trial", name)])
}

fn subject<'b>(book: &'b Book, form: &Form) -> Result<Subject<'b>, Turned> {
    let found = match (form.get("reading"), form.get("was")) {
        (Some(id), _) => reading_of(book, id).map(Subject::Reading),
        (None, Some(name)) => entry_named(book.trials(), name).map(Subject::Trial),
        (None, None) => None,
    };
    let gone = "This entry is not in the book, or it was struck. Look it up in the log.";
    found.ok_or_else(|| Turned::Missing(gone.to_owned()))
}

fn page(desk: &Desk, form: &Form, again: Again) -> Result<Content, Turned> {
    let book = desk.book()?;
    match subject(&book, form)? {
        Subject::Trial(trial) => Ok(trial_page(desk, &book, trial, form, again)),
        Subject::Reading(reading) => Ok(reading_page(desk, &book, reading, form, again)),
    }
}

fn leave(trial: &str) -> (String, &'static str, &'static str) {
    (address("/log", &[("trial", Some(trial))]), "Leave it as it is", "quiet")
}

fn trial_page(desk: &Desk, book: &Book, trial: &Trial, form: &Form, again: Again) -> Content {
    let name = trial.name.as_str();
    let offer = Offer::of(trial, book.config().unit);
    let seen = book.times_struck(EntryKind::Trial, name);
    let drawn = FormPage {
        folded: Some(("Name, date, guards, a note", offer.folded(book))),
        links: vec![leave(name)],
        kept: vec![("was", name.to_owned()), ("seen", seen.to_string())],
        ..correcting(
            offer.groups(book).into_iter().chain([reason()]).collect(),
            again.asked,
            desk.seal(),
        )
    };
    let own = book.readings().iter().filter(|reading| reading.trial == trial.name).count();
    let along = match own {
        0 => String::new(),
        own => format!(" Its {} stay with it.", plural(own, "reading")),
    };
    let words = format!("Now: {}.{along}", trial_in_full(trial, book.config()));
    drawn.content(format!("Correct {name}"), form, &again.faults).beside(words)
}

fn reading_page(desk: &Desk, book: &Book, reading: &Reading, form: &Form, again: Again) -> Content {
    let id = crate::book::reading_id(reading);
    let unit = book.config().unit;
    let edge = |name, label, edge: Edge| {
        let value = reading.edge(edge).map(|value| plain(value, unit)).unwrap_or_default();
        Field::typed(name, label, Typed::Number).unit(unit.symbol()).offer(value)
    };
    let edges = vec![
        edge("spine", "Spine", Edge::Spine),
        edge("fore-edge", "Fore-edge", Edge::ForeEdge)
            .hint("Leave it empty if it was not measured"),
    ];
    let seen = book.times_struck(EntryKind::Reading, &id);
    let of =
        [("kind", Some("reading")), ("ids", Some(&*id)), ("trial", Some(reading.trial.as_str()))];
    let strike = address("/strike", &of);
    let trial = reading.trial.as_str();
    let why = Field::text("reason", "What was wrong")
        .hint("For example: misread by a millimetre")
        .needed();
    let drawn = FormPage {
        links: vec![(strike, "Strike it instead", "danger"), leave(trial)],
        kept: vec![("reading", id), ("seen", seen.to_string()), ("of", trial.to_owned())],
        ..correcting(vec![Group::Beside(edges), Group::Each(vec![why])], again.asked, desk.seal())
    };
    let title = format!("Correct {trial}, {}, {}", reading.state.phrase(), reading.place);
    drawn.content(title, form, &again.faults)
}
