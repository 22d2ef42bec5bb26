//! `record`: new entries.

mod bench;
mod paper;
mod readings;
mod steps;
mod target;
mod thread;
mod trial;
mod written;

use super::prompt::by_flag;
use super::{CliError, Outcome, Session};
use crate::book::note;
use crate::trade::Name;
use clap::Subcommand;

/// Write a paper, a thread, a target, a trial or readings into the book
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook record readings --help

At a terminal, what the flags leave out is asked for as soon as something needed is missing.")]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    Paper(paper::Args),
    Thread(thread::Args),
    Target(target::Args),
    Trial(trial::Args),
    Readings(readings::Args),
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    match args.what {
        What::Paper(args) => paper::run(args, session),
        What::Thread(args) => thread::run(args, session),
        What::Target(args) => target::run(args, session),
        What::Trial(args) => trial::run(args, session),
        What::Readings(args) => readings::run(args, session),
    }
}

/// A name that no entry of its kind has yet.
fn new_name(kind: &str, text: &str, taken: &[&str]) -> Result<Name, String> {
    let name: Name = super::values::parsed(text)?;
    if taken.contains(&name.as_str()) {
        return Err(format!("the book already holds a {kind} '{name}'; take another name"));
    }
    Ok(name)
}

/// The note of `--note`; none is an empty one.
fn note_of(given: Option<&str>) -> Result<String, CliError> {
    by_flag("--note", given.unwrap_or_default(), note)
}
