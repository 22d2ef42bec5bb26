//! `correct`: changes the values of an entry.

use super::command_entry::{Correction, Doubts, REASON, correct, id_of};
use super::command_reading;
use crate::book::{Book, Entries, EntryKind, Named, entry_named};
use crate::jobs::record::{command_paper, command_target, command_thread, command_trial};
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::units::parse_range;
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
    Reading(Box<command_reading::Args>),
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
Examples:
  swellbook correct target rounded --high 24
  swellbook correct target rounded 14..24

What you leave out stays as it is.")]
struct TargetArgs {
    #[command(flatten)]
    which: Which,
    /// Both bounds in per cent, as LOW..HIGH
    #[arg(value_name = "LOW..HIGH", allow_hyphen_values = true,
        value_parser = command_target::Bounds, conflicts_with_all = ["low", "high"])]
    range: Option<String>,
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

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    match args.what {
        What::Paper(args) => paper(*args, session),
        What::Thread(args) => thread(*args, session),
        What::Target(args) => target(*args, session),
        What::Trial(args) => trial(*args, session),
        What::Reading(args) => command_reading::run(*args, session),
    }
}

impl Which {
    /// Corrects the entry. `new_of` makes the new one from its new name, its old id, and the book
    /// with and without the old one.
    fn correct<N: Into<Entries>>(
        self,
        kind: EntryKind,
        session: &mut Session<'_>,
        new_of: impl FnOnce(String, &str, &mut Session<'_>, (&Book, &Book)) -> Result<N, CliError>,
    ) -> Result<(), CliError> {
        let id = id_of(self.id.as_ref(), kind, "NAME", session)?;
        let name = self.rename.unwrap_or_else(|| id.clone());
        let reason = self.reason.as_deref().or(Some(REASON));
        let of = Correction { id: &id, seen: None, reason };
        correct(kind, &of, Doubts::Asked, session, |session, book, without| {
            let new = new_of(name, &id, session, (book, without));
            // `record` has the name as an option named after the kind.
            new.map_err(|error| error.at(&format!("--{kind}"), "--name"))
        })?;
        Ok(())
    }
}

/// The entry with this name, which was chosen from the book.
fn found<'b, T: Named>(all: &'b [T], id: &str) -> Result<&'b T, CliError> {
    entry_named(all, id).ok_or(CliError::Missing { flags: vec!["NAME"] })
}

fn paper(args: PaperArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    args.which.correct(EntryKind::Paper, session, |name, id, session, (book, without)| {
        let old = found(book.papers(), id)?;
        let args = command_paper::Args::of(name, args.values, old);
        command_paper::paper_of(&args, session, without)
    })
}

fn thread(args: ThreadArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    args.which.correct(EntryKind::Thread, session, |name, id, session, (book, without)| {
        let old = found(book.threads(), id)?;
        let args = command_thread::Args::of(name, args.values, old);
        command_thread::thread_of(&args, session, without)
    })
}

fn target(args: TargetArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    args.which.correct(EntryKind::Target, session, |name, id, session, (book, without)| {
        let old = found(book.targets(), id)?;
        let mut values = args.values;
        if let Some(range) = args.range {
            by_flag("LOW..HIGH", &range, parse_range)?;
            values.low = Some(range);
        }
        let low_alone = values.low.is_some() && values.high.is_none();
        let args = command_target::Args::of(name, values, old);
        let new = command_target::target_of(&args, session, without);
        new.map_err(|error| if low_alone { error.at("--high", "--low") } else { error })
    })
}

fn trial(args: TrialArgs, session: &mut Session<'_>) -> Result<(), CliError> {
    args.which.correct(EntryKind::Trial, session, |name, id, session, (book, without)| {
        let old = found(book.trials(), id)?;
        let mut values = args.values;
        values.boned = values.boned || old.boned && !args.not_boned;
        let args = command_trial::Args::of(name, values, old);
        command_trial::trial_of(&args, session, without)
    })
}
