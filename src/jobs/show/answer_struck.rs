//! All struck entries in one list.

use crate::book::{Book, EntryKind, Strike, plain_id, reading_id};
use crate::jobs::entries::answer_struck::{AllStruck, Struck, struck};
use crate::trade::{Name, Paper, Reading, Target, Thread, Trial};
use crate::units::fields;
use serde::{Serialize, Serializer};

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
    /// Its name; for a reading, the name of its trial.
    pub name: String,
    pub entry: StruckEntry,
    /// `None` for a reading struck with its trial.
    pub strike: Option<Strike>,
}

impl Serialize for HeldStruck {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let strike = self.strike.as_ref();
        fields!(serializer,
            "kind": self.kind.word(),
            "id": self.id,
            "date": strike.map(|strike| strike.date.to_string()),
            "reason": strike.map(|strike| &strike.reason),
        )
    }
}

/// Every struck entry of a book, each kind in the order of its file.
pub(super) fn all(book: &Book) -> Vec<HeldStruck> {
    let AllStruck { papers, threads, targets, trials, readings } = struck(book);
    let of = |kind| book.struck().iter().filter(move |strike| strike.what == kind);
    let mut all = named(papers, EntryKind::Paper, |it| &it.name, StruckEntry::Paper);
    all.extend(named(threads, EntryKind::Thread, |it| &it.name, StruckEntry::Thread));
    all.extend(named(targets, EntryKind::Target, |it| &it.name, StruckEntry::Target));
    all.extend(named(trials, EntryKind::Trial, |it| &it.name, StruckEntry::Trial));
    all.extend(readings.into_iter().map(reading));
    all.extend(of(EntryKind::Plan).map(|strike| row(strike, strike.id.clone())));
    all.extend(of(EntryKind::Forecast).map(|strike| row(strike, forecast_name(&strike.id))));
    all
}

fn named<T>(
    struck: Vec<Struck<T>>,
    kind: EntryKind,
    name: fn(&T) -> &Name,
    entry: fn(T) -> StruckEntry,
) -> Vec<HeldStruck> {
    let of = |it: Struck<T>| {
        let name = name(&it.entry).to_string();
        HeldStruck { kind, id: name.clone(), name, entry: entry(it.entry), strike: it.strike }
    };
    struck.into_iter().map(of).collect()
}

fn reading(Struck { entry, strike }: Struck<Reading>) -> HeldStruck {
    let (id, name) = (reading_id(&entry), entry.trial.to_string());
    HeldStruck { kind: EntryKind::Reading, id, name, entry: StruckEntry::Reading(entry), strike }
}

fn row(strike: &Strike, name: String) -> HeldStruck {
    let (kind, id, strike) = (strike.what, strike.id.clone(), Some(strike.clone()));
    HeldStruck { kind, id, name, entry: StruckEntry::Row, strike }
}

fn forecast_name(id: &str) -> String {
    // The second row of a name is `NAME/2`; a slash within a name is escaped by a backslash.
    plain_id(match id.rsplit_once('/') {
        Some((name, row)) if !name.ends_with('\\') && row.parse::<u32>().is_ok() => name,
        _ => id,
    })
}
