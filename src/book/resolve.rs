//! Which entries count, and which were struck.
//!
//! Strikes are counted: *n* strikes of one name strike the first *n* rows with that name, in the
//! order of the file. So an entry struck and recorded again under the same name is live, whatever
//! the dates say. Striking a trial strikes each of its readings by a strike of its own (the
//! program writes them together). Readings of a trial that is struck and not recorded again do
//! not count even when somebody struck only the trial by hand.

use super::contents::Contents;
use super::faults::Faults;
use super::files::BookFile;
use super::kept_rows::forecast_ids;
use super::record::Located;
use super::{EntryKind, Location, Strike, reading_id};
use crate::trade::{Name, Reading};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// The entries that count and those that were struck. Both hold no strikes.
#[derive(Clone, Debug, Default)]
pub(super) struct Resolved {
    pub(super) live: Contents,
    pub(super) gone: Contents,
    /// What each live forecast is called when it is struck.
    pub(super) forecast_ids: Vec<String>,
}

/// The rows of the strikes that are still to be matched, by what they name.
struct Strikes {
    open: BTreeMap<(EntryKind, String), VecDeque<Option<usize>>>,
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

    /// Whether a strike strikes the next row named `id`.
    fn take(&mut self, kind: EntryKind, id: &str) -> bool {
        self.open.get_mut(&(kind, id.to_owned())).is_some_and(|rows| rows.pop_front().is_some())
    }

    /// Parts `rows` into those that count and those that are struck.
    fn part<T>(
        &mut self,
        kind: EntryKind,
        rows: Vec<Located<T>>,
        id: impl Fn(&T) -> String,
    ) -> (Vec<Located<T>>, Vec<Located<T>>) {
        if !self.open.keys().any(|(struck, _)| *struck == kind) {
            return (rows, Vec::new());
        }
        rows.into_iter().partition(|row| !self.take(kind, &id(&row.value)))
    }

    /// Strikes that strike nothing.
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

/// The place of a row; only the file for one that is not written yet.
pub(super) fn place(file: BookFile, row: Option<usize>) -> Location {
    Location { row, ..Location::file(file.name()) }
}

/// Parts what counts from what was struck. Strikes that strike nothing are faults.
pub(super) fn resolve(contents: Contents) -> (Resolved, Faults) {
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
    let (mut ids, of_rows) = (Vec::new(), forecast_ids(&contents.forecasts));
    for (row, id) in contents.forecasts.into_iter().zip(of_rows) {
        if strikes.take(EntryKind::Forecast, &id) {
            gone.forecasts.push(row);
        } else {
            live.forecasts.push(row);
            ids.push(id);
        }
    }
    let faults = strikes.left();
    set_orphans_aside(&mut live, &mut gone);
    (Resolved { live, gone, forecast_ids: ids }, faults)
}

/// Takes out the written readings of trials that were struck and not recorded again.
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
