//! Finds the ids of the entries that a user types or chooses.

use crate::book::{Book, EntryKind, in_id, names_of, plain_id, reading_id};
use crate::terminal::prompt::{Field, by_flag};
use crate::terminal::refusal::CliError;
use crate::terminal::session::{Session, quoted};
use crate::terminal::values::ValueError;
use crate::trade::{Name, Reading, State};
use crate::units::shown_whole;
use std::collections::BTreeSet;

/// The entries to choose from.
pub(crate) struct Listed<'n> {
    pub kind: EntryKind,
    /// Their name in questions.
    pub words: &'n str,
    /// Their ids.
    pub names: &'n [String],
}

pub(crate) fn live_ids(book: &Book, kind: EntryKind) -> Vec<String> {
    let names = match kind {
        EntryKind::Paper => names_of(book.papers()),
        EntryKind::Thread => names_of(book.threads()),
        EntryKind::Target => names_of(book.targets()),
        EntryKind::Trial => names_of(book.trials()),
        EntryKind::Plan => names_of(book.plans()),
        EntryKind::Reading => return book.readings().iter().map(reading_id).collect(),
        EntryKind::Forecast => return book.forecast_ids().to_vec(),
    };
    names.into_iter().map(str::to_owned).collect()
}

/// Parses a name that no entry of its kind has yet.
pub(crate) fn new_name(kind: EntryKind, text: &str, book: &Book) -> Result<Name, ValueError> {
    let name: Name = text.parse().map_err(ValueError::said)?;
    if live_ids(book, kind).iter().any(|taken| taken == name.as_str()) {
        let found = format!("the book already holds a {kind} '{name}'; take another name");
        return Err(ValueError::Said(found));
    }
    Ok(name)
}

/// The ids that the typed text means; if nothing was typed, the user chooses one. `of_set` has the
/// readings that a looser id means.
pub(crate) fn ids_of(
    all: &[String],
    session: &mut Session<'_>,
    what: &Listed<'_>,
    of_set: impl Fn(&str) -> Vec<String>,
) -> Result<Vec<String>, CliError> {
    let Listed { kind, words, names } = *what;
    let listed: Vec<&str> = names.iter().map(String::as_str).collect();
    let field = Field { flag: "ID", question: words, default: None };
    if all.is_empty() {
        return Ok(vec![session.choose(None, field, words, &listed)?]);
    }
    let mut ids: Vec<String> = Vec::new();
    for typed in all {
        let exact = by_flag("ID", typed, |typed| exact(typed, kind, names))?;
        let of_set = match kind {
            EntryKind::Reading if !names.contains(&exact) => of_set(&exact),
            _ => Vec::new(),
        };
        if of_set.is_empty() {
            let near = match kind {
                EntryKind::Reading => begun_alike(&exact, &listed),
                _ => listed.clone(),
            };
            let chosen = session.choose(Some(&exact), field, words, &near);
            ids.push(chosen.map_err(|error| about_quotes(error, all.len()))?);
        } else {
            ids.extend(of_set);
        }
    }
    // `T1/sewn T1/sewn/2` means each reading once.
    let mut seen = BTreeSet::new();
    ids.retain(|id| seen.insert(id.clone()));
    Ok(ids)
}

/// The ids of the state that `typed` names, or else of its trial; all of them if neither is known.
fn begun_alike<'n>(typed: &str, ids: &[&'n str]) -> Vec<&'n str> {
    let begun = typed.rmatch_indices('/').map(|(at, _)| &typed[..=at]);
    let alike = begun.map(|begun| ids.iter().copied().filter(|id| id.starts_with(begun)).collect());
    alike.into_iter().find(|alike: &Vec<&str>| !alike.is_empty()).unwrap_or_else(|| ids.to_vec())
}

/// Adds a hint: among several ids, one may be part of a name or of the reason.
fn about_quotes(error: CliError, ids: usize) -> CliError {
    match error {
        CliError::Value { flag, message } if ids > 1 && !message.contains("quotes") => {
            let message = format!("{message} (a name or a reason with a space needs quotes)");
            CliError::Value { flag, message }
        }
        error => error,
    }
}

/// The readings of a book that a looser id means. Names as they are in ids come first, because an id
/// means one trial.
pub(crate) fn of_set(typed: &str, book: &Book) -> Vec<String> {
    let of = |is_it: fn(&str, &Reading) -> bool| -> Vec<String> {
        book.readings().iter().filter(|reading| is_it(typed, reading)).map(reading_id).collect()
    };
    let escaped = of(is_escaped);
    if escaped.is_empty() { of(is_meant) } else { escaped }
}

/// Whether a looser id means this reading: all of a trial in one state, as `T1/knocked`; or one
/// whose state is worded differently, as `T1/knocked down/2`. Names may be as they are in ids.
pub(crate) fn is_meant(typed: &str, reading: &Reading) -> bool {
    let (trial, place) = (reading.trial.as_str(), reading.place.as_str());
    is_of(typed, trial, reading.state, place) || is_escaped(typed, reading)
}

fn is_escaped(typed: &str, reading: &Reading) -> bool {
    let (trial, place) = (in_id(&reading.trial), in_id(&reading.place));
    typed.contains('\\') && is_of(typed, &trial, reading.state, &place)
}

fn is_of(typed: &str, trial: &str, is: State, place: &str) -> bool {
    let behind = typed.strip_prefix(trial);
    let Some(state) = behind.and_then(|rest| rest.strip_prefix('/')) else { return false };
    let of_place = state.strip_suffix(place);
    let one = of_place.and_then(|rest| rest.strip_suffix('/'));
    [Some(state), one].into_iter().flatten().any(|word| word.parse() == Ok(is))
}

/// The id that was typed without the backslashes inside names; otherwise the text as typed. It is
/// an error if several entries match.
fn exact(typed: &str, kind: EntryKind, names: &[String]) -> Result<String, ValueError> {
    let typed = typed.trim();
    let of_parts = matches!(kind, EntryKind::Reading | EntryKind::Forecast);
    if !of_parts || names.iter().any(|id| id == typed) {
        return Ok(typed.to_owned());
    }
    let named: Vec<&String> = names.iter().filter(|id| plain_id(id) == typed).collect();
    match named[..] {
        [] => Ok(typed.to_owned()),
        [id] => Ok(id.clone()),
        _ => {
            let ids: Vec<String> = named.into_iter().map(|id| quoted(id)).collect();
            let typed = shown_whole(typed);
            Err(ValueError::Said(format!(
                "'{typed}' can mean several entries; type one of {}",
                ids.join(", ")
            )))
        }
    }
}
