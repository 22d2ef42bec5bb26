//! `--keep`: a forecast is written down, to be held against the sewing afterwards.

use super::answer::kept;
use super::text::kept_line;
use crate::book::{Book, Entries};
use crate::jobs::forecast::answer::Forecast;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::CliError;
use crate::terminal::session::{Session, quoted};
use crate::terminal::values;
use crate::trade::Name;

/// Where the line that says so goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Beside {
    /// Before sentences, on standard output.
    Sentences,
    /// Beside a JSON object, on standard error.
    Json,
}

/// Writes the forecast into the book under the name `typed`, notes the name in it, and says how to
/// undo it. Nothing is written without a name.
///
/// # Errors
/// [`CliError::Value`] for an impossible name or one whose sewing was measured already, and those
/// of [`Book::append`].
pub(crate) fn keep(
    session: &mut Session<'_>,
    book: &mut Book,
    forecast: &mut Forecast,
    (typed, beside): (Option<&str>, Beside),
) -> Result<(), CliError> {
    let Some(typed) = typed else { return Ok(()) };
    let name: Name = by_flag("--keep", typed, values::parsed)?;
    let kept = kept(book, forecast, &name, session.today())
        .map_err(|error| CliError::Value { flag: "--keep", message: error.to_string() })?;
    let said = kept_line(&kept);
    session.append(book, Entries { forecasts: vec![kept], ..Entries::default() })?;
    let id = book.forecast_ids().last().map_or(name.as_str(), String::as_str);
    let take_back = format!("strike forecast {}", quoted(id));
    forecast.kept = Some(name);
    match beside {
        Beside::Sentences => session.changed(&said, &take_back),
        Beside::Json => {
            session.changed_beside(&said, &take_back);
            Ok(())
        }
    }
}
