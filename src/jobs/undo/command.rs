//! `undo`: undoes the last change, whichever command, page or import made it.

use super::answer::{changes, noted};
use super::text::changes_text;
use crate::book::{Back, BookError, Change, Turn, note};
use crate::jobs::entries::command_bereft::Bereft;
use crate::terminal::json::document;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::sending::back_words;
use crate::terminal::session::Session;

/// Undo the last change to the book
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook undo
  swellbook undo --redo
  swellbook undo --list

Repeat it to go back step by step. What the change added is struck, and what it struck is added again, \
so nothing is lost from the files. It works whichever command, import or page made the change.")]
pub(crate) struct Args {
    /// Redo what the last undo undid, if nothing was written since
    #[arg(long, conflicts_with = "list")]
    redo: bool,
    /// List the last changes, and change nothing
    #[arg(long)]
    list: bool,
    /// With --list: print one JSON object instead of text
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    if args.json && !args.list {
        let message =
            "--json prints the list of changes, so it needs --list; nothing was undone or redone";
        return Err(CliError::Usage(message.to_owned()));
    }
    if !args.list {
        return turned(if args.redo { Turn::Redo } else { Turn::Undo }, None, session);
    }
    let all = changes(&session.open_book()?);
    session.say(&if args.json { document(&all) } else { changes_text(&all) })
}

/// Undoes the last change, or redoes one. If `meant` is given, refuses any change other than the
/// one at that index in the list of changes.
pub(crate) fn turned(turn: Turn, meant: Option<usize>, session: &mut Session<'_>) -> Outcome {
    let (mut book, today, mut said) = (session.open_book()?, session.today(), String::new());
    let before = Bereft::of(&book);
    let written = session.append_with(&mut book, |now| {
        let Back { place, change, mut entries } = now.back(turn, today)?;
        if meant.is_some_and(|meant| meant != place) {
            let message = "another change was made meanwhile; look at the last change again";
            return Err(BookError::Clash(message.to_owned()));
        }
        said = noted(turn, &change);
        let words = note(&said).unwrap_or_else(|_| "undid or redid a change".to_owned());
        entries.changes.push(Change::new(words, today).turning(turn));
        Ok(entries)
    })?;
    before.tell_since(&book, session);
    // What a redone change did is what it says.
    let (line, word, back) = match turn {
        Turn::Undo => (format!("{said}; {}", back_words(&written)), "redo", "undo --redo"),
        Turn::Redo => (said, "undo", "undo"),
    };
    let line = match session.sending {
        Some(_) => line,
        None => format!("{line} (to {word}: {})", session.command(back)),
    };
    session.says_kept(&line)
}
