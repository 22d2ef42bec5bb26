//! One trial in the log: its readings by state, its struck entries, and links to change it.

use super::answer_log::Measured;
use super::answer_struck::{Struck, StruckEntry, struck};
use super::page_where::restores;
use super::text::{reading_line, struck_entry_line, trial_in_full};
use super::text_taught::taken_out_words;
use crate::book::{Book, Config, EntryKind, Severity, entry_named, reading_id};
use crate::jobs::desk::Desk;
use crate::jobs::doubt::page_open::all_findings;
use crate::jobs::show::answer_doubt::is_about;
use crate::jobs::show::answer_trial::held;
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::number::{gauged, rounded};
use crate::terminal::words::{capital, tied};
use crate::trade::{Edge, Name, Reading, Trial};
use askama::Template;

#[derive(Template)]
#[template(path = "bench/log_trial.html")]
struct View<'b> {
    unit: &'static str,
    /// The last state that was measured, and the others before it.
    last: Option<Swell>,
    before: Vec<Swell>,
    taken_out: Vec<String>,
    doubts: Vec<String>,
    states: Vec<StateView<'b>>,
    /// The trial, if it counts.
    live: Option<&'b Trial>,
    measure: String,
    correct: String,
    strike: String,
    struck: Vec<StruckLine>,
    writes: bool,
}

/// What was struck, why, and the address that restores it, if that is possible.
type StruckLine = (String, String, Option<String>);

struct Swell {
    state: &'static str,
    percent: String,
    length: String,
}

struct StateView<'b> {
    state: String,
    swell: Option<String>,
    readings: Vec<Row<'b>>,
    /// The address that strikes all of them.
    strike: String,
}

struct Row<'b> {
    reading: &'b Reading,
    spine: String,
    fore_edge: String,
    correct: String,
}

pub(super) fn log_of(trial: &str) -> String {
    address("/log", &[("trial", Some(trial))])
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let book = desk.book()?;
    let missing = || Turned::Missing("This trial is not in the book.".to_owned());
    let name: Name = form.get("trial").and_then(|it| it.parse().ok()).ok_or_else(missing)?;
    let live = entry_named(book.trials(), name.as_str());
    let gone = struck_lines(&book, &name);
    if live.is_none() && gone.is_empty() {
        return Err(missing());
    }
    let doubts = doubts(desk, &book, &name);
    let view = View { doubts, ..view(&book, &name, live, gone, !desk.is_read_only()) };
    let words = match live {
        Some(trial) => capital(&trial_in_full(trial, book.config())) + ".",
        None => "This trial was struck. It no longer counts.".to_owned(),
    };
    Ok(Content::of(name.as_str(), &view).beside(words).into())
}

/// What looks wrong about a trial. This page does not wait for a large book to be checked; the page
/// of all doubts does.
fn doubts(desk: &Desk, book: &Book, name: &Name) -> Vec<String> {
    let Ok(findings) = all_findings(desk) else { return Vec::new() };
    let own = |kind: EntryKind, of: &Name| kind == EntryKind::Trial && of == name;
    let checks = findings.iter().filter(|finding| finding.severity() == Severity::Check);
    let own = checks.filter(|finding| is_about(finding, own));
    own.map(|finding| capital(&finding.sentence(book.config().unit))).collect()
}

