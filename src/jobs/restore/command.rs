//! `restore --from`: a book made again of its backup.

use crate::jobs::backup::command_restore::restored;
use crate::terminal::refusal::Outcome;
use crate::terminal::session::Session;
use std::path::PathBuf;

/// Make a book again from its backup
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Example:
  swellbook restore --from bench.tar bench-again")]
#[command(after_long_help = "\
All of the backup is checked before anything is written. A file that was damaged or cut off is \
refused.")]
pub(crate) struct Args {
    /// Backup to make the book of; - reads standard input
    #[arg(long, value_name = "FILE")]
    from: PathBuf,
    /// Folder of the book, new or empty
    dir: PathBuf,
}

pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    restored(&args.from, &args.dir, session)
}
