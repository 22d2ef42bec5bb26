//! `strike`: an entry that was a mistake.

use crate::book::{Book, Entries, EntryKind, Strike, plain_id, reading_id};
use crate::jobs::entries::command_reason::reason;
use crate::jobs::entries::text::struck_line;
use crate::terminal::exit::ExitStatus;
use crate::terminal::prompt::{Field, Words, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use crate::terminal::values::{ValueError, word};
use crate::trade::Reading;
use crate::units::shown_whole;

/// Strike entries that were a mistake: they stay in their files but no longer count
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook strike reading T1/sewn/2 --reason 'not zeroed'
  swellbook strike reading T1/knocked --reason 'too early'
  swellbook strike trial T1 --reason 'the wrong thread'

The id of a reading is trial/state/place; trial/state means all readings of that trial in that state. That of a second forecast of one name is NAME/2. If a name \
contains a slash or a backslash and the id is ambiguous, write a backslash before it. Striking a \
trial also strikes its readings.")]
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
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let mut book = session.open_book()?;
    let kind: EntryKind = by_flag("KIND", &args.kind, word)?;
    let asking =
        session.asking(&[("ID", !args.ids.is_empty()), ("--reason", args.reason.is_some())])?;
    let ids = ids_of(&args, session, &book, (kind, &names(&book, kind)))?;
    let reason = reason(args.reason.as_deref(), session, asking)?;
    let date = session.today();
    let strike = |id: &String| Strike { what: kind, id: id.clone(), reason: reason.clone(), date };
    let strikes = ids.iter().map(strike).collect();
    session.append(&mut book, Entries { strikes, ..Entries::default() })?;
    session.says_kept(&struck_line(kind, &ids, &reason))?;
    Ok(ExitStatus::Done)
}

/// The entries of a kind that can be struck.
fn names(book: &Book, kind: EntryKind) -> Vec<String> {
    match kind {
        EntryKind::Paper => book.papers().iter().map(|paper| paper.name.to_string()).collect(),
        EntryKind::Thread => book.threads().iter().map(|thread| thread.name.to_string()).collect(),
        EntryKind::Target => book.targets().iter().map(|target| target.name.to_string()).collect(),
        EntryKind::Trial => book.trials().iter().map(|trial| trial.name.to_string()).collect(),
        EntryKind::Reading => book.readings().iter().map(reading_id).collect(),
        EntryKind::Forecast => book.forecast_ids().to_vec(),
        EntryKind::Plan => book.plans().iter().map(|plan| plan.name.to_string()).collect(),
    }
}

fn ids_of(
    args: &Args,
    session: &mut Session<'_>,
    book: &Book,
    (kind, names): (EntryKind, &[String]),
) -> Result<Vec<String>, CliError> {
    let listed: Vec<&str> = names.iter().map(String::as_str).collect();
    let field = Field { flag: "ID", question: kind.word(), default: None };
    if args.ids.is_empty() {
        return Ok(vec![session.choose(None, field, (kind.word(), &listed))?]);
    }
    let mut ids: Vec<String> = Vec::new();
    for typed in &args.ids {
        let exact = by_flag("ID", typed, |typed| exact(typed, (kind, names)))?;
        let of_set = match kind {
            EntryKind::Reading if !names.contains(&exact) => of_set(&exact, book),
            _ => Vec::new(),
        };
        if of_set.is_empty() {
            let chosen = session.choose(Some(&exact), field, (kind.word(), &listed));
            ids.push(chosen.map_err(|error| about_quotes(error, args.ids.len()))?);
        } else {
            ids.extend(of_set);
        }
    }
    Ok(ids)
}

/// Of several ids one may be a part of a name or of the reason.
fn about_quotes(error: CliError, ids: usize) -> CliError {
    match error {
        CliError::Value { flag, message } if ids > 1 && !message.contains("quotes") => {
            let message = format!("{message} (a name or a reason with a space needs quotes)");
            CliError::Value { flag, message }
        }
        error => error,
    }
}

/// The readings of a trial in one state, as `T1/knocked`; or one of them, with its state in other
/// words than in its id, as `T1/knocked down/2`.
fn of_set(typed: &str, book: &Book) -> Vec<String> {
    let is_meant = |reading: &&Reading| {
        let behind = typed.strip_prefix(reading.trial.as_str());
        let Some(state) = behind.and_then(|rest| rest.strip_prefix('/')) else { return false };
        let of_place = state.strip_suffix(reading.place.as_str());
        let one = of_place.and_then(|rest| rest.strip_suffix('/'));
        [Some(state), one].into_iter().flatten().any(|word| word.parse() == Ok(reading.state))
    };
    book.readings().iter().filter(is_meant).map(reading_id).collect()
}

/// The id that is meant by one typed without the backslashes inside names, where one entry alone
/// has it; otherwise the text as it was typed.
fn exact(typed: &str, (kind, names): (EntryKind, &[String])) -> Result<String, ValueError> {
    let typed = typed.trim();
    let of_parts = matches!(kind, EntryKind::Reading | EntryKind::Forecast);
    if !of_parts || names.iter().any(|id| id == typed) {
        return Ok(typed.to_owned());
    }
    let named: Vec<&String> = names.iter().filter(|id| plain_id(id) == typed).collect();
    match named[..] {
        [] => Ok(typed.to_owned()),
        [id] => Ok(id.clone()),
        _ => {
            let ids: Vec<String> = named.into_iter().map(|id| quoted(id)).collect();
            let typed = shown_whole(typed);
            Err(ValueError::Said(format!(
                "'{typed}' can mean several entries; type one of {}",
                ids.join(", ")
            )))
        }
    }
}
