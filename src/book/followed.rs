//! Follows entries through the changes: which entry a row is of, and what it is called now. A
//! correction strikes an entry and adds it again, perhaps under another name.

use crate::book::by_name::{ByName, First};
use crate::book::entries::added::Added;
use crate::book::entries::held::{Change, EntryKind, Named, ReadingKey, plain_id, reading_id};
use crate::book::files::names::BookFile;
use crate::book::opened::{Book, Kept};
use crate::trade::{Name, Paper, Reading, Target, Thread, Trial};
use std::collections::{BTreeMap, HashMap, VecDeque};
use std::hash::Hash;
use std::ops::Range;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StruckReading<'b> {
    pub reading: &'b Reading,
    /// The place of its strike in [`Book::struck`]; `None` if only its trial was struck, by hand.
    pub strike: Option<usize>,
    /// The present name of the trial that it was taken from; `None` if that is struck.
    pub trial: Option<&'b Name>,
}

impl<'b> StruckReading<'b> {
    /// Its trial by the present name, its state and its place; `None` if the trial is struck.
    pub fn key(&self) -> Option<ReadingKey<'b>> {
        Some((self.trial?, self.reading.state, &self.reading.place))
    }

    /// The reading as it would be now, with the present name of its trial.
    pub fn now(&self) -> Option<Reading> {
        let mut now = self.reading.clone();
        now.trial = self.trial?.clone();
        Some(now)
    }
}

impl Book {
    /// Sorts the trials by their first rows. One that was corrected, renamed or brought back has a
    /// row further down too.
    pub(in crate::book) fn sort_trials(&mut self) {
        // Without a struck row, every row is the first of its trial.
        if self.gone.trials.is_empty() {
            return;
        }
        let now = self.through(EntryKind::Trial, |_, _| {}).live;
        let firsts = self.trials().iter().map(|trial| now.get(trial.name.as_str()).copied());
        let firsts: Vec<First> = firsts.map(|first| first.unwrap_or(First::MAX)).collect();
        let values = std::mem::take(&mut self.live.trials);
        let rows = values.into_iter().zip(std::mem::take(&mut self.rows.trials));
        let mut sorted: Vec<_> = firsts.into_iter().zip(rows).collect();
        sorted.sort_by_key(|(first, _)| *first);
        (self.live.trials, self.rows.trials) = sorted.into_iter().map(|(_, row)| row).unzip();
    }

