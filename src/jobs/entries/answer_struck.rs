//! Struck entries, each with its reason.

use crate::book::{
    Book, BookError, Entries, EntryKind, ReadingKey, Strike, StruckReading, plain_id,
};
use crate::trade::{KeptForecast, Name, Paper, Reading, SavedPlan, Target, Thread, Trial};
use std::collections::{BTreeMap, HashMap, VecDeque};

/// A struck entry and its strike; `None` for a reading that went with its trial.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Struck<T> {
    pub entry: T,
    pub strike: Option<Strike>,
}

/// A struck reading, and the present name of its trial.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct OfTrial {
    pub trial: Name,
    pub struck: Struck<Reading>,
}

/// The struck entries of a book, without those that it has again as they were.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct AllStruck {
    pub papers: Vec<Struck<Paper>>,
    pub threads: Vec<Struck<Thread>>,
    pub targets: Vec<Struck<Target>>,
    pub trials: Vec<Struck<Trial>>,
    pub readings: Vec<OfTrial>,
    pub plans: Vec<Struck<SavedPlan>>,
    pub forecasts: Vec<Struck<KeptForecast>>,
}

/// The strikes of each kind and id, in the order in which they were made.
type Strikes<'b> = BTreeMap<(EntryKind, String), VecDeque<&'b Strike>>;

pub(crate) fn struck(book: &Book) -> AllStruck {
    let mut open = Strikes::new();
    for strike in book.struck() {
        open.entry((strike.what, strike.id.clone())).or_default().push_back(strike);
    }
    let Entries { papers, threads, targets, trials, plans, .. } = book.gone();
    let (open, live) = (&mut open, book.entries());
    AllStruck {
        papers: each(papers, &live.papers, EntryKind::Paper, open, |it| &it.name),
        threads: each(threads, &live.threads, EntryKind::Thread, open, |it| &it.name),
        targets: each(targets, &live.targets, EntryKind::Target, open, |it| &it.name),
        trials: each(trials, &live.trials, EntryKind::Trial, open, |it| &it.name),
        readings: readings(book),
        plans: each(plans, &live.plans, EntryKind::Plan, open, |it| &it.name),
        forecasts: forecasts(book),
    }
}

/// Matches strikes with entries by count: the first strike of a name belongs to the first entry with
/// that name, and so on.
fn each<T: PartialEq>(
    entries: Vec<T>,
    live: &[T],
    kind: EntryKind,
    open: &mut Strikes<'_>,
    name: fn(&T) -> &Name,
) -> Vec<Struck<T>> {
    let live: HashMap<&Name, &T> = live.iter().map(|entry| (name(entry), entry)).collect();
    let mut take = |id: &str| open.get_mut(&(kind, id.to_owned()))?.pop_front().cloned();
    let of = |entry: T| Struck { strike: take(name(&entry).as_str()), entry };
    let mut all: Vec<Struck<T>> = entries.into_iter().map(of).collect();
    all.retain(|struck| live.get(name(&struck.entry)) != Some(&&struck.entry));
    all
}

fn readings(book: &Book) -> Vec<OfTrial> {
    let live: HashMap<ReadingKey<'_>, &Reading> =
        book.readings().iter().map(|it| ((&it.trial, it.state, &it.place), it)).collect();
    let of = |it: StruckReading<'_>| {
        let now = it.now();
        let is_back = |now: &Reading| live.get(&(&now.trial, now.state, &now.place)) == Some(&now);
        if now.as_ref().is_some_and(is_back) {
            return None;
        }
        let strike = it.strike.map(|place| book.struck()[place].clone());
        let trial = it.trial.unwrap_or(&it.reading.trial).clone();
        Some(OfTrial { trial, struck: Struck { entry: it.reading.clone(), strike } })
    };
    book.struck_readings().into_iter().filter_map(of).collect()
}

/// Refuses an entry that was struck more often by now than somebody has seen: it is another one, or
/// has other values.
///
/// # Errors
/// [`BookError::Clash`].
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

/// The number of readings that are struck with these trials.
pub(crate) fn readings_along(book: &Book, trials: &[String]) -> usize {
    let is_along = |it: &&Reading| trials.iter().any(|id| id == it.trial.as_str());
    book.readings().iter().filter(is_along).count()
}

/// Refuses trials that have more or fewer readings by now than somebody has seen.
///
/// # Errors
/// [`BookError::Clash`].
pub(crate) fn are_along_as_seen(
    now: &Book,
    trials: &[String],
    seen: usize,
) -> Result<(), BookError> {
    let along = readings_along(now, trials);
    match along == seen {
        true => Ok(()),
        false => Err(BookError::Clash(format!(
            "readings of trial '{}' were added or struck meanwhile: {seen} before, {along} now; look \
             at it again",
            trials.join("', '")
        ))),
    }
}

fn forecasts(book: &Book) -> Vec<Struck<KeptForecast>> {
    let strikes = book.struck().iter().filter(|strike| strike.what == EntryKind::Forecast);
    let by_id: HashMap<String, &Strike> =
        strikes.flat_map(|it| [(plain_id(&it.id), it), (it.id.clone(), it)]).collect();
    let of = |(id, entry): (&String, &KeptForecast)| Struck {
        strike: by_id.get(id).or_else(|| by_id.get(&plain_id(id))).map(|it| (*it).clone()),
        entry: entry.clone(),
    };
    book.restorable_forecasts().into_iter().map(of).collect()
}
