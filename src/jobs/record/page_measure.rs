//! The page for measuring a block: every spine first, then every fore-edge.

use super::answer_measure::{expected, next_state, next_trial};
use super::command_open::Open;
use super::command_written::{Taken, write};
use super::page_changed;
use super::page_measure_view::html;
use super::page_measured::{BLOCK, Block, MOST, Typed, field};
use crate::book::{Book, EntryKind, entry_named};
use crate::jobs::desk::Desk;
use crate::jobs::entries::text::trial_words;
use crate::page::address::address;
use crate::page::form::{Form, NUMBER, TAKEN};
use crate::page::route::{Answer, Content};
use crate::page::turned::{Fault, Turned};
use crate::terminal::refusal::CliError;
use crate::trade::{Edge, Trial};
use askama::Template;
use jiff::civil::Date;

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let book = desk.book()?;
    if let Some(struck) = struck(&book, form) {
        return Ok(struck.into());
    }
    if book.trials().is_empty() {
        return Ok(nothing().into());
    }
    Ok(page(desk, form, &[])?.into())
}

/// The page of a block that was struck since readings of it were begun.
#[derive(Template)]
#[template(path = "bench/struck.html")]
struct Struck {
    /// The address that brings it back.
    back: String,
}

fn struck(book: &Book, form: &Form) -> Option<Content> {
    let name = form.get("trial").filter(|_| trial_of(book, form).is_err())?;
    let words = struck_words(book, name)?;
    let of = [("kind", Some("trial")), ("ids", Some(name)), ("trial", Some(name))];
    let view = Struck { back: address("/restore", &of) };
    Some(Content::of(format!("{name} was struck"), &view).beside(words).refused())
}

/// That a trial of this name was struck, and why; `None` unless it can be brought back.
fn struck_words(book: &Book, name: &str) -> Option<String> {
    let strike = book.struck().iter().rfind(|it| it.what == EntryKind::Trial && it.id == name)?;
    let is_gone = book.restorable(EntryKind::Trial).iter().any(|id| id == name);
    let why = strike.reason.trim_end_matches('.');
    is_gone
        .then(|| format!("{name} was struck: {why}. To write readings of it, bring it back first."))
}

/// The page of a book without a block.
fn nothing() -> Content {
    let html = "<p>Record a block before you measure it: its paper, its thread and how it is \
                sewn.</p><div class=\"actions\"><a class=\"button main\" href=\"/trial\">Record a \
                block</a></div>";
    Content::new("There is no block to measure yet", html.to_owned())
}

/// Writes the readings, unless they are faulty or doubtful, or in the book already.
pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    // Enter without JavaScript, or undoing the last value: nothing should be written yet.
    if form.has("next") || form.has("undo") {
        return Ok(page(desk, form, &[])?.into());
    }
    match written(desk, form) {
        Ok(number) => {
            let (typed, state) = (form.get("trial"), form.get("state"));
            let book = desk.book()?;
            // It may have been renamed since the page was opened, or struck since it was written.
            let now = trial_of(&book, form).map(|trial| trial.name.as_str()).ok();
            let (values, places) = counts_of(form);
            let (values, places) = (values.to_string(), places.to_string());
            let of = [
                ("trial", now.or(typed)),
                ("was", typed.filter(|typed| now.is_some_and(|now| now != *typed))),
                ("state", state),
                ("seen", form.get("seen")),
                ("count", Some(values.as_str())),
                ("at", Some(places.as_str())),
                // Nothing was written: the book had got the same readings by another way.
                ("there", desk.was_done(form)?.is_none().then_some("yes")),
            ];
            let of = address("/measured", &of);
            Ok(Answer::said(&of, &number))
        }
        Err(turned) => {
            let was_sent = matches!(turned, Turned::Refused(CliError::SentOtherwise { .. }));
            let faults = turned.faults()?;
            let book = desk.book()?;
            let block = block(&book, form, desk)?;
            if was_sent || page_changed::is_changed(&block, form) {
                return Ok(page_changed::page(&block, form, desk, was_sent).into());
            }
            Ok(page(desk, form, &faults)?.refused().into())
        }
    }
}

/// The number of values typed, and of the places that have one.
fn counts_of(form: &Form) -> (usize, usize) {
    let is_typed = |edge, place| form.get(&field(edge, place)).is_some();
    let typed = |place| Edge::ALL.into_iter().filter(|edge| is_typed(*edge, place)).count();
    let places = (1..=MOST).map(typed).filter(|values| *values > 0);
    places.fold((0, 0), |(values, places), here| (values + here, places + 1))
}

