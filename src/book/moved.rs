use crate::book::entries::added::Added;
use crate::book::entries::held::{Entries, ReadingKey, reading_key};
use crate::book::entries::noted::digest;
use crate::book::entries::record::Standing;
use crate::book::files::names::BookFile;
use crate::book::followed::StruckReading;
use crate::book::opened::Book;
use crate::trade::{Name, Reading, State};
use std::collections::{HashMap, HashSet};
use std::ops::Range;

/// A row of `readings.csv`: the key of its reading by the present name of the trial, or `None` if
/// that is struck; and the reading as it is written.
type Row<'b> = (Option<ReadingKey<'b>>, &'b Reading);

impl Book {
    /// The readings whose places got other names, by their trials, states and earlier places. An
    /// earlier place is left out if it is in use, or if another reading there was struck since.
    pub fn moved_readings(&self) -> HashMap<ReadingKey<'_>, &Reading> {
        let corrected: Vec<&Added> = self.corrected_readings().collect();
        if corrected.is_empty() {
            return HashMap::new();
        }
        let struck = self.struck_readings();
        let rows = self.reading_rows(&struck);
        let gone = struck.iter().filter_map(|it| Some((it.strike?, it.key()?)));
        let mut gone: HashMap<usize, ReadingKey<'_>> = gone.collect();
        let moved = |added: &Added| {
            let (key, reading) = *rows.get(added.rows_of(BookFile::Readings).start)?;
            let strikes = added.rows_of(BookFile::Struck);
            let (trial, state, before) = *gone.get(&strikes.start)?;
            let now = key.filter(|now| (now.0, now.1) == (trial, state) && now.2 != before);
            // In a file that was sorted since, this may be the row of another reading.
            let strikes = self.struck().get(strikes)?.to_vec();
            let readings = vec![reading.clone()];
            let is_it = || digest(&Entries { readings, strikes, ..Entries::default() });
            now.filter(|_| is_it() == added.digest).map(|_| (trial, state))
        };
        // There may be millions of readings, and only a few in the sets of those that were moved.
        let sets: HashSet<(&Name, State)> = corrected.into_iter().filter_map(moved).collect();
        if sets.is_empty() {
            return HashMap::new();
        }
        let is_here = |key: &ReadingKey<'_>| sets.contains(&(key.0, key.1));
        let rows: Vec<_> = rows.into_iter().map(|(key, _)| key.filter(is_here)).collect();
        gone.retain(|_, key| is_here(key));
        let struck_by =
            |places: Range<usize>| places.filter_map(|place| gone.get(&place).copied()).collect();
        let now = self.readings().iter().map(|it| (reading_key(it), it));
        let now: Vec<_> = now.filter(|(key, _)| is_here(key)).collect();
        self.follow(BookFile::Readings, &rows, struck_by, |_, _| {}).called_now(&now)
    }

    /// What was added by the changes that struck one entry and added one reading.
    fn corrected_readings(&self) -> impl Iterator<Item = &Added> {
        let is_one = |added: &&Added| {
            let rows = [BookFile::Readings, BookFile::Struck].map(|file| added.rows_of(file).len());
            rows == [1, 1] && added.rows.len() == rows.len()
        };
        self.logged().map(|(_, added)| added).filter(is_one)
    }

    /// The rows of `readings.csv`, in their order. `struck` has the struck readings.
    fn reading_rows<'b>(&'b self, struck: &[StruckReading<'b>]) -> Vec<Row<'b>> {
        let live = self.located().map(|row| (row.row, (Some(reading_key(row.value)), row.value)));
        let gone = self.gone.readings.iter().zip(struck);
        let gone = gone.map(|(row, it)| (row.row, (it.key(), it.reading)));
        let mut all: Vec<(Standing, Row<'b>)> = live.chain(gone).collect();
        all.sort_by_key(|(row, _)| *row);
        all.into_iter().map(|(_, row)| row).collect()
    }
}
