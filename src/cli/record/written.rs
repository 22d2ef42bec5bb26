//! Readings that were taken, into the book.

use crate::book::{Book, BookError, Entries, Repetition, reading_id};
use crate::cli::prompt::Field;
use crate::cli::session::quoted;
use crate::cli::values::yes;
use crate::cli::{CliError, ExitStatus, Outcome, Session};
use crate::show;
use crate::trade::{Place, Reading};

/// Readings of one trial in one state.
pub(super) struct Taken {
    pub readings: Vec<Reading>,
    /// Whether they came by flags, where they can be had again.
    pub by_flags: bool,
    /// Whether their places were named. Numbers are those that are free when they are written.
    pub named: bool,
}

/// Writes the readings and says so. Those that did not come by flags are shown when they cannot be
/// written: an hour of measuring is not lost to a full disk.
pub(super) fn write(taken: Taken, session: &mut Session<'_>, book: &mut Book) -> Outcome {
    if taken.readings.is_empty() {
        session.tell("no reading was taken; nothing was written");
        return Ok(ExitStatus::Done);
    }
    let written = confirm(session, book, &taken.readings)
        .and_then(|()| session.append_with(book, |now| taken.entries(now)));
    let written = written.inspect_err(|error| {
        if !taken.by_flags {
            let undecided = matches!(error, CliError::Book(error) if error.is_undecided());
            show_unwritten(session, &taken.readings, undecided);
        }
    })?;
    taken.say(&written.readings, session, book)?;
    Ok(ExitStatus::Done)
}

/// Shows readings that are lost otherwise.
pub(super) fn show_unwritten(session: &mut Session<'_>, readings: &[Reading], undecided: bool) {
    if !readings.is_empty() {
        session.tell(&show::unwritten_text(readings, undecided));
    }
}

/// Asks a person before readings that are there already are recorded a second time. Where nobody
/// can be asked they are written, which is told afterwards.
fn confirm(session: &mut Session<'_>, book: &Book, readings: &[Reading]) -> Result<(), CliError> {
    let Some(found) = book.repeated(readings).filter(|_| session.can_ask()) else {
        return Ok(());
    };
    session.tell(&repeated_line(readings, &found));
    let question = "record them a second time: yes or no";
    let field = Field { flag: "--no-input", question, default: Some("no") };
    if session.field(None, field, true, yes)? { Ok(()) } else { Err(CliError::Declined) }
}

/// `T1 as sewn: places 3, 4 repeat places 1, 2 reading for reading`.
fn repeated_line(readings: &[Reading], found: &Repetition) -> String {
    let of = readings.first().map(|first| format!("{} {}: ", first.trial, first.state.phrase()));
    format!("{}{found}", of.unwrap_or_default())
}

impl Taken {
    /// The readings, at places that are free in the book as it is `now`.
    fn entries(&self, now: &Book) -> Result<Entries, BookError> {
        let mut readings = self.readings.clone();
        if !self.named {
            renumber(&mut readings, now);
        }
        Ok(Entries { readings, ..Entries::default() })
    }

    fn say(
        &self,
        written: &[Reading],
        session: &mut Session<'_>,
        book: &Book,
    ) -> Result<(), CliError> {
        let Some(first) = written.first() else { return Ok(()) };
        let places: Vec<&str> = written.iter().map(|reading| reading.place.as_str()).collect();
        let what = show::readings_line(written.len(), first.trial.as_str(), first.state, &places);
        let shown = self.readings.first().map(|reading| &reading.place);
        let moved = match shown.filter(|place| !self.by_flags && **place != first.place) {
            Some(place) => {
                format!(" (shown as {place} onward; those numbers were taken meanwhile)")
            }
            None => String::new(),
        };
        let ids: Vec<String> = written.iter().map(|reading| quoted(&reading_id(reading))).collect();
        let take_back = format!("strike reading {}", ids.join(" "));
        if let Some(found) = book.repeated(written).filter(|_| !session.can_ask()) {
            let repeated = repeated_line(written, &found);
            let note = format!("note: {repeated}; were they recorded twice?");
            session.tell(&session.change_line(&note, &take_back));
        }
        session.changed(&format!("recorded {what}{moved}"), &take_back)
    }
}

/// Moves numbered readings up where their numbers were taken meanwhile; places that were left out
/// between them stay left out.
fn renumber(readings: &mut [Reading], now: &Book) {
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
