//! Undo and redo: what an earlier change added is struck, and what it struck is added again. Files
//! only grow.

use crate::book::entries::added::Added;
use crate::book::entries::contents::Contents;
use crate::book::entries::held::{
    Change, Entries, EntryKind, Named, OwnHeading, ReadingKey, Strike, Turn, by_name, plain_id,
    reading_id, reading_key,
};
use crate::book::entries::noted::digest;
use crate::book::entries::record::Located;
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use crate::book::notice::Notice;
use crate::book::opened::{Book, Kept};
use crate::trade::{KeptForecast, Name, Reading};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ops::Range;

/// The changes that count, and the undos that can be redone, by their positions in
/// [`Book::changes`], last one last.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct History {
    /// The changes that count and can be undone.
    pub done: Vec<usize>,
    /// The undos that can be taken back, because nothing else was written since.
    pub taken: Vec<usize>,
    /// What `done` wrote at first: in place of a redo, the change that it brought back.
    pub written: Vec<usize>,
}

/// A change and the entries that reverse it.
#[derive(Clone, Debug, PartialEq)]
pub struct Back {
    /// The position of the change in [`Book::changes`].
    pub place: usize,
    pub change: Change,
    /// Strikes for what it added, and again what it struck. A row for `changes.csv` is not included
    /// yet.
    pub entries: Entries,
}

impl Book {
    /// Works out which changes count.
    pub fn history(&self) -> History {
        let (mut history, mut unwritten) = (History::default(), Vec::new());
        for (place, change) in self.changes().iter().enumerate() {
            match change.turn {
                // A row written by hand does not say what it added.
                _ if change.added.is_none() => {}
                None => {
                    history.done.push(place);
                    history.written.push(place);
                    history.taken.clear();
                }
                Some(Turn::Undo) => {
                    history.taken.extend(history.done.pop().map(|_| place));
                    unwritten.extend(history.written.pop());
                }
                Some(Turn::Redo) => {
                    history.done.extend(history.taken.pop().map(|_| place));
                    history.written.extend(unwritten.pop());
                }
            }
        }
        history
    }

    /// Whether each strike is in force: no undo took it back, and no undo made it.
    pub(in crate::book) fn strikes_in_force(&self) -> Vec<bool> {
        let done: BTreeSet<usize> = self.history().done.into_iter().collect();
        let mut in_force = vec![true; self.struck().len()];
        for (place, change) in self.changes().iter().enumerate() {
            let added = change.added.as_ref().filter(|_| !done.contains(&place));
            let those = added.and_then(|it| in_force.get_mut(it.rows_of(BookFile::Struck)));
            those.into_iter().for_each(|those| those.fill(false));
        }
        in_force
    }

    /// What undoes the last change that counts, or redoes what the last undo took back. Its strikes
    /// are dated `date`.
    ///
    /// # Errors
    /// [`BookError::Clash`] if there is nothing to undo or redo; if the rows are not what they
    /// were; if what was added is no longer there as it was; if `changes.csv` has lost rows.
    pub fn back(&self, turn: Turn, date: Date) -> Result<Back, BookError> {
        let of_changes = |notice: &Notice| *notice.place().file == *BookFile::Changes.name();
        if self.notices().iter().any(|notice| notice.has_lost_lines() && of_changes(notice)) {
            return Err(BookError::Clash(SHORTER.to_owned()));
        }
        let History { done, taken, .. } = self.history();
        let last = match turn {
            Turn::Undo => done.last(),
            Turn::Redo => taken.last(),
        };
        let place = *last.ok_or_else(|| BookError::Clash(nothing(turn).to_owned()))?;
        let change = self.changes()[place].clone();
        let added = change.added.as_ref().and_then(|added| self.rows_at(added));
        let (rows, back) = added.ok_or_else(|| changed_outside(&change))?;
        let reason = turn.reason().to_owned();
        let strike = |(what, id)| Strike { what, id, reason: reason.clone(), date };
        let strikes = self.ids_of(&rows)?.into_iter().map(strike).collect();
        Ok(Back { place, change, entries: Entries { strikes, ..back } })
    }

