//! Struck entries, each with its reason.

use crate::book::{Book, Entries, EntryKind, Strike, plain_id, reading_id};
use crate::trade::{Paper, Reading, Target, Thread, Trial};
use std::collections::{BTreeMap, VecDeque};

/// A struck entry and its strike; `None` for a reading that went with its trial.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Struck<T> {
    pub entry: T,
    pub strike: Option<Strike>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct AllStruck {
    pub papers: Vec<Struck<Paper>>,
    pub threads: Vec<Struck<Thread>>,
    pub targets: Vec<Struck<Target>>,
    pub trials: Vec<Struck<Trial>>,
    pub readings: Vec<Struck<Reading>>,
}

/// The strikes of each kind and id, in the order in which they were made.
type Strikes<'b> = BTreeMap<(EntryKind, String), VecDeque<&'b Strike>>;

pub(crate) fn struck(book: &Book) -> AllStruck {
    let mut open = Strikes::new();
    for strike in book.struck() {
        open.entry((strike.what, strike.id.clone())).or_default().push_back(strike);
    }
    let Entries { papers, threads, targets, trials, readings, .. } = book.gone();
    let open = &mut open;
    AllStruck {
        papers: each(papers, EntryKind::Paper, open, |it| it.name.to_string()),
        threads: each(threads, EntryKind::Thread, open, |it| it.name.to_string()),
        targets: each(targets, EntryKind::Target, open, |it| it.name.to_string()),
        trials: each(trials, EntryKind::Trial, open, |it| it.name.to_string()),
        readings: each(readings, EntryKind::Reading, open, reading_id),
    }
}

/// Matches strikes with entries by count: the first strike of an id belongs to the first entry with
/// that id, and so on.
fn each<T>(
    entries: Vec<T>,
    kind: EntryKind,
    open: &mut Strikes<'_>,
    id: impl Fn(&T) -> String,
) -> Vec<Struck<T>> {
    let mut take = |id: &str| open.get_mut(&(kind, id.to_owned()))?.pop_front().cloned();
    let of = |entry: T| {
        let id = id(&entry);
        // Older books wrote ids in this form.
        let strike = take(&id).or_else(|| take(&plain_id(&id)));
        Struck { entry, strike }
    };
    entries.into_iter().map(of).collect()
}
