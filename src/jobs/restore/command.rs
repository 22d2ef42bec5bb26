//! `restore`: brings back a struck entry, or makes a book again from its backup.

use crate::book::{Book, Change, EntryKind, StruckReading, note, plain_id, reading_id};
use crate::jobs::backup::command_restore::restored;
use crate::jobs::doubt::command::confirm;
use crate::jobs::entries::answer_struck::is_as_seen;
use crate::jobs::entries::command_bereft::bereft_notes;
use crate::jobs::entries::command_ids::{Listed, ids_of, is_meant, live_ids, of_set};
use crate::terminal::prompt::{Field, Words};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::sending::back_words;
use crate::terminal::session::{Session, quoted};
use crate::trade::Reading;
use crate::units::shown;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Bring back an entry that was struck, or make a book again from its backup
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook restore trial T1
  swellbook restore reading T1/sewn/2
  swellbook restore reading T1/knocked
  swellbook restore --from bench.tar bench-again

The entry is added again as it was; a trial comes back with the readings that were struck with \
it. To undo the last change, whatever it was, use `swellbook undo`.")]
#[command(after_long_help = "\
The whole backup is checked before anything is written. A file that was damaged or cut off is \
refused.")]
pub(crate) struct Args {
    /// What to bring back
    #[arg(value_name = "KIND", value_parser = Words(EntryKind::EACH))]
    kind: Option<String>,
    /// Its id, as it was struck; several are brought back together
    #[arg(value_name = "ID")]
    ids: Vec<String>,
    /// Make a book again from this backup, in a folder that is new or empty; - reads standard input
    #[arg(long, num_args = 1..=2, value_names = ["FILE", "DIR"], conflicts_with_all = ["kind", "ids"])]
    from: Vec<PathBuf>,
    /// How often each had been struck when a page showed it
    #[arg(skip)]
    pub(super) seen: Vec<usize>,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    match &args.from[..] {
        [file, dir] => return restored(file, dir, session),
        [file] => {
            let file = quoted(&file.to_string_lossy());
            let message = format!(
                "the folder for the book is missing; name one that is new or empty: swellbook \
                 restore --from {file} DIR"
            );
            return Err(CliError::Value { flag: "--from", message });
        }
        _ => {}
    }
    let mut book = session.open_book()?;
    session.asking(&[("KIND", args.kind.is_some()), ("ID", !args.ids.is_empty())])?;
    let field = Field { flag: "KIND", question: "what to bring back", default: None };
    let kind = session.choose_word(args.kind.as_deref(), field, EntryKind::EACH)?;
    let ids = chosen(kind, &args.ids, &book, session)?;
    let today = session.today();
    // A trial that lives on under another name would count twice.
    let notes = match kind {
        EntryKind::Trial => {
            Some(confirm(session, &book, &book.restored(kind, &ids)?, &BTreeSet::new())?)
        }
        _ => None,
    };
    let written = session.append_with(&mut book, |now| {
        let mut seen = args.ids.iter().zip(args.seen);
        seen.try_for_each(|(id, seen)| is_as_seen(now, kind, id, seen))?;
        let mut entries = now.restored(kind, &ids)?;
        let words = note(&back_words(&entries))
            .unwrap_or_else(|_| format!("{} a {kind}", Change::BROUGHT_BACK));
        entries.changes.push(Change::new(words, today));
        Ok(entries)
    })?;
    notes.iter().for_each(|notes| notes.tell(session));
    bereft_notes(&book, |plan| kind == EntryKind::Plan && ids.iter().any(|id| id == plan))
        .iter()
        .for_each(|note| session.tell(note));
    let line = back_words(&written);
    let line = match session.sending {
        Some(_) => line,
        None => format!("{line} (to undo: {})", session.command("undo")),
    };
    session.says_kept(&line)
}

fn chosen(
    kind: EntryKind,
    typed: &[String],
    book: &Book,
    session: &mut Session<'_>,
) -> Result<Vec<String>, CliError> {
    let value = |message| CliError::Value { flag: "ID", message };
    let names = book.restorable(kind);
    let open = match kind {
        EntryKind::Reading => book.restorable_readings(),
        _ => Vec::new(),
    };
    let is_known = |id: &&String| names.contains(id) || !struck_last(id, &open, book).is_empty();
    let unknown = typed.iter().find(|id| !is_known(id));
    if let Some(why) = unknown.and_then(|id| why_not(kind, id.trim(), book, session)) {
        return Err(value(why));
    }
    if names.is_empty() {
        let none = format!("no {kind} of this book is struck that could be brought back");
        return Err(value(match typed.first() {
            Some(id) => format!("no struck {kind} '{}'; {none}", shown(id)),
            None => none,
        }));
    }
    let words = format!("struck {kind}");
    let what = Listed { kind, words: &words, names: &names };
    let ids = ids_of(typed, session, &what, |id| struck_last(id, &open, book))?;
    let is_left = |it: &&StruckReading<'_>| {
        let of = |id: &String| it.now().is_some_and(|now| is_meant(id, &now));
        let mut sets = typed.iter().filter(|id| !names.contains(id));
        sets.any(of) && !ids.contains(&reading_id(it.reading))
    };
    for StruckReading { reading, strike, .. } in open.iter().filter(is_left) {
        let why = strike.map_or("", |place| &*book.struck()[place].reason);
        session.tell(&format!(
            "{} stays struck, because it was struck separately: {why}",
            plain_id(&reading_id(reading))
        ));
    }
    Ok(ids)
}

