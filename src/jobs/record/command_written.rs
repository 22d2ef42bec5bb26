//! Writes readings to the book.

use super::answer_measure::readings_of;
use super::command_open::Open;
use crate::book::{Book, BookError, Change, Entries, Repetition, Strike, note, reading_id};
use crate::jobs::doubt::command as doubt;
use crate::jobs::entries::text::{readings_line, unwritten_text};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use crate::trade::{Place, Reading};
use std::collections::BTreeSet;

/// Readings of one trial in one state.
pub(crate) struct Taken {
    pub readings: Vec<Reading>,
    /// The key of the trial, by which it is found again ([`Book::trial_key`]).
    pub key: Option<String>,
    /// Whether they came by flags, and so can be given again.
    pub by_flags: bool,
    /// Whether their places were named. If not, they get the numbers that are free when written.
    pub named: bool,
    /// Doubts that were settled while the readings were taken.
    pub sure: BTreeSet<String>,
    /// The readings of the book that these complete.
    pub open: Open,
}

/// Writes the readings and reports it. If writing fails, shows readings that did not come by flags,
/// so that an hour of measuring is not lost to a full disk.
pub(crate) fn write(taken: Taken, session: &mut Session<'_>, book: &mut Book) -> Outcome {
    if taken.readings.is_empty() {
        session.tell("no reading was taken; nothing was written");
        return Ok(());
    }
    let new = taken.readings.clone().into();
    session.at_stake = (!taken.by_flags).then(|| unwritten_text(&taken.readings, false));
    let written = confirm(session, book, &taken.readings).and_then(|asked| {
        let strikes = taken.open.strikes(&taken.readings, session);
        let rest = taken.open.without(book, session);
        let notes = doubt::confirm(session, &rest, &new, &taken.sure)?;
        drop(rest);
        let written = session.append_with(book, |now| taken.entries(now, strikes))?;
        Ok((asked, notes, written.readings))
    });
    session.at_stake = None;
    let (asked, notes, readings) = written.inspect_err(|error| {
        let is_there = matches!(error, CliError::SentBefore { .. });
        if !taken.by_flags && !is_there {
            let undecided = matches!(error, CliError::Book(error) if error.is_undecided());
            show_unwritten(session, &taken.readings, undecided);
        }
    })?;
    if let Some(found) = book.repeated(&readings).filter(|_| !asked) {
        let note = format!("note: {}; were they recorded twice?", repeated_line(&readings, &found));
        session.tell(&session.change_line(&note, &take_back(&readings)));
    }
    notes.tell(session);
    let line = taken.recorded_line(&readings);
    match taken.is_completed(&readings) && session.sending.is_none() {
        // A strike would take both edges away.
        true => session.says_kept(&format!("{line} (to undo: {})", session.command("undo"))),
        false => session.changed(&line, &take_back(&readings)),
    }
}

/// Shows readings that would otherwise be lost.
pub(crate) fn show_unwritten(session: &mut Session<'_>, readings: &[Reading], undecided: bool) {
    if !readings.is_empty() {
        session.tell(&unwritten_text(readings, undecided));
    }
}

/// Asks before readings that are already in the book are recorded a second time. Returns whether
/// that was asked; if nobody can be asked, they are written and reported afterwards.
fn confirm(session: &mut Session<'_>, book: &Book, readings: &[Reading]) -> Result<bool, CliError> {
    let Some(found) = book.repeated(readings).filter(|_| session.can_ask()) else {
        return Ok(false);
    };
    session.tell(&repeated_line(readings, &found));
    let question = "record them a second time: yes or no";
    if session.agrees("--no-input", question, "no")? { Ok(true) } else { Err(CliError::Declined) }
}

/// `T1 as sewn: places 3, 4 repeat places 1, 2 reading for reading`.
fn repeated_line(readings: &[Reading], found: &Repetition) -> String {
    let of = readings.first().map(|first| format!("{} {}: ", first.trial, first.state.phrase()));
    format!("{}{found}", of.unwrap_or_default())
}

impl Taken {
    /// The readings, at places that are free in the book `now`, or in place of those that they
    /// complete.
    fn entries(&self, now: &Book, strikes: Vec<Strike>) -> Result<Entries, BookError> {
        let mut readings = self.readings.clone();
        self.follow(&mut readings, now)?;
        if !self.named {
            renumber(&mut readings, now);
        }
        self.open.check(now)?;
        let changed = strikes.first().and_then(|strike| {
            let line = note(&self.recorded_line(&readings)).ok()?;
            Some(Change::new(line, strike.date))
        });
        let changes = changed.into_iter().collect();
        Ok(Entries { strikes, readings, changes, ..Entries::default() })
    }

    /// Moves the readings along with a trial that was renamed meanwhile. Refuses readings of one
    /// that was struck, if another trial got its name.
    fn follow(&self, readings: &mut [Reading], now: &Book) -> Result<(), BookError> {
        let Some(key) = &self.key else { return Ok(()) };
        match (now.trial_of_key(key), readings.first()) {
            (Some(trial), _) => {
                readings.iter_mut().for_each(|reading| reading.trial = trial.name.clone());
                Ok(())
            }
            (None, Some(first)) if now.trials().iter().any(|it| it.name == first.trial) => {
                Err(BookError::Clash(format!(
                    "trial '{}' was struck meanwhile, and another trial has its name now; \
                     nothing was written to that one",
                    first.trial
                )))
            }
            (None, _) => Ok(()),
        }
    }

    fn is_completed(&self, readings: &[Reading]) -> bool {
        readings.iter().any(|reading| self.open.at(&reading.place).is_some())
    }

    /// What was recorded. Says so if the place numbers differ from those shown while measuring.
    fn recorded_line(&self, written: &[Reading]) -> String {
        let places: Vec<&str> = written.iter().map(|reading| reading.place.as_str()).collect();
        let [Some(first), Some(shown)] = [written.first(), self.readings.first()] else {
            return String::new();
        };
        let (trial, shown) = (first.trial.as_str(), &shown.place);
        let what = readings_line(written.len(), trial, first.state, &places);
        if self.is_completed(written) {
            return format!("completed {what}");
        }
        if let Some(old) = self.readings.first().filter(|shown| shown.trial != first.trial) {
            return format!("recorded {what} ({} is {trial} now)", old.trial);
        }
        if self.by_flags || *shown == first.place {
            return format!("recorded {what}");
        }
        format!("recorded {what} (shown as {shown} onward; those numbers were taken meanwhile)")
    }
}

fn take_back(readings: &[Reading]) -> String {
    let ids: Vec<String> = readings.iter().map(|reading| quoted(&reading_id(reading))).collect();
    format!("strike reading {}", ids.join(" "))
}

/// Shifts numbered readings up if a place of theirs was taken meanwhile. Gaps between them stay,
/// since those places were left out.
fn renumber(readings: &mut [Reading], now: &Book) {
    let is_taken = |own: &Reading| {
        readings_of(now, &own.trial, own.state).any(|reading| reading.place == own.place)
    };
    if !readings.iter().any(is_taken) {
        return;
    }
    let number = |place: &Place| place.as_str().parse::<u32>().ok();
    let Some(first) = readings.first() else { return };
    let free = now.next_place(&first.trial, first.state);
    let Some(from) = readings.iter().filter_map(|reading| number(&reading.place)).min() else {
        return;
    };
    let up = free.saturating_sub(from);
    for reading in readings {
        let moved = number(&reading.place).map(|number| number.saturating_add(up).to_string());
        if let Some(place) = moved.and_then(|number| number.parse().ok()) {
            reading.place = place;
        }
    }
}