/// The day on which the readings were taken: today, or an earlier day if they waited on a phone.
/// A day before the block was sewn comes from a wrong clock.
fn day_taken(form: &Form, block: &Block<'_>) -> Date {
    let said = form.get(TAKEN).and_then(|day| day.parse::<Date>().ok());
    let is_possible =
        |day: &Date| *day <= block.today && block.trial.date.is_none_or(|it| it <= *day);
    said.filter(is_possible).unwrap_or(block.today)
}

fn written(desk: &Desk, form: &Form) -> Result<String, Turned> {
    if let Some(number) = desk.was_done(form)? {
        return Ok(number);
    }
    let book = desk.book()?;
    let block = block(&book, form, desk)?;
    let Typed { readings, faults, unasked, settled, sure, .. } = block.typed(form)?;
    if page_changed::is_changed(&block, form) {
        let are_there = faults.is_empty() && block.has_all(&readings);
        let number = form.get(NUMBER).filter(|_| are_there).map(str::to_owned);
        return number.ok_or(Turned::Faults(Vec::new()));
    }
    if !faults.is_empty() {
        return Err(Turned::Faults(faults));
    }
    if (unasked.is_some() && !settled) || readings.is_empty() {
        let nothing = readings.is_empty().then(|| Fault::new("", "type at least one reading"));
        return Err(Turned::Faults(nothing.into_iter().collect()));
    }
    let named = form.get("places").is_some() || block.has_names();
    let day = day_taken(form, &block).to_string();
    let (key, open) = (block.key, Open::default());
    let mut taken = Taken { readings, key, by_flags: true, named, sure, open };
    taken.readings.iter_mut().for_each(|reading| reading.taken = day.clone().into());
    desk.write(form, |session| {
        let mut book = session.open_book()?;
        write(taken, session, &mut book)
    })
}

/// The block of a form: the trial and state that it names, else the next ones to measure.
pub(crate) fn block<'b>(book: &'b Book, form: &Form, desk: &Desk) -> Result<Block<'b>, Turned> {
    let trial = trial_of(book, form)?;
    let state = match form.get("state") {
        Some(word) => {
            let wrong = |_| Turned::Faults(vec![Fault::new("state", "this state is not known")]);
            word.parse().map_err(wrong)?
        }
        None => next_state(book, &trial.name),
    };
    Block::of(book, trial, state, form, desk.today()?)
}

/// The trial of a form by the name that it has now; without one, the next trial to measure.
fn trial_of<'b>(book: &'b Book, form: &Form) -> Result<&'b Trial, Turned> {
    let of_name = |name: &str| entry_named(book.trials(), name);
    let found = match (form.get(BLOCK), form.get("trial")) {
        (Some(key), _) => book.trial_of_key(key),
        (None, Some(name)) => {
            of_name(name).or_else(|| of_name(book.name_now(EntryKind::Trial, name)?.as_str()))
        }
        (None, None) => next_trial(book),
    };
    let other = form.get("trial").filter(|name| of_name(name).is_some());
    found.ok_or_else(|| {
        Turned::Missing(match other {
            Some(name) => format!(
                "The trial for which this page was opened was struck. Another trial is called \
                 {name} now, and these readings are not written to it."
            ),
            None => form
                .get("trial")
                .and_then(|name| struck_words(book, name))
                .unwrap_or_else(|| "This trial is not in the book.".to_owned()),
        })
    })
}

fn page(desk: &Desk, form: &Form, faults: &[Fault]) -> Result<Content, Turned> {
    let kept = desk.kept()?;
    let book = &*kept.book;
    let block = block(book, form, desk)?;
    let Block { trial, state, .. } = block;
    let form = &undone(form, &block);
    let expected = expected(kept.fitted(), trial, state);
    let html = html(&block, form, &expected, faults, desk.seal())?;
    let title = format!("Measure {}, {}", trial.name, state.phrase());
    Ok(Content::new(title, html).beside(trial_words(trial)))
}

/// The form, without its last value if `undo` was pressed.
fn undone(form: &Form, block: &Block<'_>) -> Form {
    let last = || block.fields().rev().find(|name| form.get(name).is_some());
    match form.get("undo").and_then(|_| last()) {
        Some(last) => form.without(&last),
        None => form.clone(),
    }
}
