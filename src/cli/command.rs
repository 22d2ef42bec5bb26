//! The arguments as a whole.

use super::{CliError, Outcome, Session, Streams, Surroundings};
use super::{
    audit, chart, export, fit, gauge, import, init, midway, next, plan, predict, record, report,
    start, strike, tour,
};
use clap::{Parser, Subcommand};
use std::path::PathBuf;

/// The heading of the options that every command takes.
const EVERYWHERE: &str = "Everywhere";

/// A bench book of swell: trial sewings in, honest predictions out.
#[derive(Debug, Parser)]
#[command(name = "swellbook", version)]
#[command(before_long_help = "\
Examples:
  swellbook
  swellbook record trial --help

Without a command it says where the book is, what it holds and what to do next.")]
#[command(after_long_help = "\
Exit codes: 0 done; 1 failed; 2 the command line cannot be understood; 3 the data are wrong; \
4 not enough data for the question; 5 the book is in use; 6 the book is damaged; 7 done and kept, \
but the result could not be written: do not repeat the command.

Results go to standard output, messages and prompts to standard error.")]
pub(crate) struct Arguments {
    /// Folder of the book [default: $SWELLBOOK, else the nearest folder with a book.toml]
    #[arg(long, global = true, value_name = "DIR", help_heading = EVERYWHERE)]
    pub book: Option<PathBuf>,
    /// Never ask: what is missing fails, naming the flag
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub no_input: bool,
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// What can be done.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Tour(tour::Args),
    Init(init::Args),
    Record(Box<record::Args>),
    Import(import::Args),
    Strike(strike::Args),
    Audit(audit::Args),
    Gauge(gauge::Args),
    Fit(fit::Args),
    Predict(Box<predict::Args>),
    Plan(Box<plan::Args>),
    Midway(Box<midway::Args>),
    Next(Box<next::Args>),
    Chart(Box<chart::Args>),
    Report(Box<report::Args>),
    Export(export::Args),
}

impl Arguments {
    /// Runs the command; without one, says where things stand.
    ///
    /// # Errors
    /// [`super::CliError`].
    pub fn run(self, streams: Streams<'_>, surroundings: Surroundings) -> Outcome {
        let mut session = Session::new(streams, surroundings, (self.book, self.no_input))?;
        let outcome = match self.command {
            Some(command) => command.run(&mut session),
            None => start::run(&mut session),
        };
        session.settled(outcome)
    }
}

impl Command {
    fn run(self, session: &mut Session<'_>) -> Outcome {
        match self {
            Self::Init(args) => init::run(args, session),
            Self::Record(args) => record::run(*args, session),
            Self::Import(args) => import::run(args, session),
            Self::Strike(args) => strike::run(args, session),
            Self::Audit(args) => audit::run(args, session),
            Self::Gauge(args) => gauge::run(args, session),
            Self::Fit(args) => fit::run(args, session),
            Self::Predict(args) => predict::run(*args, session),
            Self::Plan(args) => plan::run(*args, session),
            Self::Midway(args) => midway::run(*args, session),
            Self::Next(args) => next::run(*args, session),
            Self::Chart(args) => chart::run(*args, session),
            Self::Export(args) => export::run(args, session),
            Self::Report(args) => report::run(*args, session),
            Self::Tour(args) => tour::run(args, run_words, session),
        }
    }
}

/// Runs a command within a command: its words without the program's name.
fn run_words(words: &[&str], streams: Streams<'_>, surroundings: Surroundings) -> Outcome {
    let line = std::iter::once("swellbook").chain(words.iter().copied());
    let arguments =
        Arguments::try_parse_from(line).map_err(|error| CliError::Usage(error.to_string()))?;
    arguments.run(streams, surroundings)
}
