//! `correct`: changes the values of an entry.

use super::command_entry::{Correction, Doubts, Edges, correct, reading_of};
use crate::book::{Book, Entries, EntryKind, note, reading_id};
use crate::jobs::entries::command_ids::{Listed, ids_of, live_ids, of_set};
use crate::jobs::record::command_named::exact;
use crate::jobs::record::{command_paper, command_target, command_thread, command_trial};
use crate::terminal::exit::ExitStatus;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::trade::{Edge, Name, Reading};
use clap::{Arg, Subcommand};

/// Correct an entry: give only what is wrong, the rest stays as it is
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook correct trial --help

The wrong entry is struck and the right one is added, in one step. The readings of a trial stay with it, \
and so do the trials of a paper or a thread.")]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    Paper(Box<PaperArgs>),
    Thread(Box<ThreadArgs>),
    Target(Box<TargetArgs>),
    Trial(Box<TrialArgs>),
    Reading(Box<ReadingArgs>),
}

/// Which entry is corrected, and why.
#[derive(Debug, clap::Args)]
struct Which {
    /// Its name in the book
    #[arg(value_name = "NAME")]
    id: Option<String>,
    /// Another name for it
    #[arg(long = "name", value_name = "NAME")]
    rename: Option<String>,
    /// What was wrong [default: corrected]
    #[arg(long)]
    reason: Option<String>,
}

/// Correct a paper
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook correct paper 'bond 80' --caliper 0.105mm
  swellbook correct paper 'bond 80' --name 'bond 90'

What you leave out stays as it is.")]
#[command(mut_args = as_it_is)]
struct PaperArgs {
    #[command(flatten)]
    which: Which,
    #[command(flatten)]
    values: command_paper::Values,
}

/// Correct a thread
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook correct thread 'linen 25' \\
    --wraps 20 --over 10.8mm

What you leave out stays as it is.")]
#[command(mut_args = as_it_is)]
struct ThreadArgs {
    #[command(flatten)]
    which: Which,
    #[command(flatten)]
    values: command_thread::Values,
}

/// Correct the swell that a structure needs
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook correct target rounded --high 24

What you leave out stays as it is.")]
struct TargetArgs {
    #[command(flatten)]
    which: Which,
    #[command(flatten)]
    values: command_target::Values,
}

/// Correct a trial; its readings stay with it
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook correct trial T1 --sections 11

What you leave out stays as it is.")]
#[command(mut_args = as_it_is)]
struct TrialArgs {
    #[command(flatten)]
    which: Which,
    #[command(flatten)]
    values: command_trial::Values,
    /// The folds were not boned
    #[arg(long, conflicts_with = "boned")]
    not_boned: bool,
}

/// A value that `correct` is not given stays as it is, so the default of `record` is left out of its
/// help. Only the reason has a default here.
fn as_it_is(arg: Arg) -> Arg {
    let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
    match help.split_once(" [default: ") {
        Some((help, _)) if arg.get_id() != "reason" => arg.help(help.to_owned()),
        _ => arg,
    }
}

/// Correct a reading
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook correct reading T1/sewn/2 --spine 11.05mm

What you leave out stays as it is. An edge given as '' is removed.")]
struct ReadingArgs {
    /// Its id: trial/state/place
    #[arg(value_name = "ID")]
    id: Option<String>,
    /// Thickness at the fold
    #[arg(long, value_name = "LENGTH")]
    spine: Option<String>,
    /// Thickness opposite the fold
    #[arg(long, value_name = "LENGTH")]
    fore_edge: Option<String>,
    /// A note
    #[arg(long)]
    note: Option<String>,
    /// What was wrong [default: corrected]
    #[arg(long)]
    reason: Option<String>,
}

/// The reason if none is given.
const REASON: &str = "corrected";

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    match args.what {
        What::Paper(args) => paper(*args, session),
        What::Thread(args) => thread(*args, session),
        What::Target(args) => target(*args, session),
        What::Trial(args) => trial(*args, session),
        What::Reading(args) => reading(*args, session),
    }?;
    Ok(ExitStatus::Done)
}