fn view<'b>(
    book: &'b Book,
    name: &Name,
    live: Option<&'b Trial>,
    struck: Vec<StruckLine>,
    writes: bool,
) -> View<'b> {
    let live_trials: Vec<&Trial> = live.into_iter().collect();
    let held = held(book, &live_trials).pop();
    let states = held.as_ref().map_or(&[][..], |held| &held.states);
    let taken_out = held.iter().flat_map(|held| &held.taken_out);
    let swell = |measured: &Measured<'_>| -> Option<Swell> {
        Some(Swell {
            state: measured.state.phrase(),
            percent: rounded(measured.percent()?, 1),
            length: gauged(measured.swell()?, book.config()),
        })
    };
    let mut swells: Vec<Swell> = states.iter().filter_map(swell).collect();
    let last = swells.pop();
    let of = Some(name.as_str());
    View {
        unit: book.config().unit.symbol(),
        last,
        before: swells,
        taken_out: taken_out.map(|taken| tied(&taken_out_words(taken, book.config()))).collect(),
        doubts: Vec::new(),
        states: states.iter().map(|measured| state_view(book, name, measured)).collect(),
        live,
        measure: address("/measure", &[("trial", of)]),
        correct: address("/correct", &[("trial", of)]),
        strike: address("/strike", &[("kind", Some("trial")), ("ids", of), ("trial", of)]),
        struck,
        writes,
    }
}

fn state_view<'b>(book: &Book, trial: &Name, measured: &Measured<'b>) -> StateView<'b> {
    let config = book.config();
    let swell =
        measured.swell().map(|swell| format!("swell {} {}", gauged(swell, config), config.unit));
    StateView {
        state: capital(measured.state.phrase()),
        swell,
        readings: measured.readings.iter().map(|reading| row(book, reading)).collect(),
        strike: strike(trial, &measured.readings),
    }
}

fn strike(trial: &Name, readings: &[&Reading]) -> String {
    let ids: Vec<String> = readings.iter().map(|reading| reading_id(reading)).collect();
    let ids = ids.iter().map(|id| ("ids", Some(id.as_str())));
    let of = [("kind", Some("reading")), ("trial", Some(trial.as_str()))];
    address("/strike", &of.into_iter().chain(ids).collect::<Vec<_>>())
}

fn row<'b>(book: &Book, reading: &'b Reading) -> Row<'b> {
    let edge = |edge: Edge| {
        let value = reading.edge(edge);
        value.map_or_else(|| "–".to_owned(), |it| gauged(it.mm(), book.config()))
    };
    let id = reading_id(reading);
    Row {
        reading,
        spine: edge(Edge::Spine),
        fore_edge: edge(Edge::ForeEdge),
        correct: address("/correct", &[("reading", Some(&id))]),
    }
}

fn struck_lines(book: &Book, name: &Name) -> Vec<StruckLine> {
    let all = struck(book);
    let lines = |kind: EntryKind| -> Vec<StruckLine> {
        let own = all.iter().filter(|it| it.kind == kind && it.name == name.as_str());
        let backs = restores(book, kind, own.clone(), Some(name.as_str()));
        own.zip(backs).map(|(it, back)| line(it, back, book.config())).collect()
    };
    [lines(EntryKind::Trial), lines(EntryKind::Reading)].concat()
}

fn line(struck: &Struck, back: Option<String>, config: &Config) -> StruckLine {
    let words = match &struck.entry {
        StruckEntry::Reading(reading) => {
            format!("{}: {}", capital(reading.state.phrase()), reading_line(reading, config))
        }
        _ => struck_entry_line(struck, config),
    };
    let why = match &struck.strike {
        Some(strike) => format!(". Struck on {}: {}", strike.date, strike.reason),
        None => ". Struck with its trial".to_owned(),
    };
    (words, why, back)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::State;

    #[test]
    fn an_address_strikes_readings_of_any_name() {
        let (trial, place) = ("a/b & \"c\"".parse().unwrap(), "head".parse().unwrap());
        let mm = crate::units::Millimetres::new;
        let reading = Reading::new(trial, State::Sewn, place, mm(11.0), mm(8.0)).unwrap();
        let address = strike(&reading.trial, &[&reading]);
        let form = Form::of_query(address.strip_prefix("/strike?").unwrap().as_bytes());
        assert_eq!(form.get("ids"), Some(r#"a\/b & "c"/sewn/head"#));
        assert_eq!(form.get("trial"), Some(r#"a/b & "c""#));
        assert_eq!(log_of("a&b"), "/log?trial=a%26b");
    }
}
