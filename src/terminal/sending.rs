//! Every write adds a note of itself together with its rows, so that a form of a page that is sent
//! twice is written once.
//!
//! The note holds the number of the form. So a second tap finds it, and so does a page that sends
//! again because it never got the answer. The number includes a digest of the form, so that a form
//! that was changed and sent again is refused rather than taken for written.

use super::number::plural;
use super::refusal::CliError;
use super::session::Session;
use crate::book::{Book, BookError, Change, Entries, Strike, note};
use crate::trade::{Reading, SendNumber};

/// The change that the form with this number made to the book, if it was written.
pub(crate) fn sent_before(book: &Book, number: SendNumber) -> Option<&Change> {
    book.changes().iter().find(|it| it.number.is_some_and(|own| own.is_same_form(number)))
}

/// The answer to a form that made this change before.
pub(crate) fn sent_error(change: &Change, number: SendNumber) -> CliError {
    let said = change.said.clone();
    match change.number == Some(number) {
        true => CliError::SentBefore { said },
        false => CliError::SentOtherwise { said },
    }
}

impl Session<'_> {
    /// Refuses a form that was written before. Otherwise a command would check the book before
    /// writing, and refuse because of what it wrote itself.
    pub(super) fn refuse_sent(&self, book: &mut Book) -> Result<(), CliError> {
        if self.sending.is_none_or(|number| sent_before(book, number).is_none()) {
            return Ok(());
        }
        // The note may come from a journal that is not on disk yet. An empty write completes the
        // journal first, as any command that writes does, before the form is reported as saved.
        self.write(book, |_| Ok(Entries::default())).map(drop)
    }

    /// Adds what `make` returns, and a note of it with the number of the form. The lock of the book
    /// keeps others from writing the same form meanwhile.
    pub(super) fn write(
        &self,
        book: &mut Book,
        make: impl FnOnce(&Book) -> Result<Entries, BookError>,
    ) -> Result<Entries, CliError> {
        let mut before = None;
        let entries = book.append_with(|now| {
            let sent = |number| Some(sent_error(sent_before(now, number)?, number));
            before = self.sending.and_then(sent);
            let made = if before.is_none() { make(now)? } else { Entries::default() };
            Ok(self.noted(made))
        })?;
        before.map_or(Ok(entries), Err)
    }

    /// The entries, with a note that describes them unless they have one.
    pub(super) fn noted(&self, mut entries: Entries) -> Entries {
        if !entries.is_empty() {
            let change = entries.changes.pop();
            let mut change = change.unwrap_or_else(|| Change::new(said_of(&entries), self.today()));
            change.number = self.sending;
            entries.changes.push(change);
        }
        entries
    }
}

/// Describes the entries in one line for their note: `recorded 6 readings of T1, knocked down`.
fn said_of(entries: &Entries) -> String {
    // Names may make the line too long, or an id may begin like a spreadsheet formula.
    note(&line(entries, true, NEW)).unwrap_or_else(|_| line(entries, false, NEW))
}

/// The same for entries that are there again: `brought back trial T1; struck trial T2`.
pub(crate) fn back_words(entries: &Entries) -> String {
    note(&line(entries, true, BACK)).unwrap_or_else(|_| line(entries, false, BACK))
}

/// Verbs for new entries, forecasts, plans and headings.
const NEW: [&str; 4] = ["recorded", "kept", "saved", "kept"];
/// Verbs for the same when they are brought back. A heading gets its old meaning back; `line` has
/// the verb for one that had none before.
const BACK: [&str; 4] =
    [Change::BROUGHT_BACK, Change::BROUGHT_BACK, Change::BROUGHT_BACK, "put back"];

