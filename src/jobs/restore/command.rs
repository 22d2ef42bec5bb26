//! `restore`: brings back a struck entry, or makes a book again from its backup.

use crate::book::{Change, EntryKind, note};
use crate::jobs::backup::command_restore::restored;
use crate::jobs::doubt::command::confirm;
use crate::jobs::entries::command_ids::{Listed, ids_of};
use crate::terminal::exit::ExitStatus;
use crate::terminal::prompt::{Words, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::sending::back_words;
use crate::terminal::session::{Session, quoted};
use crate::terminal::values::word;
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
    let kind: EntryKind = match &args.kind {
        Some(kind) => by_flag("KIND", kind, word)?,
        None => return Err(CliError::Missing { flags: vec!["KIND"] }),
    };
    session.asking(&[("ID", !args.ids.is_empty())])?;
    let names = book.restorable(kind);
    let kind_words = format!("struck {kind}");
    let what = Listed { kind, words: &kind_words, names: &names };
    if names.is_empty() {
        let message = match args.ids.first() {
            Some(id) => {
                format!("no struck {kind} '{}'; no {kind} of this book is struck", shown(id))
            }
            None => format!("no {kind} of this book is struck, so none can be brought back"),
        };
        return Err(CliError::Value { flag: "ID", message });
    }
    let ids = ids_of(&args.ids, session, &what, || book.restorable_readings())?;
    let today = session.today();
    // A trial that lives on under another name would count twice.
    let notes = match kind {
        EntryKind::Trial => {
            Some(confirm(session, &book, &book.restored(kind, &ids)?, &BTreeSet::new())?)
        }
        _ => None,
    };
    let written = session.append_with(&mut book, |now| {
        let mut entries = now.restored(kind, &ids)?;
        let words =
            note(&back_words(&entries)).unwrap_or_else(|_| format!("brought back a {kind}"));
        entries.changes.push(Change::new(words, today));
        Ok(entries)
    })?;
    notes.iter().for_each(|notes| notes.tell(session));
    let line = back_words(&written);
    let line = match session.sending {
        Some(_) => line,
        None => format!("{line} (to undo: {})", session.command("undo")),
    };
    session.says_kept(&line)?;
    Ok(ExitStatus::Done)
}
