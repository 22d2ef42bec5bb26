//! Strikes an entry and writes it again in one step: all of it or nothing.

use super::answer::{Wrong, corrected, entry, touched, untouched};
use super::text::along_words;
use crate::book::{
    Book, BookError, Change, Difference, Entries, EntryKind, differences, note, reading_id,
};
use crate::jobs::doubt::command::{ask, left_over_note, listed_since};
use crate::jobs::entries::command_bereft::Bereft;
use crate::jobs::entries::command_ids::{Listed, ids_of, live_ids, of_set};
use crate::jobs::entries::command_reason::reason;
use crate::jobs::entries::text_changed::changed_words;
use crate::jobs::record::answer_measure::stock_of;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::values::{ValueError, length, optional};
use crate::trade::{Edge, Reading, ReadingError, ranges};
use crate::units::{Millimetres, shown};
use std::collections::HashMap;

/// The reason if none is given.
pub(super) const REASON: &str = "corrected";

/// The id of the one entry that is meant; it must be in the book.
pub(super) fn id_of(
    given: Option<&String>,
    kind: EntryKind,
    flag: &'static str,
    session: &mut Session<'_>,
) -> Result<String, CliError> {
    session.asking(&[(flag, given.is_some())])?;
    let book = session.open_book()?;
    let names = live_ids(&book, kind);
    let what = Listed { kind, words: kind.word(), names: &names };
    let given: Vec<String> = given.into_iter().cloned().collect();
    let ids = ids_of(&given, session, &what, |typed| of_set(typed, &book))?;
    match &ids[..] {
        [id] => Ok(id.clone()),
        _ => {
            let message = format!("this means {} readings; give the place of one too", ids.len());
            Err(CliError::value(flag, message))
        }
    }
}

pub(crate) struct Correction<'f> {
    pub id: &'f str,
    /// How often it had been struck when the correction began.
    pub seen: Option<usize>,
    pub reason: Option<&'f str>,
}

impl Correction<'_> {
    fn wrong(
        &self,
        kind: EntryKind,
        session: &mut Session<'_>,
        book: &Book,
    ) -> Result<Wrong, CliError> {
        let reason = reason(self.reason, session, false)?;
        let Self { id, seen, .. } = *self;
        let seen = seen.unwrap_or_else(|| book.times_struck(kind, id));
        Ok(Wrong { kind, id: id.to_owned(), seen, reason, date: session.today() })
    }
}

/// What to do if a correction looks wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Doubts {
    /// Write nothing, and return the doubts.
    Listed,
    /// Write it without asking, because the user is sure.
    Kept,
    /// Ask a person at the terminal; without one, write it and note the doubts.
    Asked,
}

