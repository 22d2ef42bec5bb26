//! Checks of the entries of a book against each other.

use super::faults::Faults;
use super::once::{Once, twice};
use crate::book::csv::columns::nearest;
use crate::book::entries::contents::{Contents, Unchecked};
use crate::book::entries::held::{
    ByName, Change, EntryKind, Named, Strike, by_name, reading_id, reading_key,
};
use crate::book::entries::reading::ReadingRow;
use crate::book::entries::record::{Located, Standing, place};
use crate::book::entries::resolve::{Resolved, resolve};
use crate::book::entries::table::Misfit;
use crate::book::error::{BookError, Fault};
use crate::book::files::config::Config;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::trade::{Name, Paper, Reading, Thread, Trial};
use crate::units::{LengthUnit, listed};
use std::cell::LazyCell;
use std::collections::BTreeMap;
use std::fmt;
use std::hash::{Hash, Hasher};

/// The contents of a book's files, checked and without faults.
pub(in crate::book) struct Sound {
    pub(in crate::book) config: Config,
    pub(in crate::book) resolved: Resolved,
    pub(in crate::book) strikes: Vec<Located<Strike>>,
    pub(in crate::book) notices: Vec<Notice>,
}

impl Sound {
    pub(in crate::book) fn of(unchecked: Unchecked) -> Result<Self, BookError> {
        let Unchecked { config, contents, mut notices, mut faults } = unchecked;
        // If a row could not be parsed, every row that refers to it would seem to refer to nothing.
        // So report references only if all rows were parsed.
        let complete = faults.is_empty();
        let strikes = contents.strikes.clone();
        let (resolved, left) = resolve(contents);
        let between = check(&resolved, Some(&strikes), config.unit);
        faults.absorb(between.alone);
        if complete {
            faults.absorb(left);
            faults.absorb(between.references);
        }
        faults.refuse()?;
        // In a file that nobody edited, the rows are in the order of writing.
        let is_edited = |notice: &Notice| {
            let of_it = |edit: &Notice| edit.place().file == notice.place().file;
            notices.iter().any(|edit| matches!(edit, Notice::Edited { .. }) && of_it(edit))
        };
        let mut unsure = resolved.unsure.clone();
        unsure.retain(is_edited);
        notices.extend(unsure);
        Ok(Self { config, resolved, strikes, notices })
    }

    /// All rows, struck or not, in the order of the files.
    pub(in crate::book) fn into_contents(self) -> Contents {
        let Resolved { live, gone, .. } = self.resolved;
        Contents { strikes: self.strikes, ..live.with(gone) }
    }
}

#[derive(Debug, Default)]
pub(in crate::book) struct Between {
    /// Duplicate names and impossible readings.
    pub(in crate::book) alone: Faults,
    /// References to entries that do not exist. They mean nothing while rows have faults.
    pub(in crate::book) references: Faults,
}

/// Checks entries against each other. `strikes` are those in the file, if all of the entries are in
/// the files. A fault is then removed by editing them, because no command opens the book.
pub(in crate::book) fn check(
    resolved: &Resolved,
    strikes: Option<&[Located<Strike>]>,
    unit: LengthUnit,
) -> Between {
    let (live, gone) = (&resolved.live, &resolved.gone);
    let alone = Faults::in_unit(unit);
    let mut between = Between { alone, references: Faults::default() };
    let alone = &mut between.alone;
    twice(Once::of(EntryKind::Paper), &live.papers, |paper| &paper.name, alone);
    twice(Once::of(EntryKind::Thread), &live.threads, |thread| &thread.name, alone);
    twice(Once::of(EntryKind::Target), &live.targets, |target| &target.name, alone);
    twice(Once::of(EntryKind::Trial), &live.trials, |trial| &trial.name, alone);
    twice(Once::of(EntryKind::Reading), &live.readings, ReadingId, alone);
    twice(Once::of(EntryKind::Plan), &live.plans, |plan| &plan.name, alone);
    sent_twice(&live.changes, alone);
    let (papers, threads) = (of_rows(&live.papers), of_rows(&live.threads));
    let trials = LazyCell::new(|| of_rows(&live.trials));
    let mut used = Used { trials: &live.trials, strikes, faults: &mut between.references };
    used.check(&papers, &of_rows(&gone.papers), |trial| &trial.paper);
    used.check(&threads, &of_rows(&gone.threads), |trial| &trial.thread);
    // The readings of a trial usually follow each other, in the order of the trials.
    let mut next = if between.alone.is_empty() { &live.trials[..] } else { &[] };
    for run in live.readings.chunk_by(|one, other| one.value.trial == other.value.trial) {
        let name = &run[0].value.trial;
        let trial = following(&mut next, name).or_else(|| trials.get(name).copied());
        let Some(trial) = trial else {
            run.iter().for_each(|row| no_trial(row, &trials, &mut between.references));
            continue;
        };
        // A trial without its paper or thread has been reported above.
        let stock = papers.get(&trial.paper).zip(threads.get(&trial.thread));
        let Some((paper, thread)) = stock else { continue };
        let faults = run.iter().filter_map(|row| implausible(row, trial, paper, thread, unit));
        between.alone.extend(faults);
    }
    between
}

/// The trial of this name, if it is one of the next few. Then `next` moves on to the trial after
/// it.
fn following<'a>(next: &mut &'a [Located<Trial>], name: &Name) -> Option<&'a Trial> {
    const PASSED: usize = 4;
    let at = next.iter().take(PASSED).position(|trial| trial.value.name == *name)?;
    let (passed, below) = next.split_at(at + 1);
    *next = below;
    passed.last().map(|trial| &trial.value)
}

fn of_rows<T: Named>(rows: &[Located<T>]) -> ByName<'_, T> {
    by_name(rows.iter().map(|row| &row.value))
}

