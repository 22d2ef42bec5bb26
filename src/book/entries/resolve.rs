//! Decides which entries count and which were struck.
//!
//! Strikes are counted: *n* strikes of one name strike the first *n* rows with that name, in the
//! order of the file. So an entry struck and recorded again under the same name is live, whatever
//! the dates are. A strike first matches a row with exactly its id. The remaining strikes match
//! rows by the id that older books wrote, without the backslashes of [`reading_id`].
//!
//! Striking a trial also writes a strike for each of its readings. If a person strikes only the
//! trial by hand, its readings do not count either, unless the trial was recorded again.

use super::contents::Contents;
use super::forecast::forecast_ids;
use super::held::{EntryKind, Strike, in_id, plain_id, reading_id};
use super::record::{Located, Standing};
use crate::book::check::faults::Faults;
use crate::book::error::Fault;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::trade::{Name, Reading};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// The entries that count (`live`) and the struck ones (`gone`). Neither contains strikes.
#[derive(Clone, Debug, Default)]
pub(in crate::book) struct Resolved {
    pub(in crate::book) live: Contents,
    pub(in crate::book) gone: Contents,
    /// How many readings in `gone` were struck individually. Those after them went with their
    /// trials.
    struck_alone: usize,
    pub(in crate::book) forecast_ids: ForecastIds,
}

/// The id of each forecast for striking it, in the order of the lists in [`Resolved`].
#[derive(Clone, Debug, Default)]
pub(in crate::book) struct ForecastIds {
    pub(in crate::book) live: Vec<String>,
    pub(in crate::book) gone: Vec<String>,
}

/// The rows of the strikes that are not matched yet, by what they strike.
struct Strikes {
    open: BTreeMap<(EntryKind, String), VecDeque<Standing>>,
}

impl Strikes {
    fn of(strikes: &[Located<Strike>]) -> Self {
        let mut open: BTreeMap<_, VecDeque<_>> = BTreeMap::new();
        for strike in strikes {
            let key = (strike.value.what, strike.value.id.clone());
            open.entry(key).or_default().push_back(strike.row);
        }
        Self { open }
    }

    /// Uses up a strike of `id`, if there is one left.
    fn take(&mut self, kind: EntryKind, id: &str) -> bool {
        self.open.get_mut(&(kind, id.to_owned())).is_some_and(|rows| rows.pop_front().is_some())
    }

    /// Whether each of `ids`, in the order of the file, is struck.
    fn strike(&mut self, kind: EntryKind, ids: &[String]) -> Vec<bool> {
        let mut struck: Vec<bool> = ids.iter().map(|id| self.take(kind, id)).collect();
        // Ids of the other kinds are plain names, without escapes.
        let of_parts = matches!(kind, EntryKind::Reading | EntryKind::Forecast);
        let older = |id: &String| of_parts && id.contains('\\');
        for (struck, id) in struck.iter_mut().zip(ids).filter(|(_, id)| older(id)) {
            *struck = *struck || self.take(kind, &plain_id(id));
        }
        struck
    }

    /// Splits `rows` into live and struck ones.
    fn part<T>(
        &mut self,
        kind: EntryKind,
        rows: Vec<Located<T>>,
        id: impl Fn(&T) -> String,
    ) -> (Vec<Located<T>>, Vec<Located<T>>) {
        if !self.open.keys().any(|(struck, _)| *struck == kind) {
            return (rows, Vec::new());
        }
        let ids: Vec<String> = rows.iter().map(|row| id(&row.value)).collect();
        let mut struck = self.strike(kind, &ids).into_iter();
        rows.into_iter().partition(|_| !struck.next().unwrap_or_default())
    }

    /// The faults of strikes that match nothing.
    fn left(self) -> Faults {
        let mut faults = Faults::default();
        for ((kind, id), rows) in self.open {
            for row in rows {
                let message = || format!("there is no {kind} '{id}' to strike");
                faults.push_with(place(BookFile::Struck, row), message);
            }
        }
        faults
    }
}

/// The location of a row; the file alone if the row is not written yet.
pub(in crate::book) fn place(file: BookFile, row: Standing) -> Location {
    let row = row.map(|row| row.get() as usize);
    Location { row, ..Location::file(file.name()) }
}