/// Replaces an entry by the one that `new_of` makes from the book with and without it. Returns the
/// doubts about the new entry, if they kept it from being written.
pub(crate) fn correct<N: Into<Entries>>(
    kind: EntryKind,
    of: &Correction<'_>,
    doubts: Doubts,
    session: &mut Session<'_>,
    new_of: impl FnOnce(&mut Session<'_>, &Book, &Book) -> Result<N, CliError>,
) -> Result<Vec<String>, CliError> {
    let mut book = session.open_book()?;
    let wrong = of.wrong(kind, session, &book)?;
    let new = new_of(session, &book, &book.without(&[wrong.strike()]))?.into();
    let changed = differences(&entry(&book, kind, of.id), &new);
    if changed.is_empty() {
        // A page shows the values that can be changed.
        let how = match session.sending {
            Some(_) => String::new(),
            None => format!(" (see `swellbook correct {kind} --help`)"),
        };
        return Err(CliError::Usage(format!(
            "{kind} '{}' already has these values; give one that is to change{how}",
            shown(of.id)
        )));
    }
    let words = changed_words(kind, of.id, &changed, book.config());
    check_kept_readings(of.id, &new, &book, &words)?;
    let found = match doubts {
        Doubts::Kept => Vec::new(),
        Doubts::Asked | Doubts::Listed => {
            let all = touched(&book, &wrong, &new)?;
            let without = book.without(&all.strikes);
            listed_since(session, &without, &untouched(&book, &wrong, &new)?, &all)
        }
    };
    if doubts == Doubts::Listed && !found.is_empty() {
        return Ok(found);
    }
    let notes = ask(session, found)?;
    let words = format!("corrected {words}");
    let noted = note(&words).unwrap_or_else(|_| format!("corrected a {kind}"));
    let (today, before) = (session.today(), Bereft::of(&book));
    let written = session.append_with(&mut book, |now| {
        let changes = vec![Change::new(noted, today)];
        Ok(Entries { changes, ..corrected(now, &wrong, &new)? })
    })?;
    notes.tell(session);
    before.tell_since(&book, session);
    let along = along_words(kind, written.written());
    let undo = match session.sending {
        Some(_) => String::new(),
        None => format!("; to undo: {}", session.command("undo")),
    };
    session.says_kept(&format!(
        "{words}{along}: {} (the old entry is still readable in struck.csv{undo})",
        wrong.reason
    ))?;
    let is_of_pattern = |it: &Difference| ["sections", "on", "ends"].contains(&it.column);
    let left_over = left_over_note(&new.trials).filter(|_| changed.iter().any(is_of_pattern));
    left_over.iter().for_each(|note| session.tell(&format!("note: {note}")));
    Ok(Vec::new())
}

/// Refuses a paper, a thread or a trial with which some of the readings that stay are impossible.
/// The new value is at fault then, so one reading is enough to show it.
fn check_kept_readings(id: &str, new: &Entries, book: &Book, words: &str) -> Result<(), CliError> {
    let new_trial = new.trials.first();
    let new_paper = new.papers.first();
    let new_thread = new.threads.first();
    let mut blocks = HashMap::new();
    for was in book.trials() {
        let trial = new_trial.filter(|_| was.name.as_str() == id).unwrap_or(was);
        let paper = new_paper.filter(|_| trial.paper.as_str() == id);
        let thread = new_thread.filter(|_| trial.thread.as_str() == id);
        if std::ptr::eq(trial, was) && paper.is_none() && thread.is_none() {
            continue;
        }
        let (old_paper, old_thread) = stock_of(book, trial);
        if let (Some(paper), Some(thread)) = (paper.or(old_paper), thread.or(old_thread)) {
            blocks.insert(&was.name, (trial.sewing, paper, thread));
        }
    }
    let mut misfits = book.readings().iter().filter_map(|reading| {
        let (sewing, paper, thread) = blocks.get(&reading.trial)?;
        Some((reading, reading.check_against(*sewing, paper, thread).err()?))
    });
    let Some((reading, mut error)) = misfits.next() else { return Ok(()) };
    if let ReadingError::Implausible { hint, .. } = &mut error {
        *hint = "look at the new value again";
    }
    let first = format!("{}: {}", reading_id(reading), error.in_unit(book.config().unit));
    let why = match misfits.count() {
        0 => format!("a reading of it impossible, {first}"),
        more => format!("{} readings of it impossible, such as {first}", 1 + more),
    };
    Err(BookError::Clash(format!("{words} makes {why}")).into())
}

/// The reading with the typed edges, spine and fore-edge. An edge that was not changed keeps every
/// digit.
pub(crate) fn reading_of(
    [spine, fore_edge]: [Option<&str>; 2],
    old: &Reading,
    book: &Book,
) -> Result<Reading, CliError> {
    let unit = book.config().unit;
    let edge = |edge: Edge, flag, typed: Option<&str>| -> Result<Option<Millimetres>, CliError> {
        by_flag(flag, typed.unwrap_or_default(), |text| {
            let typed = optional(text, |text| length(text, unit, ranges::THICKNESS))?;
            let as_it_was = old.edge(edge).filter(|was| {
                typed.is_some_and(|typed| (typed.mm() - was.mm()).abs() < UNCHANGED_MM)
            });
            Ok::<_, ValueError>(as_it_was.or(typed))
        })
    };
    let spine = edge(Edge::Spine, "--spine", spine)?;
    let fore_edge = edge(Edge::ForeEdge, "--fore-edge", fore_edge)?;
    let (trial, place) = (old.trial.clone(), old.place.clone());
    let new = Reading::new(trial, old.state, place, spine, fore_edge);
    let mut new =
        new.map_err(|error| CliError::value("--spine, --fore-edge", error.in_unit(unit)))?;
    check(&new, book)?;
    (new.taken, new.note) = (old.taken.clone(), old.note.clone());
    Ok(new)
}

/// A form fills in six decimals of the unit, so a smaller difference is not a change.
const UNCHANGED_MM: f64 = 1e-4;

/// Refuses a reading that its block cannot have, and names the wrong edge.
fn check(new: &Reading, book: &Book) -> Result<(), CliError> {
    let Some(trial) = book.trials().iter().find(|trial| trial.name == new.trial) else {
        return Ok(());
    };
    let (Some(paper), Some(thread)) = stock_of(book, trial) else { return Ok(()) };
    new.check_against(trial.sewing, paper, thread).map_err(|error| {
        let flag = match &error {
            ReadingError::Implausible { edge: Edge::ForeEdge, .. } => "--fore-edge",
            _ => "--spine",
        };
        CliError::value(flag, error.in_unit(book.config().unit))
    })
}
