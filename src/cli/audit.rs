//! `audit`: everything doubtful in the book.

use super::{CliError, ExitStatus, Outcome, Session};
use crate::book::{Severity, audit};
use crate::decide::{BenchError, doubts};
use crate::show;

/// List everything doubtful in the book: impossible, inconsistent, outlying, missing
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook audit
  swellbook audit --json

What is doubtful is still used: strike what you know to be wrong.")]
pub(crate) struct Args {
    /// One JSON object instead of sentences
    #[arg(long)]
    json: bool,
    /// Exit with code 3 when anything is doubtful; what is only good to know does not count
    #[arg(long)]
    strict: bool,
}

pub(super) fn run(args: Args, session: &mut Session<'_>) -> Outcome {
    let book = session.open_book()?;
    let findings = doubts(&book, audit(&book, session.today()))
        .map_err(|error| CliError::Bench(BenchError::Observe(error)))?;
    let text = if args.json {
        show::findings_json(&findings)
    } else {
        show::findings_text(&findings, session.width())
    };
    session.say(&text)?;
    let doubtful = findings.iter().any(|finding| finding.severity() == Severity::Check);
    Ok(if args.strict && doubtful { ExitStatus::Data } else { ExitStatus::Done })
}