fn line(
    entries: &Entries,
    named: bool,
    [of_entries, of_forecasts, of_plans, of_headings]: [&str; 4],
) -> String {
    let recorded = [
        part(&entries.papers, "paper", named, |paper| paper.name.to_string()),
        part(&entries.threads, "thread", named, |thread| thread.name.to_string()),
        part(&entries.targets, "target", named, |target| target.name.to_string()),
        part(&entries.trials, "trial", named, |trial| trial.name.to_string()),
        readings(&entries.readings, named),
    ];
    let kept = part(&entries.forecasts, "forecast", named, |kept| kept.name.to_string());
    let saved = part(&entries.plans, "plan", named, |plan| plan.name.to_string());
    let (forgotten, meant): (Vec<_>, Vec<_>) =
        entries.headings.iter().partition(|own| own.is_forgotten());
    let [forgotten, meant] = [forgotten, meant]
        .map(|headings| part(&headings, "heading", named, |own| own.heading.clone()));
    let parts = [
        said(of_entries, &recorded),
        said(of_forecasts, &[kept]),
        said(of_plans, &[saved]),
        said(of_headings, &[meant]),
        said("forgot", &[forgotten]),
        said("struck", &[struck(&entries.strikes, named)]),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// `recorded 1 paper, 2 trials`; `None` without parts.
fn said(verb: &str, parts: &[Option<String>]) -> Option<String> {
    let parts: Vec<&str> = parts.iter().flatten().map(String::as_str).collect();
    (!parts.is_empty()).then(|| format!("{verb} {}", parts.join(", ")))
}

/// `trial T1` for a single item to be named, else a count such as `2 trials`.
fn part<T>(items: &[T], noun: &str, named: bool, name: impl Fn(&T) -> String) -> Option<String> {
    match items {
        [] => None,
        [one] if named => Some(format!("{noun} {}", name(one))),
        _ => Some(plural(items.len(), noun)),
    }
}

fn readings(all: &[Reading], named: bool) -> Option<String> {
    let first = all.first()?;
    let alike = |it: &Reading| (&it.trial, it.state) == (&first.trial, first.state);
    let count = plural(all.len(), "reading");
    Some(match named && all.iter().all(alike) {
        true => format!("{count} of {}, {}", first.trial, first.state.phrase()),
        false => count,
    })
}

fn struck(all: &[Strike], named: bool) -> Option<String> {
    let first = all.first()?;
    let noun = match all.iter().all(|it| it.what == first.what) {
        true => first.what.word(),
        false => "entry",
    };
    part(all, noun, named, |strike| strike.id.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::EntryKind;
    use crate::trade::{State, Target};
    use crate::units::Millimetres;
    use jiff::civil::date;

    fn reading(trial: &str, place: &str) -> Reading {
        let (trial, place) = (trial.parse().unwrap(), place.parse().unwrap());
        let [spine, fore_edge] = [10.5, 8.0].map(Millimetres::new);
        Reading::new(trial, State::Knocked, place, spine, fore_edge).unwrap()
    }

    fn strike(id: &str) -> Strike {
        let (what, date) = (EntryKind::Reading, date(2026, 3, 1));
        Strike { what, id: id.to_owned(), reason: "misread".to_owned(), date }
    }

    #[test]
    fn what_is_written_is_said_in_one_line() {
        let readings = vec![reading("T1", "head"), reading("T1", "tail")];
        let targets = vec![Target::new("limp".parse().unwrap(), 2.0, 10.0).unwrap()];
        let with_readings = |readings| Entries { readings, ..Entries::default() };
        let with_strikes = |ids: &[&str]| Entries {
            strikes: ids.iter().map(|id| strike(id)).collect(),
            ..Entries::default()
        };
        for (entries, said) in [
            (with_readings(readings.clone()), "recorded 2 readings of T1, knocked down"),
            (with_readings(vec![reading("T1", "1"), reading("T2", "1")]), "recorded 2 readings"),
            (
                Entries { targets, readings, ..Entries::default() },
                "recorded target limp, 2 readings of T1, knocked down",
            ),
            (with_strikes(&["T1/sewn/2"]), "struck reading T1/sewn/2"),
            (with_strikes(&["T1/sewn/2", "T1/sewn/3"]), "struck 2 readings"),
        ] {
            assert_eq!(said_of(&entries), said);
        }
    }

    /// A file of the book would refuse both lines, and the form with them.
    #[test]
    fn names_that_cannot_be_said_are_counted() {
        for id in ["x, +0.1 mm/sewn/1", &"/".repeat(501)] {
            let entries = Entries { strikes: vec![strike(id)], ..Entries::default() };
            assert_eq!(said_of(&entries), "struck 1 reading", "{id}");
        }
    }
}
