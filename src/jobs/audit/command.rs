//! `audit`: errors and suspect entries of the book.

use super::text::{findings_json, findings_text};
use crate::book::{Book, Finding, Notice, Severity, Telling, look_through};
use crate::jobs::doubt::answer::all_doubts;
use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::CliError;
use crate::terminal::session::Session;
use crate::units::LengthUnit;

/// Check the whole book: list errors, suspect entries and files changed outside swellbook
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook audit
  swellbook audit --json

Suspect entries are still used; strike those that you know to be wrong. Files that were changed \
outside swellbook are listed, and used as they are.")]
pub(crate) struct Args {
    /// Print one JSON object instead of text
    #[arg(long)]
    json: bool,
    /// Exit with code 3 if any entry is suspect; 'good to know' does not count
    #[arg(long)]
    strict: bool,
    /// Accept the files as they are now, so that edits made so far are no longer listed
    #[arg(long)]
    accept: bool,
}

/// The verdict is the exit code.
pub(crate) fn run(args: Args, session: &mut Session<'_>) -> Result<ExitStatus, CliError> {
    let dir = session.book_dir()?;
    if args.accept {
        accept(session, &dir)?;
    }
    let (book, findings) = look_through(&dir, session.today())?;
    let findings = with_weights(book.as_ref(), findings)?;
    let unit = book.as_ref().map_or(LengthUnit::default(), |book| book.config().unit);
    let text = if args.json {
        findings_json(&findings, unit)
    } else {
        findings_text(&findings, unit, session.width())
    };
    let (verdict, said) = (status(&findings, args.strict), session.say(&text));
    match said {
        // A reader that closes the pipe early still needs the verdict as exit code.
        Err(error) if error.is_closed_pipe() && verdict != ExitStatus::Done => Ok(verdict),
        said => said.map(|()| verdict),
    }
}

/// Errors always fail the check, suspect entries only with `--strict`.
fn status(findings: &[Finding], strict: bool) -> ExitStatus {
    let any = |severity| findings.iter().any(|finding| finding.severity() == severity);
    let bad = any(Severity::Wrong) || (strict && any(Severity::Check));
    if bad { ExitStatus::Data } else { ExitStatus::Done }
}

fn with_weights(book: Option<&Book>, findings: Vec<Finding>) -> Result<Vec<Finding>, CliError> {
    let Some(book) = book else { return Ok(findings) };
    Ok(all_doubts(book, findings)?)
}

fn accept(session: &mut Session<'_>, dir: &std::path::Path) -> Result<(), CliError> {
    let mut book = Book::open(dir)?;
    book.accept_edits()?;
    let is_edit = |notice: &&Notice| {
        let is_shorter = matches!(notice, Notice::Shorter { .. }) || notice.has_lost_lines();
        notice.telling() == Telling::Written || is_shorter
    };
    // What is accepted needs no advice, which follows after a semicolon.
    let line = |notice: &Notice| {
        let said = notice.to_string();
        format!("accepted: {}", said.split("; ").next().unwrap_or_default())
    };
    let lines: Vec<String> = book.notices().iter().filter(is_edit).map(line).collect();
    if !lines.is_empty() {
        session.keeps(&lines.join("\n"));
    }
    lines.iter().for_each(|line| session.tell(line));
    Ok(())
}
