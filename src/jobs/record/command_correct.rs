//! An entry struck and written again in one step, all of it or nothing.

use super::answer_correct::{Wrong, corrected_reading, corrected_trial};
use super::command_trial::{Args, trial_of};
use crate::book::{Book, Entries, EntryKind};
use crate::jobs::doubt::command::listed;
use crate::jobs::entries::command_reason::reason;
use crate::jobs::entries::text::{corrected_line, reading_line, trial_line};
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::terminal::values::{ValueError, length, optional};
use crate::trade::{Edge, Reading, ReadingError, Trial, ranges};
use crate::units::Millimetres;

/// What is corrected, and why.
pub(crate) struct Correction<'f> {
    pub id: &'f str,
    /// How often it had been struck when somebody began to correct it.
    pub seen: Option<usize>,
    pub reason: Option<&'f str>,
}

impl Correction<'_> {
    fn wrong(&self, kind: EntryKind, session: &mut Session<'_>) -> Result<Wrong, CliError> {
        let reason = reason(self.reason, session, false)?;
        let Self { id, seen, .. } = *self;
        Ok(Wrong { kind, id: id.to_owned(), seen, reason, date: session.today() })
    }
}

/// Writes a trial again, and its readings with it. Returns what looks wrong in it, where nobody is
/// sure of that; then nothing is written.
///
/// # Errors
/// [`CliError`].
pub(crate) fn correct_trial(
    args: &Args,
    (of, is_sure): (&Correction<'_>, bool),
    session: &mut Session<'_>,
) -> Result<Vec<String>, CliError> {
    let mut book = session.open_book()?;
    let wrong = of.wrong(EntryKind::Trial, session)?;
    let without = book.without(&[wrong.strike()]);
    let new: Trial = trial_of(args, session, &without)?;
    let trials = Entries { trials: vec![new.clone()], ..Entries::default() };
    let asked = if is_sure { Vec::new() } else { listed(session, &without, &trials) };
    if !asked.is_empty() {
        return Ok(asked);
    }
    let line = trial_line(&new, book.config());
    let written = session.append_with(&mut book, |now| corrected_trial(now, &wrong, &new))?;
    let count = written.readings.len();
    session.says_kept(&corrected_line(EntryKind::Trial, &line, (count, &wrong.reason)))?;
    Ok(asked)
}

/// Both edges of a reading, as they are typed.
pub(crate) struct Edges<'f> {
    pub spine: Option<&'f str>,
    pub fore_edge: Option<&'f str>,
}

/// Writes a reading again, with other values. Returns what looks wrong in it, as
/// [`correct_trial`] does.
///
/// # Errors
/// [`CliError`].
pub(crate) fn correct_reading(
    edges: &Edges<'_>,
    (old, of, is_sure): (&Reading, &Correction<'_>, bool),
    session: &mut Session<'_>,
) -> Result<Vec<String>, CliError> {
    let mut book = session.open_book()?;
    let wrong = of.wrong(EntryKind::Reading, session)?;
    let new = reading_of(edges, old, &book)?;
    let readings = Entries { readings: vec![new.clone()], ..Entries::default() };
    let asked = match is_sure {
        true => Vec::new(),
        false => listed(session, &book.without(&[wrong.strike()]), &readings),
    };
    if !asked.is_empty() {
        return Ok(asked);
    }
    let values = reading_line(&new, book.config());
    let line = format!("of {}, {}: {values}", new.trial, new.state.phrase());
    session.append_with(&mut book, |now| corrected_reading(now, &wrong, &new))?;
    session.says_kept(&corrected_line(EntryKind::Reading, &line, (0, &wrong.reason)))?;
    Ok(asked)
}

/// The reading with what was typed. An edge that was left as it is keeps every digit.
fn reading_of(edges: &Edges<'_>, old: &Reading, book: &Book) -> Result<Reading, CliError> {
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
    let spine = edge(Edge::Spine, "--spine", edges.spine)?;
    let fore_edge = edge(Edge::ForeEdge, "--fore-edge", edges.fore_edge)?;
    let at = (old.trial.clone(), old.state, old.place.clone());
    let mut new = Reading::new(at, spine, fore_edge).map_err(|error| CliError::Value {
        flag: "--spine, --fore-edge",
        message: error.in_unit(unit),
    })?;
    check(&new, book)?;
    (new.taken, new.note) = (old.taken.clone(), old.note.clone());
    Ok(new)
}

/// What is filled in has six decimals of its unit.
const UNCHANGED_MM: f64 = 1e-4;

/// Refuses what the block of the reading cannot measure, at the edge that is wrong.
fn check(new: &Reading, book: &Book) -> Result<(), CliError> {
    let Some(trial) = book.trials().iter().find(|trial| trial.name == new.trial) else {
        return Ok(());
    };
    let paper = book.papers().iter().find(|paper| paper.name == trial.paper);
    let thread = book.threads().iter().find(|thread| thread.name == trial.thread);
    let Some((paper, thread)) = paper.zip(thread) else { return Ok(()) };
    new.check_against(trial.sewing, paper, thread).map_err(|error| {
        let flag = match &error {
            ReadingError::Implausible { edge: Edge::ForeEdge, .. } => "--fore-edge",
            _ => "--spine",
        };
        CliError::Value { flag, message: error.in_unit(book.config().unit) }
    })
}