    /// The entries that a change added, except its strikes, and the entries that those struck.
    /// `None` if the rows are not what they were.
    fn rows_at(&self, added: &Added) -> Option<(Entries, Entries)> {
        fn rows<T: Kept + Clone>(book: &Book, added: &Added) -> Vec<T> {
            let wanted = added.rows_of(T::FILE);
            if wanted.is_empty() {
                return Vec::new();
            }
            let all = book.in_file();
            all.get(wanted).unwrap_or_default().iter().map(|value: &&T| (*value).clone()).collect()
        }
        let struck = added.rows_of(BookFile::Struck);
        let headings = added.rows_of(BookFile::Headings);
        let whole = Entries {
            papers: rows(self, added),
            threads: rows(self, added),
            targets: rows(self, added),
            trials: rows(self, added),
            readings: rows(self, added),
            forecasts: rows(self, added),
            plans: rows(self, added),
            headings: self.headings().get(headings.clone())?.to_vec(),
            strikes: self.struck().get(struck.clone())?.to_vec(),
            changes: Vec::new(),
        };
        let is_same = digest(&whole) == added.digest;
        let headings = OwnHeading::before(self.headings(), headings);
        let back = || Entries { headings, ..self.struck_by(struck) };
        is_same.then(|| (Entries { strikes: Vec::new(), ..whole }, back()))
    }

    /// The entries struck by these of [`Book::struck`]. Strikes are counted: the second one of an
    /// id struck the second row with that id.
    pub(in crate::book) fn struck_by(&self, which: Range<usize>) -> Entries {
        let mut seen: HashMap<(EntryKind, &str), usize> = HashMap::new();
        let mut wanted: BTreeMap<EntryKind, HashMap<&str, Vec<usize>>> = BTreeMap::new();
        for (place, strike) in self.struck().iter().enumerate().take(which.end) {
            let key = (strike.what, &*strike.id);
            let count = seen.entry(key).or_default();
            if which.contains(&place) {
                wanted.entry(key.0).or_default().entry(key.1).or_default().push(*count);
            }
            *count += 1;
        }
        let Contents { papers, threads, targets, trials, readings, forecasts, plans, .. } =
            &self.gone;
        let of = |kind| wanted.get(&kind);
        let mut forecast_ids = self.forecast_ids.gone.iter();
        Entries {
            papers: found(of(EntryKind::Paper), papers, |it| it.name.to_string()),
            threads: found(of(EntryKind::Thread), threads, |it| it.name.to_string()),
            targets: found(of(EntryKind::Target), targets, |it| it.name.to_string()),
            trials: found(of(EntryKind::Trial), trials, |it| it.name.to_string()),
            readings: found(of(EntryKind::Reading), readings, reading_id),
            forecasts: found(of(EntryKind::Forecast), forecasts, |_| {
                forecast_ids.next().cloned().unwrap_or_default()
            }),
            plans: found(of(EntryKind::Plan), plans, |it| it.name.to_string()),
            ..Entries::default()
        }
    }

    /// The kinds and ids to strike to take `rows` out. All of them must be in the book unchanged.
    fn ids_of(&self, rows: &Entries) -> Result<Vec<Id>, BookError> {
        let live = &self.live;
        let mut ids = there(&rows.trials, &live.trials)?;
        self.check_readings(rows)?;
        let new: BTreeSet<&Name> = rows.trials.iter().map(|trial| &trial.name).collect();
        // The readings of these trials are struck with them.
        let readings = rows.readings.iter().filter(|reading| !new.contains(&reading.trial));
        ids.extend(readings.map(|reading| (EntryKind::Reading, reading_id(reading))));
        ids.extend(there(&rows.threads, &live.threads)?);
        ids.extend(there(&rows.papers, &live.papers)?);
        ids.extend(there(&rows.targets, &live.targets)?);
        ids.extend(self.forecasts_there(&rows.forecasts)?);
        ids.extend(there(&rows.plans, &live.plans)?);
        Ok(ids)
    }

