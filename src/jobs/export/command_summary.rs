//! `export --summary`: what the readings say, without names, for a pool of many benches.

use super::answer_summary::summary_of;
use super::text_summary::{ONLY_SHOWN, WITHOUT_NAMES, summary_words, wrote};
use crate::book::summary_text;
use crate::terminal::output::{Output, blaming};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::units::shown_path;
use std::path::Path;

/// Writes the summary of the book; with `show`, prints it and asks first.
pub(super) fn run_summary(
    path: &Path,
    show: bool,
    replace: bool,
    session: &mut Session<'_>,
) -> Outcome {
    let output = Output { path, endings: &["json"], replace };
    output.check(session).map_err(blaming("--summary"))?;
    let summary = summary_of(&session.open_book()?)?;
    let Some(summary) = summary else {
        return Err(CliError::NotEnough(
            "no trial has been measured at both edges yet, so there is nothing to share; measure \
             one: swellbook record readings"
                .to_owned(),
        ));
    };
    let text = summary_text(&summary);
    if show {
        session.say(&summary_words(&summary, text.trim_end(), session.width()))?;
        if !wanted(path, session)? {
            session.tell(ONLY_SHOWN);
            return Ok(());
        }
    }
    output.write(session, text.as_bytes(), &wrote(&summary)).map_err(blaming("--summary"))?;
    if path.as_os_str() != "-" && !show {
        session.tell(WITHOUT_NAMES);
    }
    Ok(())
}

/// Whether the person who saw it wants it written; `false` if nobody can be asked.
fn wanted(path: &Path, session: &mut Session<'_>) -> Result<bool, CliError> {
    if !session.can_ask() || path.as_os_str() == "-" {
        return Ok(false);
    }
    let question = format!("write this to {}: y or n", shown_path(path));
    session.agrees("--show", &question, "n")
}
