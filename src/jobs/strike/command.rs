//! `strike`: strikes entries that were a mistake.

use crate::book::{Book, Entries, EntryKind, Strike, entry_named, in_id, reading_id};
use crate::jobs::entries::answer_struck::{are_along_as_seen, is_as_seen, readings_along};
use crate::jobs::entries::command_bereft::Bereft;
use crate::jobs::entries::command_ids::{Listed, ids_of, live_ids, of_set};
use crate::jobs::entries::command_reason::reason;
use crate::jobs::entries::text::struck_line;
use crate::terminal::prompt::{Words, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use crate::terminal::values::word;
use crate::units::shown_whole;

/// Strike entries that were a mistake: they stay in their files but no longer count
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook strike reading T1/sewn/2 --reason 'not zeroed'
  swellbook strike reading T1/knocked --reason 'too early'
  swellbook strike trial T1 --reason 'the wrong thread'

The id of a reading is trial/state/place; trial/state means all readings of that trial in that \
state. The second forecast under a name has the id NAME/2. If a name contains a slash or a backslash \
and the id is ambiguous, write a backslash before it. Striking a trial also strikes its readings.")]
pub(crate) struct Args {
    /// What to strike
    #[arg(value_name = "KIND", value_parser = Words(EntryKind::EACH))]
    kind: String,
    /// Its id; several are struck together
    #[arg(value_name = "ID")]
    ids: Vec<String>,
    /// Why it is struck
    #[arg(long)]
    reason: Option<String>,
    /// How often each had been struck when a page showed it
    #[arg(skip)]
    pub(super) seen: Vec<usize>,
    /// The readings that a page of trials counted
    #[arg(skip)]
    pub(super) along: Option<Vec<String>>,
}

/// Refuses the name of a trial that is given for the id of a reading.
fn refuse_trial(
    typed: &str,
    book: &Book,
    session: &Session<'_>,
    ids: &[String],
) -> Result<(), CliError> {
    let is_reading = ids.iter().any(|id| id == typed) || !of_set(typed, book).is_empty();
    let Some(trial) = entry_named(book.trials(), typed).filter(|_| !is_reading) else {
        return Ok(());
    };
    let first = book.readings().iter().find(|reading| reading.trial == trial.name);
    let readings = match first {
        None => "it has no readings yet".to_owned(),
        Some(first) => {
            let state = format!("{}/{}", in_id(&trial.name), first.state.word());
            let [one, state] = [reading_id(first), state].map(|id| quoted(&id));
            format!("its readings are named {one} and so on, those of one state {state}")
        }
    };
    let strike = session.command(&format!("strike trial {}", quoted(typed)));
    let found = shown_whole(typed);
    let message = format!("'{found}' is a trial; {readings}; to strike the whole trial: {strike}");
    Err(CliError::value("ID", message))
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let kind: EntryKind = by_flag("KIND", &args.kind, word)?;
    let asking =
        session.asking(&[("ID", !args.ids.is_empty()), ("--reason", args.reason.is_some())])?;
    let names = live_ids(&book, kind);
    if kind == EntryKind::Reading {
        args.ids.iter().try_for_each(|typed| refuse_trial(typed.trim(), &book, session, &names))?;
    }
    let what = Listed { kind, words: kind.word(), names: &names };
    let ids = ids_of(&args.ids, session, &what, |typed| of_set(typed, &book))?;
    // Others may measure a trial while the reason is typed.
    let counted = || args.along.unwrap_or_else(|| readings_along(&book, &ids));
    let along = (kind == EntryKind::Trial).then(counted);
    let reason = reason(args.reason.as_deref(), session, asking)?;
    let date = session.today();
    let strike = |id: &String| Strike { what: kind, id: id.clone(), reason: reason.clone(), date };
    let strikes = ids.iter().map(strike).collect();
    let before = Bereft::of(&book);
    session.append_with(&mut book, |now| {
        let mut seen = args.ids.iter().zip(args.seen);
        seen.try_for_each(|(id, seen)| is_as_seen(now, kind, id, seen))?;
        along.iter().try_for_each(|along| are_along_as_seen(now, &ids, along))?;
        Ok(Entries { strikes, ..Entries::default() })
    })?;
    // Suggests `restore`, because `undo` works only for the last change.
    let quoted: Vec<String> = ids.iter().map(|id| quoted(id)).collect();
    let back = session.command(&format!("restore {kind} {}", quoted.join(" ")));
    let undo = if session.sending.is_none() { format!("; to undo: {back}") } else { String::new() };
    before.tell_since(&book, session);
    session.says_kept(&format!("{}{undo})", struck_line(kind, &ids, &reason)))
}