    /// The struck readings. Those that were struck individually come before those that went with
    /// their trials.
    pub fn struck_readings(&self) -> Vec<StruckReading<'_>> {
        if self.gone.readings.is_empty() {
            return Vec::new();
        }
        let gone: Vec<&Reading> = self.gone.readings.iter().map(|row| &row.value).collect();
        let strikes = self.strikes_of(EntryKind::Reading, gone.iter().map(|it| reading_id(it)));
        let at: BTreeMap<usize, usize> =
            strikes.iter().enumerate().filter_map(|(at, strike)| Some(((*strike)?, at))).collect();
        let mut firsts: Vec<Option<First>> = vec![None; gone.len()];
        let now = self.through(EntryKind::Trial, |struck, trials| {
            for (_, at) in at.range(struck) {
                let first = trials.live.get(gone[*at].trial.as_str());
                firsts[*at] = first.copied().or(firsts[*at]);
            }
        });
        let by_name: HashMap<&str, &Name> =
            self.trials().iter().map(|it| (it.name.as_str(), &it.name)).collect();
        let of_name = |(name, first): (&&str, &First)| Some((*first, *by_name.get(name)?));
        let by_first: HashMap<First, &Name> = now.live.iter().filter_map(of_name).collect();
        let trial = |reading: &Reading, first: Option<First>| match first {
            Some(first) => by_first.get(&first).copied(),
            // Files that were written by hand may say no more than the name.
            None => by_name.get(reading.trial.as_str()).copied(),
        };
        let each = gone.into_iter().zip(strikes).zip(firsts);
        each.map(|((reading, strike), first)| StruckReading {
            reading,
            strike,
            trial: trial(reading, first),
        })
        .collect()
    }

    /// The entries of a kind that got another name when the strike at `place` of [`Book::struck`]
    /// was written, or later: the names before and after, in the order of the changes.
    pub(in crate::book) fn renamed_since(
        &self,
        kind: EntryKind,
        place: usize,
    ) -> Vec<(&str, &Name)> {
        let later = self.renames(kind).into_iter().filter(|(struck, ..)| struck.end > place);
        later.map(|(_, from, to)| (from, to)).collect()
    }

    /// What entries of a kind are called now, by the names that they had before, as
    /// [`ByName::called_now`].
    pub(in crate::book) fn called_now(&self, kind: EntryKind) -> HashMap<&str, &Name> {
        if !self.struck().iter().any(|strike| strike.what == kind) {
            return HashMap::new();
        }
        let names = self.live_names(kind).into_iter();
        let now: Vec<(&str, &Name)> = names.map(|name| (name.as_str(), name)).collect();
        self.through(kind, |_, _| {}).called_now(&now)
    }

    /// The name that an entry has by now, if none of the book has the name it had.
    pub fn name_now(&self, kind: EntryKind, before: &str) -> Option<&Name> {
        self.called_now(kind).remove(before)
    }

    /// The row in which a trial was first recorded, and its name there. The trial keeps this key when
    /// it is corrected or renamed, whatever other trial gets its name.
    pub fn trial_key(&self, trial: &Name) -> Option<String> {
        let row = *self.through(EntryKind::Trial, |_, _| {}).live.get(trial.as_str())?;
        Some(format!("{row} {}", self.names_of(EntryKind::Trial).get(row)?))
    }

    pub fn trial_of_key(&self, key: &str) -> Option<&Trial> {
        let row: First = key.split_once(' ')?.0.parse().ok()?;
        let now = self.through(EntryKind::Trial, |_, _| {}).live;
        let mut trials = self.trials().iter();
        let found = trials.find(|trial| now.get(trial.name.as_str()) == Some(&row))?;
        (self.trial_key(&found.name)? == key).then_some(found)
    }

    /// The entries of a kind that got another name, in the order of the changes: the places of the
    /// strikes in [`Book::struck`], the name before and the name after.
    fn renames(&self, kind: EntryKind) -> Vec<(Range<usize>, &str, &Name)> {
        let names = self.names_of(kind);
        let one = |(_, added): (&Change, &'_ Added)| {
            let [to] = names.get(added.rows_of(file_of(kind)?))? else { return None };
            let struck = added.rows_of(BookFile::Struck);
            let [from] = self.ids_struck(kind, struck.clone())[..] else { return None };
            (from != to.as_str()).then_some((struck, from, *to))
        };
        self.logged().filter_map(one).collect()
    }

    /// The changes whose rows are known, in their order.
    pub(in crate::book) fn logged(&self) -> impl Iterator<Item = (&Change, &Added)> {
        self.changes().iter().filter_map(|change| Some((change, change.added.as_ref()?)))
    }

    /// The ids of this kind in these rows of `struck.csv`; none if there are fewer rows.
    fn ids_struck(&self, kind: EntryKind, rows: Range<usize>) -> Vec<&str> {
        let strikes = self.struck().get(rows).unwrap_or_default().iter();
        strikes.filter(|strike| strike.what == kind).map(|strike| &*strike.id).collect()
    }

    pub(in crate::book) fn live_names(&self, kind: EntryKind) -> Vec<&Name> {
        let live = &self.live;
        match kind {
            EntryKind::Paper => live.papers.iter().map(|it| &it.name).collect(),
            EntryKind::Thread => live.threads.iter().map(|it| &it.name).collect(),
            EntryKind::Target => live.targets.iter().map(|it| &it.name).collect(),
            EntryKind::Trial => live.trials.iter().map(|it| &it.name).collect(),
            EntryKind::Reading | EntryKind::Forecast | EntryKind::Plan => Vec::new(),
        }
    }

    /// The names in all rows of a file, struck or not. A kind without names of its own gives an
    /// empty list.
    fn names_of(&self, kind: EntryKind) -> Vec<&Name> {
        fn names<T: Kept + Named>(book: &Book) -> Vec<&Name> {
            book.in_file::<T>().into_iter().map(T::name).collect()
        }
        match kind {
            EntryKind::Paper => names::<Paper>(self),
            EntryKind::Thread => names::<Thread>(self),
            EntryKind::Target => names::<Target>(self),
            EntryKind::Trial => names::<Trial>(self),
            EntryKind::Reading | EntryKind::Forecast | EntryKind::Plan => Vec::new(),
        }
    }

    /// The entries of a kind with names as they are now, as [`Book::follow`].
    pub(in crate::book) fn through<'b>(
        &'b self,
        kind: EntryKind,
        at: impl FnMut(Range<usize>, &ByName<&'b str>),
    ) -> ByName<&'b str> {
        let names = self.names_of(kind);
        let rows: Vec<Option<&str>> = names.into_iter().map(|name| Some(name.as_str())).collect();
        // A kind without names of its own has no rows here.
        let file = file_of(kind).unwrap_or(BookFile::Readings);
        self.follow(file, &rows, |struck| self.ids_struck(kind, struck), at)
    }

    /// The entries of a file as they are now. `rows` has the key of each row, or `None` if it does
    /// not matter, and `struck_by` finds the keys of what rows of `struck.csv` strike. On the way,
    /// `at` gets the rows of `struck.csv` that each change added, with the entries before it; and
    /// first all rows, with the entries that no change added: older programs wrote them.
    pub(in crate::book) fn follow<K: Copy + Eq + Hash>(
        &self,
        file: BookFile,
        rows: &[Option<K>],
        struck_by: impl Fn(Range<usize>) -> Vec<K>,
        mut at: impl FnMut(Range<usize>, &ByName<K>),
    ) -> ByName<K> {
        let mut all = ByName::new();
        let mut is_logged = vec![false; rows.len()];
        for (_, added) in self.logged() {
            let those = is_logged.get_mut(added.rows_of(file));
            those.into_iter().for_each(|those| those.fill(true));
        }
        let older = rows.iter().enumerate().filter(|(row, _)| !is_logged[*row]);
        let older = older.filter_map(|(row, key)| Some((row, (*key)?)));
        older.for_each(|(row, key)| _ = all.live.entry(key).or_insert(row));
        at(0..self.struck().len(), &all);
        for (change, added) in self.logged() {
            let struck = added.rows_of(BookFile::Struck);
            at(struck.clone(), &all);
            let those = added.rows_of(file);
            let keys = rows.get(those.clone()).unwrap_or_default();
            let those = those.zip(keys).filter_map(|(row, key)| Some((row, (*key)?)));
            let those: Vec<(First, K)> = those.collect();
            all.take(&struck_by(struck), &those, change.brings_back());
        }
        all
    }

    /// The places in [`Book::struck`] of the strikes of struck entries with these ids. The first
    /// strike of an id is of the first entry with it, and so on.
    pub(in crate::book) fn strikes_of(
        &self,
        kind: EntryKind,
        ids: impl Iterator<Item = String>,
    ) -> Vec<Option<usize>> {
        let mut open: HashMap<&str, VecDeque<usize>> = HashMap::new();
        for (place, strike) in self.struck().iter().enumerate() {
            if strike.what == kind {
                open.entry(&strike.id).or_default().push_back(place);
            }
        }
        let mut take = |id: &str| open.get_mut(id)?.pop_front();
        // Older books wrote ids in the plain form.
        ids.map(|id| take(&id).or_else(|| take(&plain_id(&id)))).collect()
    }
}

fn file_of(kind: EntryKind) -> Option<BookFile> {
    match kind {
        EntryKind::Paper => Some(BookFile::Papers),
        EntryKind::Thread => Some(BookFile::Threads),
        EntryKind::Target => Some(BookFile::Targets),
        EntryKind::Trial => Some(BookFile::Trials),
        EntryKind::Reading | EntryKind::Forecast | EntryKind::Plan => None,
    }
}
