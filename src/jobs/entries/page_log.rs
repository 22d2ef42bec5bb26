//! The log: every trial with its measurements, latest first.

use super::answer_log::{Measured, found};
use super::answer_struck::{Struck, StruckEntry, struck};
use super::page_log_trial::{self, log_of};
use super::text::{on_words, trial_line};
use crate::book::Book;
use crate::jobs::desk::Desk;
use crate::jobs::show::answer_trial::{HeldTrial, held};
use crate::jobs::undo::answer::undone_words;
use crate::page::address::address;
use crate::page::field::{Field, Typed};
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::number::{plural, rounded};
use crate::trade::{State, Trial};
use askama::Template;
use std::collections::BTreeSet;

/// Trials on one page.
const SHOWN: usize = 100;

#[derive(Template)]
#[template(path = "bench/log.html")]
struct View<'b> {
    search: Option<Field>,
    table: Rows<'b>,
    earlier: Option<String>,
    later: Option<String>,
    /// The address, name and description of each struck trial.
    struck: Vec<[String; 3]>,
    none: Option<&'static str>,
    /// The last change, if it can be undone.
    last: Option<String>,
    writes: bool,
}

/// Trials with their swell in each state.
#[derive(Template)]
#[template(path = "bench/log_rows.html")]
pub(super) struct Rows<'b> {
    caption: String,
    states: Vec<&'static str>,
    rows: Vec<Row<'b>>,
}

impl Rows<'_> {
    pub(super) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

struct Row<'b> {
    trial: &'b Trial,
    path: String,
    sewing: String,
    /// The swell in each of the states of the table.
    swells: Vec<(&'static str, String)>,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    if form.get("trial").is_some() {
        return page_log_trial::show(desk, form);
    }
    let book = desk.book()?;
    let words = form.get("words").unwrap_or_default();
    let trials = found(&book, words);
    let from = form.get("from").and_then(|from| from.parse().ok()).unwrap_or(0);
    let view = view(&book, form, &trials, from, !desk.is_read_only());
    let readings = plural(book.readings().len(), "reading");
    let title = match book.trials().len() {
        0 => "No trials yet".to_owned(),
        count => format!("{}, {readings}", plural(count, "trial")),
    };
    Ok(Content::of(title, &view).beside(days(&book)).into())
}

/// The first and last day of the log.
fn days(book: &Book) -> String {
    let of_fore_edge = "The swell is in per cent of the fore-edge.";
    let days: BTreeSet<_> = book.trials().iter().filter_map(|trial| trial.date).collect();
    match (days.first(), days.last()) {
        (Some(first), Some(last)) if first == last => format!("{first}. {of_fore_edge}"),
        (Some(first), Some(last)) => format!("{first} to {last}. {of_fore_edge}"),
        _ if book.trials().is_empty() => String::new(),
        _ => of_fore_edge.to_owned(),
    }
}

fn view<'b>(
    book: &'b Book,
    form: &Form,
    trials: &[&'b Trial],
    from: usize,
    writes: bool,
) -> View<'b> {
    // A page beyond the last trial, such as of an old address, is the last one.
    let from =
        if from < trials.len() { from } else { trials.len().saturating_sub(1) / SHOWN * SHOWN };
    let shown: Vec<&Trial> = trials.iter().skip(from).take(SHOWN).copied().collect();
    let words = form.get("words");
    let at = |from: usize| address("/log", &[("words", words), ("from", Some(&from.to_string()))]);
    let hint = "A part of the name, the paper or the thread";
    let search = Field::typed("words", "Find a trial", Typed::Search).hint(hint);
    let caption = match (trials.len(), shown.len()) {
        (all, shown) if shown == all && words.is_some() => {
            format!("{}, latest first", plural(all, "trial"))
        }
        (all, shown) if shown == all => "Trials, latest first".to_owned(),
        (all, shown) => format!("Trials {} to {} of {all}, latest first", from + 1, from + shown),
    };
    View {
        search: (!book.trials().is_empty()).then(|| search.filled(form, &[])),
        table: rows(book, &shown, caption),
        later: (from > 0).then(|| at(from.saturating_sub(SHOWN))),
        earlier: (from + SHOWN < trials.len()).then(|| at(from + SHOWN)),
        struck: struck_rows(book),
        last: last_change(book).filter(|_| writes),
        none: match (trials.is_empty(), words.is_some()) {
            (true, true) => Some("No trial has this in its name, its paper or its thread."),
            (true, false) => {
                Some("Sew a trial block, record it and measure it. It is listed here then.")
            }
            (false, _) => None,
        },
        writes,
    }
}

pub(super) fn rows<'b>(book: &'b Book, trials: &[&'b Trial], caption: String) -> Rows<'b> {
    let held = held(book, trials);
    let states = states(&held);
    Rows {
        caption,
        rows: held.iter().map(|held| row(held, &states)).collect(),
        states: states.iter().map(|state| state.phrase()).collect(),
    }
}

/// As sewn and knocked down, and the other states with thread in which these trials were measured.
fn states(held: &[HeldTrial<'_>]) -> Vec<State> {
    let measured: BTreeSet<State> =
        held.iter().flat_map(|it| &it.states).map(|measured| measured.state).collect();
    let is_usual = |state: &State| [State::Sewn, State::Knocked].contains(state);
    let all = State::ALL.into_iter().filter(|state| state.has_thread());
    all.filter(|state| is_usual(state) || measured.contains(state)).collect()
}

fn row<'b>(held: &HeldTrial<'b>, states: &[State]) -> Row<'b> {
    let HeldTrial { trial, states: measured, .. } = held;
    let swell = |state: &State| {
        let measured = measured.iter().find(|it| it.state == *state);
        (state.phrase(), measured.map_or_else(|| "–".to_owned(), swell))
    };
    let swells = states.iter().map(swell).collect();
    Row { trial, path: log_of(trial.name.as_str()), sewing: on_words(trial), swells }
}

fn swell(measured: &Measured<'_>) -> String {
    match measured.percent() {
        Some(percent) => format!("{} %", rounded(percent, 1)),
        None => "one edge".to_owned(),
    }
}

/// The day and description of the last change that was not undone.
fn last_change(book: &Book) -> Option<String> {
    let change = &book.changes()[*book.history().done.last()?];
    Some(format!("{}: {}", change.date, undone_words(change)))
}

fn struck_rows(book: &Book) -> Vec<[String; 3]> {
    let row = |Struck { name, entry, strike, .. }: Struck| {
        let StruckEntry::Trial(trial) = entry else { return None };
        let why = strike.map(|it| format!(" Struck on {}: {}", it.date, it.reason));
        let words = format!("{}.{}", trial_line(&trial, book.config()), why.unwrap_or_default());
        Some([log_of(&name), name, words])
    };
    struck(book).into_iter().rev().filter_map(row).collect()
}
