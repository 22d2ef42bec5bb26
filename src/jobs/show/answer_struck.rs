//! All struck entries in one list.

use crate::book::{Book, EntryKind, Strike, reading_id};
use crate::jobs::entries::answer_struck::{OfTrial, Struck, struck};
use crate::trade::{Name, Paper, Reading, Target, Thread, Trial};
use crate::units::fields_of;

/// A struck entry as it was written.
#[derive(Clone, Debug)]
pub(crate) enum StruckEntry {
    Paper(Paper),
    Thread(Thread),
    Target(Target),
    Trial(Trial),
    Reading(Reading),
    /// A plan or a forecast stays in its file; its id identifies the row.
    Row,
}

/// A struck entry with its strike.
#[derive(Clone, Debug)]
pub(crate) struct HeldStruck {
    pub kind: EntryKind,
    pub id: String,
    /// Its name; for a reading, the present name of its trial.
    pub name: String,
    pub entry: StruckEntry,
    /// `None` for a reading struck with its trial.
    pub strike: Option<Strike>,
}

fields_of! { HeldStruck, |it|
    let strike = it.strike.as_ref();
    "kind": it.kind.word(),
    "id": it.id,
    "date": strike.map(|strike| strike.date.to_string()),
    "reason": strike.map(|strike| &strike.reason),
}

/// The struck entries of a book, each kind in the order of its file.
pub(super) fn all(book: &Book) -> Vec<HeldStruck> {
    let all = struck(book);
    let mut held = named(all.papers, EntryKind::Paper, |it| &it.name, StruckEntry::Paper);
    held.extend(named(all.threads, EntryKind::Thread, |it| &it.name, StruckEntry::Thread));
    held.extend(named(all.targets, EntryKind::Target, |it| &it.name, StruckEntry::Target));
    held.extend(named(all.trials, EntryKind::Trial, |it| &it.name, StruckEntry::Trial));
    held.extend(all.readings.into_iter().map(reading));
    held.extend(named(all.plans, EntryKind::Plan, |it| &it.name, |_| StruckEntry::Row));
    held.extend(named(all.forecasts, EntryKind::Forecast, |it| &it.name, |_| StruckEntry::Row));
    held
}

fn named<T>(
    struck: Vec<Struck<T>>,
    kind: EntryKind,
    name: fn(&T) -> &Name,
    entry: fn(T) -> StruckEntry,
) -> Vec<HeldStruck> {
    let of = |it: Struck<T>| {
        let name = name(&it.entry).to_string();
        // The second forecast of a name has the id `NAME/2`.
        let id = it.strike.as_ref().map_or_else(|| name.clone(), |strike| strike.id.clone());
        HeldStruck { kind, id, name, entry: entry(it.entry), strike: it.strike }
    };
    struck.into_iter().map(of).collect()
}

fn reading(OfTrial { trial, struck }: OfTrial) -> HeldStruck {
    let (id, name) = (reading_id(&struck.entry), trial.to_string());
    let (entry, strike) = (StruckEntry::Reading(struck.entry), struck.strike);
    HeldStruck { kind: EntryKind::Reading, id, name, entry, strike }
}