/// The parts of [`reading_id`], hashed without building the text.
#[derive(Debug)]
struct ReadingId<'a>(&'a Reading);

impl Hash for ReadingId<'_> {
    fn hash<H: Hasher>(&self, hasher: &mut H) {
        reading_key(self.0).hash(hasher);
    }
}

impl fmt::Display for ReadingId<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&reading_id(self.0))
    }
}

/// Changes whose form number occurs twice.
fn sent_twice(changes: &[Located<Change>], faults: &mut Faults) {
    let sent: Vec<Located<Change>> =
        changes.iter().filter(|row| row.value.number.is_some()).cloned().collect();
    let number = |change: &Change| change.number.unwrap_or_else(|| 0.into());
    twice(Once::SEND_NUMBER, &sent, number, faults);
}

/// What trials use. `strikes` are as in [`check`].
struct Used<'a> {
    trials: &'a [Located<Trial>],
    strikes: Option<&'a [Located<Strike>]>,
    faults: &'a mut Faults,
}

impl Used<'_> {
    /// Faults for papers or threads that live trials use but that are missing or struck.
    fn check<T: Named>(
        &mut self,
        there: &ByName<'_, T>,
        gone: &ByName<'_, T>,
        used: impl Fn(&Trial) -> &Name,
    ) {
        let mut bereft: BTreeMap<&Name, Vec<&Located<Trial>>> = BTreeMap::new();
        for row in self.trials {
            let name = used(&row.value);
            if there.contains_key(name) {
                continue;
            }
            if gone.contains_key(name) {
                bereft.entry(name).or_default().push(row);
            } else {
                let message = || {
                    let unknown = unknown(name, there, row.row.is_some());
                    format!("trial '{}': {unknown}", row.value.name)
                };
                let column = row.row.map(|_| T::KIND.word().to_owned());
                let place = Location { column, ..place(BookFile::Trials, row.row) };
                self.faults.push_with(place, message);
            }
        }
        for (name, trials) in bereft {
            let at = self.strikes.map(|strikes| last_strike(T::KIND, name, strikes));
            self.faults.push(struck_but_used(T::KIND, name, &trials, at));
        }
    }
}

/// The row of the last strike of a paper or thread.
fn last_strike(kind: EntryKind, name: &Name, strikes: &[Located<Strike>]) -> Standing {
    let is_it = |row: &&Located<Strike>| row.value.what == kind && *row.value.id == *name.as_str();
    strikes.iter().rfind(is_it).and_then(|row| row.row)
}

const TRIALS_LISTED: usize = 12;

/// The fault of a paper or thread that is struck, or would be. `at` is the row of its strike, if
/// that is in the file.
fn struck_but_used(
    kind: EntryKind,
    name: &Name,
    trials: &[&Located<Trial>],
    at: Option<Standing>,
) -> Fault {
    let are_there = trials.iter().any(|trial| trial.row.is_some());
    let names: Vec<&str> = trials.iter().map(|trial| trial.value.name.as_str()).collect();
    let trials = listed(&names, TRIALS_LISTED);
    let message = match at {
        Some(_) => format!(
            "{kind} '{name}' is struck but trials use it: {trials}; edit struck.csv: remove this \
             row; or bring back the row of {kind}s.csv that was recorded since"
        ),
        None if are_there => format!("trials use {kind} '{name}': {trials}; strike those first"),
        None => format!(
            "{kind} '{name}' is struck, so no trial can use it: {trials}; record the {kind} again"
        ),
    };
    Fault::new(place(BookFile::Struck, at.flatten()), message)
}

/// The most names searched for the one that was meant. With more, the search is slow and finds a
/// neighbour for anything.
const NAMES_COMPARED: usize = 1000;

/// What to say about a name that no entry has. If it `is_in_file`, no command can add the entry.
fn unknown<T: Named>(name: &Name, there: &ByName<'_, T>, is_in_file: bool) -> String {
    let kind = T::KIND;
    let names = there.keys().take(NAMES_COMPARED).map(|name| name.as_str());
    let missing = format!("{kind} '{name}' is not in the book");
    match (nearest(name.as_str(), names), is_in_file) {
        (Some(meant), false) => format!("{missing}; is it '{meant}'?"),
        (Some(meant), true) => format!(
            "{missing}; is it '{meant}'? Then edit this row; otherwise bring back the row of \
             {kind}s.csv"
        ),
        (None, false) => format!("{missing}; record it first"),
        (None, true) => format!("{missing}; edit this row, or bring back the row of {kind}s.csv"),
    }
}

/// The fault of readings whose trial does not exist.
fn no_trial(row: &Located<Reading>, trials: &ByName<'_, Trial>, faults: &mut Faults) {
    let column = row.row.map(|_| ReadingRow::trial.name.to_owned());
    let place = Location { column, ..place(BookFile::Readings, row.row) };
    faults.push_with(place, || {
        let message = unknown(&row.value.trial, trials, row.row.is_some());
        format!("reading {}: {message}", reading_id(&row.value))
    });
}

/// The fault of a reading that is impossible for its trial.
fn implausible(
    row: &Located<Reading>,
    trial: &Trial,
    paper: &Paper,
    thread: &Thread,
    unit: LengthUnit,
) -> Option<Fault> {
    let error = row.value.check_against(trial.sewing, paper, thread).err()?;
    let message = format!("reading {}: {}", reading_id(&row.value), error.in_unit(unit));
    let Some(number) = row.row else {
        return Some(Fault::new(place(BookFile::Readings, None), message));
    };
    let number = number.get() as usize;
    let fault = Misfit::from(error).fault(BookFile::Readings.name(), unit, |_| number);
    fault.map(|fault| Fault { message, ..fault })
}