/// The id of the one entry that is meant; it must be in the book.
fn id_of(
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
        _ => Err(CliError::Value {
            flag,
            message: format!("this means {} readings; give the place of one too", ids.len()),
        }),
    }
}

impl Which {
    /// Corrects the entry. `new_of` makes the new one from its new name, its old id, and the book
    /// with and without the old one.
    fn correct(
        self,
        kind: EntryKind,
        session: &mut Session<'_>,
        new_of: impl FnOnce(String, &str, &mut Session<'_>, (&Book, &Book)) -> Result<Entries, CliError>,
    ) -> Result<(), CliError> {
        let id = id_of(self.id.as_ref(), kind, "NAME", session)?;
        let name = self.rename.unwrap_or_else(|| id.clone());
        let reason = self.reason.as_deref().or(Some(REASON));
        let of = Correction { id: &id, seen: None, reason };
        correct(kind, &of, Doubts::Asked, session, |session, book, without| {
            new_of(name, &id, session, (book, without))
        })?;
        Ok(())
    }
}

/// The entry with this name, which was chosen from the book.
fn found<'b, T>(all: &'b [T], id: &str, name: fn(&T) -> &Name) -> Result<&'b T, CliError> {
    let found = all.iter().find(|it| name(it).as_str() == id);
    found.ok_or(CliError::Missing { flags: vec!["NAME"] })
}

fn paper(args: PaperArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    args.which.correct(EntryKind::Paper, session, |name, id, session, (book, without)| {
        let old = found(book.papers(), id, |it| &it.name)?;
        command_paper::entries_of(
            &command_paper::Args::of(name, args.values, old),
            session,
            without,
        )
    })
}

fn thread(args: ThreadArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    args.which.correct(EntryKind::Thread, session, |name, id, session, (book, without)| {
        let old = found(book.threads(), id, |it| &it.name)?;
        let args = command_thread::Args::of(name, args.values, old);
        command_thread::entries_of(&args, session, without)
    })
}

fn target(args: TargetArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    args.which.correct(EntryKind::Target, session, |name, id, session, (book, without)| {
        let old = found(book.targets(), id, |it| &it.name)?;
        let args = command_target::Args::of(name, args.values, old);
        command_target::entries_of(&args, session, without)
    })
}

fn trial(args: TrialArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    args.which.correct(EntryKind::Trial, session, |name, id, session, (book, without)| {
        let old = found(book.trials(), id, |it| &it.name)?;
        let mut values = args.values;
        values.boned = values.boned || old.boned && !args.not_boned;
        let args = command_trial::Args::of(name, values, old);
        command_trial::entries_of(&args, session, without)
    })
}

fn reading(args: ReadingArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    let id = id_of(args.id.as_ref(), EntryKind::Reading, "ID", session)?;
    let of = Correction { id: &id, seen: None, reason: args.reason.as_deref().or(Some(REASON)) };
    correct(EntryKind::Reading, &of, Doubts::Asked, session, |_, book, _| {
        let old = book.readings().iter().find(|it| reading_id(it) == id);
        let old = old.ok_or(CliError::Missing { flags: vec!["ID"] })?;
        let as_it_was = |edge: Edge| old.edge(edge).map(exact);
        let spine = args.spine.or_else(|| as_it_was(Edge::Spine));
        let fore_edge = args.fore_edge.or_else(|| as_it_was(Edge::ForeEdge));
        let edges = Edges { spine: spine.as_deref(), fore_edge: fore_edge.as_deref() };
        let mut new: Reading = reading_of(&edges, old, book)?;
        if let Some(text) = &args.note {
            new.note = by_flag("--note", text, note)?.into();
        }
        Ok(Entries { readings: vec![new], ..Entries::default() })
    })?;
    Ok(())
}
