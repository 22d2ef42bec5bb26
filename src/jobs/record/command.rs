//! `record`: adds entries to the book.

use super::{command_paper, command_readings, command_target, command_thread, command_trial};
use crate::terminal::refusal::Outcome;
use crate::terminal::session::Session;
use clap::Subcommand;

/// Add a paper, a thread, a target, a trial or readings to the book
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook record readings --help

At a terminal it prompts for the options you left out, if any of them is needed; quit stops and \
saves nothing.")]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    Paper(command_paper::Args),
    Thread(command_thread::Args),
    Target(command_target::Args),
    Trial(command_trial::Args),
    Readings(command_readings::Args),
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    match args.what {
        What::Paper(args) => command_paper::run(args, session),
        What::Thread(args) => command_thread::run(args, session),
        What::Target(args) => command_target::run(args, session),
        What::Trial(args) => command_trial::run(args, session),
        What::Readings(args) => command_readings::run(args, session),
    }
}
