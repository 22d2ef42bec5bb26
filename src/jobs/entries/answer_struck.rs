//! Struck entries, each with its reason.

use crate::book::{
    Book, BookError, Entries, EntryKind, Named, ReadingKey, Strike, StruckReading, plain_id,
    reading_id,
};
use crate::trade::{KeptForecast, Name, Paper, Reading, Target, Thread, Trial};
use crate::units::fields_of;
use std::collections::{BTreeMap, HashMap, VecDeque};

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum StruckEntry {
    Paper(Paper),
    Thread(Thread),
    Target(Target),
    Trial(Trial),
    Reading(Reading),
    /// A plan or a forecast stays in its file; its id identifies the row.
    Row,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Struck {
    pub kind: EntryKind,
    pub id: String,
    /// Its name; for a reading, the present name of its trial.
    pub name: String,
    pub entry: StruckEntry,
    /// `None` for a reading struck with its trial.
    pub strike: Option<Strike>,
}

fields_of! { Struck, |it|
    let strike = it.strike.as_ref();
    "kind": it.kind.word(),
    "id": it.id,
    "date": strike.map(|strike| strike.date.to_string()),
    "reason": strike.map(|strike| &strike.reason),
}

/// The strikes of each kind and id, in the order in which they were made.
type Strikes<'b> = BTreeMap<(EntryKind, String), VecDeque<&'b Strike>>;

/// The struck entries of a book, without those that it has again as they were. Each kind is in the
/// order of its file.
pub(crate) fn struck(book: &Book) -> Vec<Struck> {
    let mut open = Strikes::new();
    for strike in book.struck() {
        open.entry((strike.what, strike.id.clone())).or_default().push_back(strike);
    }
    let Entries { papers, threads, targets, trials, plans, .. } = book.gone();
    let (open, live) = (&mut open, book.entries());
    [
        each(papers, &live.papers, open, StruckEntry::Paper),
        each(threads, &live.threads, open, StruckEntry::Thread),
        each(targets, &live.targets, open, StruckEntry::Target),
        each(trials, &live.trials, open, StruckEntry::Trial),
        readings(book),
        each(plans, &live.plans, open, |_| StruckEntry::Row),
        forecasts(book),
    ]
    .concat()
}

/// Matches strikes with entries by count: the first strike of a name belongs to the first entry with
/// that name, and so on.
fn each<T: Named + PartialEq>(
    entries: Vec<T>,
    live: &[T],
    open: &mut Strikes<'_>,
    written: fn(T) -> StruckEntry,
) -> Vec<Struck> {
    let kind = T::KIND;
    let live: HashMap<&Name, &T> = live.iter().map(|entry| (entry.name(), entry)).collect();
    let of = |entry: T| {
        let name = entry.name().to_string();
        let strike = open.get_mut(&(kind, name.clone())).and_then(VecDeque::pop_front).cloned();
        let is_back = live.get(entry.name()) == Some(&&entry);
        let entry = (!is_back).then(|| written(entry))?;
        Some(Struck { kind, id: name.clone(), name, entry, strike })
    };
    entries.into_iter().filter_map(of).collect()
}

fn readings(book: &Book) -> Vec<Struck> {
    let live: HashMap<ReadingKey<'_>, &Reading> =
        book.readings().iter().map(|it| ((&it.trial, it.state, &it.place), it)).collect();
    let of = |it: StruckReading<'_>| {
        let now = it.now();
        let is_back = |now: &Reading| live.get(&(&now.trial, now.state, &now.place)) == Some(&now);
        if now.as_ref().is_some_and(is_back) {
            return None;
        }
        Some(Struck {
            kind: EntryKind::Reading,
            id: reading_id(it.reading),
            name: it.trial.unwrap_or(&it.reading.trial).to_string(),
            entry: StruckEntry::Reading(it.reading.clone()),
            strike: it.strike.map(|place| book.struck()[place].clone()),
        })
    };
    book.struck_readings().into_iter().filter_map(of).collect()
}

fn forecasts(book: &Book) -> Vec<Struck> {
    let strikes = book.struck().iter().filter(|strike| strike.what == EntryKind::Forecast);
    let by_id: HashMap<String, &Strike> =
        strikes.flat_map(|it| [(plain_id(&it.id), it), (it.id.clone(), it)]).collect();
    let of = |(id, kept): (&String, &KeptForecast)| {
        let strike = by_id.get(id).or_else(|| by_id.get(&plain_id(id)));
        let name = kept.name.to_string();
        Struck {
            kind: EntryKind::Forecast,
            // The second forecast of a name has the id `NAME/2`.
            id: strike.map_or_else(|| name.clone(), |strike| strike.id.clone()),
            name,
            entry: StruckEntry::Row,
            strike: strike.map(|it| (*it).clone()),
        }
    };
    book.restorable_forecasts().into_iter().map(of).collect()
}

/// Refuses an entry that was struck more often by now than somebody has seen: it is another one, or
/// has other values.
pub(crate) fn is_as_seen(
    now: &Book,
    kind: EntryKind,
    id: &str,
    seen: usize,
) -> Result<(), BookError> {
    match now.times_struck(kind, id) == seen {
        true => Ok(()),
        false => Err(BookError::Clash(format!(
            "{kind} '{id}' was corrected or struck meanwhile; look at it again"
        ))),
    }
}

/// The readings that are struck with these trials, each by its id and how often that was struck:
/// one that was corrected, or recorded again, is another one.
pub(crate) fn readings_along(book: &Book, trials: &[String]) -> Vec<String> {
    let is_along = |it: &&Reading| trials.iter().any(|id| id == it.trial.as_str());
    let ids = book.readings().iter().filter(is_along).map(reading_id);
    ids.map(|id| format!("{id} {}", book.times_struck(EntryKind::Reading, &id))).collect()
}

/// Refuses trials that have other [`readings_along`] by now than somebody has seen.
pub(crate) fn are_along_as_seen(
    now: &Book,
    trials: &[String],
    seen: &[String],
) -> Result<(), BookError> {
    match readings_along(now, trials) == seen {
        true => Ok(()),
        false => Err(BookError::Clash(format!(
            "readings of trial '{}' were added, corrected or struck meanwhile; look at it again",
            trials.join("', '")
        ))),
    }
}