/// The readings that a looser id means, by the present or the earlier name of the trial: those that
/// were struck with the last of them.
fn struck_last(typed: &str, open: &[StruckReading<'_>], book: &Book) -> Vec<String> {
    let now = |it: &&StruckReading<'_>| it.now().is_some_and(|now| is_meant(typed, &now));
    let mut meant: Vec<&StruckReading<'_>> = open.iter().filter(now).collect();
    if meant.is_empty() {
        let struck = book.struck_readings().into_iter();
        let earlier = struck.filter(|it| is_meant(typed, it.reading));
        let earlier: Vec<String> = earlier.filter_map(|it| Some(reading_id(&it.now()?))).collect();
        let is_it = |now: Reading| earlier.contains(&reading_id(&now));
        meant = open.iter().filter(|it| it.now().is_some_and(is_it)).collect();
    }
    let last = meant.iter().filter_map(|it| it.strike).max().map(|place| &book.struck()[place]);
    let is_of_it = |it: &&&StruckReading<'_>| {
        let own = it.strike.map(|place| &book.struck()[place]);
        own.map(|it| (it.date, &it.reason)) == last.map(|it| (it.date, &it.reason))
    };
    meant.iter().filter(is_of_it).map(|it| reading_id(it.reading)).collect()
}

/// Why an entry is not among the struck ones, if that is known.
fn why_not(kind: EntryKind, typed: &str, book: &Book, session: &Session<'_>) -> Option<String> {
    let id = shown(typed);
    if let Some(why) = why_live(kind, typed, book, session) {
        return Some(why);
    }
    if let Some(now) = book.name_now(kind, typed) {
        let back = format!("correct {kind} {} --name {}", quoted(now.as_str()), quoted(typed));
        return Some(format!(
            "{kind} '{id}' is in the book as '{now}'; to give it its old name again: {}",
            session.command(&back)
        ));
    }
    if let Some(last) = book.last_name(kind, typed) {
        let back = session.command(&format!("restore {kind} {}", quoted(last)));
        return Some(format!(
            "{kind} '{id}' was called '{last}' when it was struck, and comes back under that name: \
             {back}"
        ));
    }
    match kind {
        EntryKind::Reading => why_no_reading(typed, book, session),
        _ => None,
    }
}

/// Why an entry that counts is not among the struck ones; for readings also why all of a state are
/// not.
fn why_live(kind: EntryKind, typed: &str, book: &Book, session: &Session<'_>) -> Option<String> {
    let mut live = live_ids(book, kind);
    live.retain(|live| live == typed);
    let is_one = !live.is_empty();
    if !is_one && kind == EntryKind::Reading {
        live = of_set(typed, book);
    }
    let id = shown(typed);
    let (what, is, version) = match live.len() {
        0 => return None,
        1 => (format!("{kind} '{id}'"), "is", "an earlier version of it is"),
        _ => (format!("the readings '{id}'"), "are", "earlier versions of them are"),
    };
    if live.iter().all(|live| book.times_struck(kind, live) == 0) {
        return is_one.then(|| format!("{what} is not struck"));
    }
    // Striking the newer version too would bring back that one.
    let instead = match kind {
        EntryKind::Reading => format!(
            "; to give a reading its earlier values again, correct it: {} lists them",
            session.command("show --struck")
        ),
        _ => String::new(),
    };
    Some(format!("{what} {is} in the book; only {version} struck{instead}"))
}

/// Why a reading is not among the struck ones.
fn why_no_reading(typed: &str, book: &Book, session: &Session<'_>) -> Option<String> {
    let (id, moved) = (shown(typed), book.moved_readings());
    let is_it = |it: &Reading| is_meant(typed, it) || plain_id(&reading_id(it)) == plain_id(typed);
    let struck = book.struck_readings();
    let mut now = struck.iter().filter_map(|it| Some((it.now()?, *moved.get(&it.key()?)?, it)));
    if let Some((before, now, _)) = now.find(|(now, _, it)| is_it(now) || is_it(it.reading)) {
        let (is, place) = (reading_id(now), quoted(before.place.as_str()));
        let back = session.command(&format!("correct reading {} --place {place}", quoted(&is)));
        return Some(format!(
            "reading '{}' is in the book as '{}'; to give its place the old name again: {back}",
            plain_id(&reading_id(&before)),
            plain_id(&is)
        ));
    }
    let found = struck.iter().find(|it| it.trial.is_none() && is_it(it.reading))?;
    let trial = found.reading.trial.as_str();
    if book.trials().iter().any(|live| live.name.as_str() == trial) {
        return Some(format!("reading '{id}' is of another trial '{trial}', which is struck"));
    }
    let now = book.name_now(EntryKind::Trial, trial).filter(|_| found.strike.is_none());
    Some(match now {
        Some(now) => format!(
            "reading '{id}' was added to readings.csv under a name that trial '{now}' no longer has; \
             write '{now}' as its trial there"
        ),
        None => {
            let first = session.command(&format!("restore trial {}", quoted(trial)));
            format!(
                "no struck reading '{id}' can be brought back: its trial is struck; first: {first}"
            )
        }
    })
}
