//! `--keep`: saves a forecast, to compare it with the measured sewing later.

use super::answer::{figures, kept};
use super::command_save::Saved;
use super::text::kept_line;
use crate::book::{Book, Entries};
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::plan_spec::command_named::plan_name;
use crate::terminal::refusal::CliError;
use crate::terminal::session::{Session, quoted};

/// The field of a page with the figures that it has shown.
pub(crate) const SEEN: &str = "seen";
/// Why a forecast is not kept if it is not the one that a page has shown.
pub(crate) const CHANGED: &str = "The book has changed since you opened this page, and the forecast \
                                  with it. Nothing was kept. These are the new figures; to keep \
                                  them, press the button again.";

/// Where the confirmation goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Beside {
    /// On standard output, before the text.
    Sentences,
    /// On standard error, because standard output holds a JSON object.
    Json,
}

/// What `--keep` and `--save` ask for, and where the confirmation goes.
pub(crate) struct ToKeep<'t> {
    /// The name for the forecast, as typed.
    pub typed: Option<&'t str>,
    /// The figures that a page has shown; see [`figures`].
    pub seen: Option<&'t str>,
    pub saved: Option<Saved>,
    pub beside: Beside,
}

/// Saves the forecast under the name `typed` and the plan `saved` in one write, and says how to
/// undo it. Sets `forecast.kept` to the name.
pub(crate) fn keep(
    session: &mut Session<'_>,
    book: &mut Book,
    forecast: Option<&mut Forecast>,
    ToKeep { typed, seen, saved, beside }: ToKeep<'_>,
) -> Result<(), CliError> {
    let (mut entries, mut said) = (Entries::default(), Vec::new());
    if let Some((typed, forecast)) = typed.zip(forecast) {
        let name = plan_name("--keep", typed)?;
        if seen.is_some_and(|seen| seen != figures(forecast)) {
            return Err(CliError::Value { flag: SEEN, message: CHANGED.to_owned() });
        }
        let kept = kept(book, forecast, &name, session.today())
            .map_err(|error| CliError::value("--keep", error.to_string()))?;
        said.push(kept_line(&kept));
        entries.forecasts.push(kept);
        forecast.kept = Some(name);
    }
    if let Some(saved) = &saved {
        saved.add_to(&mut entries);
    }
    session.append(book, entries)?;
    let undo = format!("strike forecast {}", quoted(book.newest_forecast_id().unwrap_or_default()));
    let mut lines: Vec<String> = said.iter().map(|kept| session.change_line(kept, &undo)).collect();
    lines.extend(saved.as_ref().and_then(|saved| saved.line(session)));
    if let Some(Saved::Already(name)) = &saved {
        session.tell(&format!("plan {name} is saved already, in the same words"));
    }
    if lines.is_empty() {
        return Ok(());
    }
    match beside {
        Beside::Sentences => session.says_kept(&lines.join("\n")),
        Beside::Json => {
            session.keeps(&lines.join("\n"));
            lines.iter().for_each(|line| session.tell(line));
            Ok(())
        }
    }
}