    /// Checks that the readings of a change are as it wrote them, and that its trials have no
    /// others.
    fn check_readings(&self, rows: &Entries) -> Result<(), BookError> {
        if rows.readings.is_empty() && rows.trials.is_empty() {
            return Ok(());
        }
        let live: HashMap<ReadingKey<'_>, &Reading> =
            self.readings().iter().map(|reading| (reading_key(reading), reading)).collect();
        let mut counts: BTreeMap<&Name, usize> = BTreeMap::new();
        for reading in &rows.readings {
            if live.get(&reading_key(reading)) != Some(&reading) {
                return Err(other_by_now(EntryKind::Reading, &reading_id(reading)));
            }
            *counts.entry(&reading.trial).or_default() += 1;
        }
        let mut others: BTreeMap<&Name, usize> =
            rows.trials.iter().map(|trial| (&trial.name, 0)).collect();
        for reading in self.readings() {
            others.entry(&reading.trial).and_modify(|count| *count += 1);
        }
        let more =
            |(name, count): &(&&Name, &usize)| **count > counts.get(*name).map_or(0, |it| *it);
        others.iter().find(more).map_or(Ok(()), |(name, _)| {
            Err(BookError::Clash(format!(
                "trial '{name}' has readings that this change did not add; strike the trial instead"
            )))
        })
    }

    /// The ids of forecasts equal to these; of several equal ones the last.
    fn forecasts_there(&self, rows: &[KeptForecast]) -> Result<Vec<Id>, BookError> {
        let mut open: Vec<(&KeptForecast, &String)> =
            self.forecasts().iter().zip(self.forecast_ids()).collect();
        let mut found = Vec::new();
        for forecast in rows.iter().rev() {
            let place = open.iter().rposition(|(it, _)| *it == forecast);
            let place =
                place.ok_or_else(|| other_by_now(EntryKind::Forecast, forecast.name.as_str()))?;
            found.push((EntryKind::Forecast, open.remove(place).1.clone()));
        }
        Ok(found)
    }
}

/// The rows with these ids. The first row with an id has the number 0.
fn found<T: Clone>(
    wanted: Option<&HashMap<&str, Vec<usize>>>,
    rows: &[Located<T>],
    mut id: impl FnMut(&T) -> String,
) -> Vec<T> {
    let Some(wanted) = wanted else { return Vec::new() };
    let mut seen: HashMap<String, usize> = HashMap::new();
    let mut is_wanted = |id: String| {
        let Some(numbers) = wanted.get(&*id) else { return false };
        let count = seen.entry(id).or_default();
        *count += 1;
        numbers.contains(&(*count - 1))
    };
    rows.iter().filter(|row| is_wanted(id(&row.value))).map(|row| row.value.clone()).collect()
}

type Id = (EntryKind, String);

/// The names of `rows`, if each is among the `live` entries unchanged.
fn there<T: Named + PartialEq>(rows: &[T], live: &[T]) -> Result<Vec<Id>, BookError> {
    let live = by_name(live);
    let id = |row: &T| match live.get(row.name()) == Some(&row) {
        true => Ok((T::KIND, row.name().to_string())),
        false => Err(other_by_now(T::KIND, row.name().as_str())),
    };
    rows.iter().map(id).collect()
}

/// Its last row may then not be the last change.
const SHORTER: &str = "changes.csv has fewer rows than swellbook left in it, so the last change may \
                       be missing; bring back the newer file, or use `swellbook strike` and \
                       `swellbook restore`";

fn nothing(turn: Turn) -> &'static str {
    match turn {
        Turn::Undo => {
            "nothing left to undo in changes.csv; use `swellbook strike` to take out an entry, or \
             `swellbook restore` to bring one back"
        }
        Turn::Redo => "nothing to redo: the last change is not an undo, or it was already redone",
    }
}

fn changed_outside(change: &Change) -> BookError {
    BookError::Clash(format!(
        "the rows of '{}' ({}) have changed since they were written: a file was edited or sorted outside \
         swellbook; use `swellbook strike` to take out an entry, or `swellbook restore` to bring \
         one back",
        change.said, change.date
    ))
}

fn other_by_now(kind: EntryKind, id: &str) -> BookError {
    let id = plain_id(id);
    BookError::Clash(format!(
        "{kind} '{id}' is not in the book as this change wrote it: a file was edited outside \
         swellbook; use `swellbook strike` to take out an entry, or `swellbook restore` to bring \
         one back"
    ))
}