/// Separates live entries from struck ones. Strikes that match nothing are faults.
pub(in crate::book) fn resolve(contents: Contents) -> (Resolved, Faults) {
    let mut strikes = Strikes::of(&contents.strikes);
    let (mut live, mut gone) = (Contents::default(), Contents::default());
    (live.papers, gone.papers) =
        strikes.part(EntryKind::Paper, contents.papers, |paper| paper.name.to_string());
    (live.threads, gone.threads) =
        strikes.part(EntryKind::Thread, contents.threads, |thread| thread.name.to_string());
    (live.targets, gone.targets) =
        strikes.part(EntryKind::Target, contents.targets, |target| target.name.to_string());
    (live.trials, gone.trials) =
        strikes.part(EntryKind::Trial, contents.trials, |trial| trial.name.to_string());
    (live.readings, gone.readings) =
        strikes.part(EntryKind::Reading, contents.readings, reading_id);
    (live.plans, gone.plans) =
        strikes.part(EntryKind::Plan, contents.plans, |plan| plan.name.to_string());
    // Changes and headings cannot be struck. Changes keep a form from being written twice.
    live.changes = contents.changes;
    live.headings = contents.headings;
    let mut ids = ForecastIds::default();
    let of_rows = forecast_ids(&contents.forecasts);
    let struck = strikes.strike(EntryKind::Forecast, &of_rows);
    for ((row, id), struck) in contents.forecasts.into_iter().zip(of_rows).zip(struck) {
        let (rows, ids) = match struck {
            true => (&mut gone.forecasts, &mut ids.gone),
            false => (&mut live.forecasts, &mut ids.live),
        };
        rows.push(row);
        ids.push(id);
    }
    let faults = strikes.left();
    let struck_alone = gone.readings.len();
    set_orphans_aside(&mut live, &mut gone);
    (Resolved { live, gone, struck_alone, forecast_ids: ids }, faults)
}

/// A struck entry, with its id in struck.csv as older books and as this program write it.
pub(in crate::book) struct Struck {
    key: Key,
    older: String,
    exact: String,
}

/// An entry, identified by its kind and row.
type Key = (EntryKind, Standing);

impl Resolved {
    /// The entries struck individually whose id older books may have written differently:
    /// forecasts, and readings with a slash or a backslash in a name.
    pub(in crate::book) fn struck(&self) -> Vec<Struck> {
        let readings = self.struck_readings().map(|row| (row.row, reading_id(&row.value)));
        let readings = readings.filter(|(_, id)| id.contains('\\')).map(|(row, exact)| Struck {
            key: (EntryKind::Reading, row),
            older: plain_id(&exact),
            exact,
        });
        let forecasts = self.gone.forecasts.iter().map(|row| {
            let (key, name) = ((EntryKind::Forecast, row.row), &row.value.name);
            Struck { key, older: name.to_string(), exact: in_id(name) }
        });
        readings.chain(forecasts).collect()
    }

    /// The readings struck individually, without those that went with their trials.
    fn struck_readings(&self) -> impl Iterator<Item = &Located<Reading>> {
        self.gone.readings.iter().take(self.struck_alone)
    }

    fn struck_keys(&self) -> BTreeSet<Key> {
        let readings = self.struck_readings().map(|row| (EntryKind::Reading, row.row));
        let forecasts = self.gone.forecasts.iter().map(|row| (EntryKind::Forecast, row.row));
        readings.chain(forecasts).collect()
    }
}

/// Faults for entries that were struck before and would not be after. A new entry has the id that
/// an older book wrote for them.
pub(in crate::book) fn revived(before: &[Struck], after: &Resolved) -> Vec<Fault> {
    if before.is_empty() {
        return Vec::new();
    }
    let still = after.struck_keys();
    let again = before.iter().filter(|struck| !still.contains(&struck.key));
    let fault = |Struck { key: (kind, _), older, exact }: &Struck| {
        let message = format!(
            "{kind} '{older}' was struck under an id that the new {kind} would have; in \
             struck.csv, write its name as {exact} first"
        );
        Fault::new(place(BookFile::Struck, None), message)
    };
    again.map(fault).collect()
}

/// Moves the readings of struck trials from `live` to `gone`, unless the trial was recorded again.
/// Readings that are not written yet stay.
fn set_orphans_aside(live: &mut Contents, gone: &mut Contents) {
    let names = |contents: &Contents| -> BTreeSet<Name> {
        contents.trials.iter().map(|trial| trial.value.name.clone()).collect()
    };
    let (there, struck) = (names(live), names(gone));
    if struck.is_subset(&there) {
        return;
    }
    let orphan = |reading: &Located<Reading>| {
        let trial = &reading.value.trial;
        reading.row.is_some() && struck.contains(trial) && !there.contains(trial)
    };
    let (orphans, kept) = std::mem::take(&mut live.readings).into_iter().partition(orphan);
    live.readings = kept;
    gone.readings.extend::<Vec<_>>(orphans);
}
