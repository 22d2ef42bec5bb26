//! What was struck from a book and stays out of it when its sheet is imported again.

use super::row::SheetRow;
use crate::book::csv::tail::{Values, values};
use crate::book::entries::held::EntryKind;
use crate::book::followed::StruckReading;
use crate::book::opened::Book;
use crate::trade::{Name, Paper, Reading, State, Thread, Trial};
use std::collections::{BTreeMap, BTreeSet};

/// The struck readings, without those whose strikes are not in force: an undo leaves a sheet as it
/// was, whatever was corrected in between. A reading without a strike went with its trial.
fn readings(book: &Book) -> impl Iterator<Item = StruckReading<'_>> {
    let in_force = book.strikes_in_force();
    let is_meant = move |it: &StruckReading<'_>| it.strike.is_none_or(|place| in_force[place]);
    book.struck_readings().into_iter().filter(is_meant)
}

/// The struck readings of live trials, each with the present name of its trial. A trial that was
/// struck itself may have been recorded again.
pub(super) fn struck_readings(book: &Book) -> impl Iterator<Item = (&Name, &Reading)> {
    let trials: BTreeSet<&Name> = book.trials().iter().map(|trial| &trial.name).collect();
    let own = readings(book).map(|it| (it.trial.unwrap_or(&it.reading.trial), it.reading));
    own.filter(move |(trial, _)| trials.contains(trial))
}

/// The struck trials with their readings.
pub(super) struct StruckBlocks<'b> {
    book: &'b Book,
    trials: BTreeMap<&'b Name, Vec<&'b Trial>>,
    readings: BTreeSet<(&'b Name, State, Values)>,
}

impl<'b> StruckBlocks<'b> {
    pub(super) fn of(book: &'b Book) -> Self {
        let mut trials: BTreeMap<&Name, Vec<&Trial>> = BTreeMap::new();
        let gone = || book.gone.trials.iter().map(|row| &row.value);
        let strikes = book.strikes_of(EntryKind::Trial, gone().map(|trial| trial.name.to_string()));
        let in_force = book.strikes_in_force();
        for (trial, strike) in gone().zip(strikes) {
            if strike.is_none_or(|place| in_force[place]) {
                trials.entry(&trial.name).or_default().push(trial);
            }
        }
        let readings = readings(book).map(|it| it.reading);
        let readings = readings.filter(|it| trials.contains_key(&it.trial));
        let readings = readings.map(|it| (&it.trial, it.state, values(it))).collect();
        Self { book, trials, readings }
    }

    pub(super) fn names(&self) -> impl Iterator<Item = &'b Name> {
        self.trials.keys().copied()
    }

    /// Whether a block is the same in all that a sheet says about it besides its readings. A day or
    /// a hand may have been filled in since, and older imports kept ends that are not separate.
    pub(super) fn has(&self, trial: &Trial, paper: &Paper, thread: &Thread) -> bool {
        fn may_be<T: PartialEq>(one: &Option<T>, other: &Option<T>) -> bool {
            one.is_none() || other.is_none() || one == other
        }
        let is_same = |gone: &&Trial| {
            let Trial { date, hand, note, .. } = (*gone).clone();
            let filled = may_be(&date, &trial.date) && may_be(&hand, &trial.hand);
            let sewing = gone.sewing.as_recorded();
            filled
                && Trial { date, hand, note, ..trial.clone() }
                    == Trial { sewing, ..(*gone).clone() }
        };
        let of_name = self.trials.get(&trial.name).into_iter().flatten();
        of_name.copied().any(|gone| is_same(&gone)) && self.had_stock(paper, thread)
    }

    /// Whether the book has, or had, this paper and this thread. Otherwise the sheet corrects them.
    fn had_stock(&self, paper: &Paper, thread: &Thread) -> bool {
        let gone = &self.book.gone;
        let papers = self.book.papers().iter().chain(gone.papers.iter().map(|row| &row.value));
        let threads = self.book.threads().iter().chain(gone.threads.iter().map(|row| &row.value));
        // A sheet has no notes on stock.
        let (mut paper, mut thread) = (paper.clone(), thread.clone());
        let is_paper = |it: &Paper| {
            paper.note.clone_from(&it.note);
            paper == *it
        };
        let is_thread = |it: &Thread| {
            thread.note.clone_from(&it.note);
            thread == *it
        };
        papers.into_iter().any(is_paper) && threads.into_iter().any(is_thread)
    }

    /// The trials among `alike` of which a struck block has a reading of the sheet, each with its
    /// first row.
    pub(super) fn found(
        &self,
        rows: &[SheetRow],
        alike: &BTreeSet<&Name>,
    ) -> BTreeMap<Name, usize> {
        let (mut first, mut found) = (BTreeMap::new(), BTreeSet::new());
        for row in rows.iter().filter(|_| !alike.is_empty()) {
            let Some(name) = row.name.as_ref().ok().filter(|name| alike.contains(name)) else {
                continue;
            };
            first.entry(name.clone()).or_insert(row.number);
            if row.sound().is_some_and(|reading| self.has_reading(&reading)) {
                found.insert(name);
            }
        }
        first.retain(|name, _| found.contains(name));
        first
    }

    /// Whether a struck block has this reading, at whatever place.
    fn has_reading(&self, reading: &Reading) -> bool {
        self.readings.contains(&(&reading.trial, reading.state, values(reading)))
    }
}
