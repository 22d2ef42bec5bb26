//! Decides which entries count and which were struck.
//!
//! Strikes are counted: *n* strikes of one name strike the first *n* rows with that name, in the
//! order of the file. So an entry struck and recorded again under the same name is live, whatever
//! the dates are. A strike first matches a row with exactly its id. The remaining strikes match
//! rows by the id that older books wrote, without the backslashes of [`reading_id`].
//!
//! A spreadsheet may have sorted a file since. If `changes.csv` shows which row of a name was added
//! last, that row counts, wherever it is now.
//!
//! Striking a trial also writes a strike for each of its readings. If a person strikes only the
//! trial by hand, its readings do not count either, unless the trial was recorded again.

use super::contents::Contents;
use super::forecast::forecast_ids;
use super::held::{EntryKind, in_id, plain_id, reading_id};
use super::record::{Located, Standing, place};
use super::struck::Strikes;
use crate::book::check::faults::Faults;
use crate::book::error::Fault;
use crate::book::files::names::BookFile;
use crate::book::notice::Notice;
use crate::trade::{KeptForecast, Name, Reading};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// The entries that count (`live`) and the struck ones (`gone`). Neither contains strikes.
#[derive(Clone, Debug, Default)]
pub(in crate::book) struct Resolved {
    pub(in crate::book) live: Contents,
    pub(in crate::book) gone: Contents,
    /// How many readings in `gone` were struck individually. Those after them went with their
    /// trials.
    struck_alone: usize,
    pub(in crate::book) forecast_ids: ForecastIds,
    /// Where it is not certain which row of an entry is struck, if the file was edited.
    pub(in crate::book) unsure: Vec<Notice>,
}

/// The id of each forecast for striking it, in the order of the lists in [`Resolved`].
#[derive(Clone, Debug, Default)]
pub(in crate::book) struct ForecastIds {
    pub(in crate::book) live: Vec<String>,
    pub(in crate::book) gone: Vec<String>,
}

/// Separates live entries from struck ones. Strikes that match nothing are faults.
pub(in crate::book) fn resolve(contents: Contents) -> (Resolved, Faults) {
    let mut strikes = Strikes::of(&contents);
    let papers = strikes.strike(EntryKind::Paper, &contents.papers, |it| it.name.to_string());
    let threads = strikes.strike(EntryKind::Thread, &contents.threads, |it| it.name.to_string());
    let targets = strikes.strike(EntryKind::Target, &contents.targets, |it| it.name.to_string());
    let trials = strikes.strike(EntryKind::Trial, &contents.trials, |it| it.name.to_string());
    let readings = strikes.strike(EntryKind::Reading, &contents.readings, reading_id);
    let plans = strikes.strike(EntryKind::Plan, &contents.plans, |it| it.name.to_string());
    let ids = forecast_ids(&contents.forecasts);
    let forecasts = strikes.strike_forecasts(&contents.forecasts, &ids);
    let (faults, unsure) = strikes.left();
    let (mut live, mut gone) = (Contents::default(), Contents::default());
    (live.papers, gone.papers) = part(contents.papers, papers);
    (live.threads, gone.threads) = part(contents.threads, threads);
    (live.targets, gone.targets) = part(contents.targets, targets);
    (live.trials, gone.trials) = part(contents.trials, trials);
    (live.readings, gone.readings) = part(contents.readings, readings);
    (live.plans, gone.plans) = part(contents.plans, plans);
    // Changes and headings cannot be struck. Changes keep a form from being written twice.
    live.changes = contents.changes;
    live.headings = contents.headings;
    let of_rows = contents.forecasts.into_iter().zip(ids).collect();
    let (mut of_live, of_gone) = part(of_rows, forecasts);
    in_order_of_keeping(&mut of_live, &of_gone);
    let (live_ids, gone_ids);
    (live.forecasts, live_ids) = of_live.into_iter().unzip();
    (gone.forecasts, gone_ids) = of_gone.into_iter().unzip();
    let struck_alone = gone.readings.len();
    set_orphans_aside(&mut live, &mut gone);
    let forecast_ids = ForecastIds { live: live_ids, gone: gone_ids };
    (Resolved { live, gone, struck_alone, forecast_ids, unsure }, faults)
}

/// Splits `rows` into live and struck ones. Without `struck` all are live.
fn part<T>(rows: Vec<T>, struck: Vec<bool>) -> (Vec<T>, Vec<T>) {
    if struck.is_empty() {
        return (rows, Vec::new());
    }
    let mut struck = struck.into_iter();
    rows.into_iter().partition(|_| !struck.next().unwrap_or_default())
}

type WithId = (Located<KeptForecast>, String);

/// Whether two forecasts are one, under the same name or under another.
fn is_same(one: &KeptForecast, other: &KeptForecast) -> bool {
    let KeptForecast { name: _, made, plan, swell, aim, outcome_percent } = other;
    (one.made, &one.plan, one.swell, &one.aim, one.outcome_percent)
        == (*made, plan, *swell, aim, *outcome_percent)
}

/// Sorts forecasts by the first row of each. One that was struck and brought back, or moved to
/// another name, has a row at the end of the file too. Of several forecasts of one name and day the
/// last one counts, so it must keep the place that it had.
fn in_order_of_keeping(live: &mut [WithId], gone: &[WithId]) {
    let mut struck: BTreeMap<Date, Vec<&Located<KeptForecast>>> = BTreeMap::new();
    gone.iter().for_each(|(row, _)| struck.entry(row.value.made).or_default().push(row));
    live.sort_by_cached_key(|(row, _)| {
        let same_day = struck.get(&row.value.made).into_iter().flatten();
        let mut before = same_day.filter(|gone| gone.row < row.row || row.row.is_none());
        let first = before.find(|gone| is_same(&gone.value, &row.value));
        first.map_or(row.row, |gone| gone.row).map_or(u32::MAX, |row| row.get())
    });
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
