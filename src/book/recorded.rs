//! When the trials were first recorded.

use crate::book::entries::held::EntryKind;
use crate::book::entries::record::Standing;
use crate::book::files::names::BookFile;
use crate::book::opened::Book;
use crate::trade::{Name, Trial};
use std::collections::{HashMap, HashSet};

impl Book {
    /// The number of the row in which each of [`Book::trials`] was first recorded. A trial that was
    /// corrected, renamed or brought back has a row further down too. `u32::MAX` if it has no row yet.
    pub fn recorded(&self) -> Vec<u32> {
        let rows = self.trial_rows();
        let mut first: HashMap<&str, Standing> = HashMap::new();
        for (row, trial) in &rows {
            first.entry(trial.name.as_str()).or_insert(*row);
        }
        let renamed = self.renamed(&rows);
        let of = |trial: &Trial| {
            let (mut name, mut names) = (trial.name.as_str(), HashSet::new());
            // A name that was taken back leads round in a circle.
            while names.insert(name) {
                name = renamed.get(name).copied().unwrap_or(name);
            }
            let rows = names.iter().filter_map(|name| first.get(name).copied().flatten());
            rows.min().map_or(u32::MAX, |row| row.get())
        };
        self.trials().iter().map(of).collect()
    }

    /// The name that a trial has by now, if no trial of the book has the name it had.
    pub fn name_now(&self, name: &Name) -> Option<&Name> {
        let is_there = |name: &&str| self.trials().iter().any(|trial| trial.name.as_str() == *name);
        if is_there(&name.as_str()) {
            return None;
        }
        let rows = self.trial_rows();
        let renamed = self.renamed(&rows);
        let had = |trial: &&Trial| {
            let (mut of, mut names) = (trial.name.as_str(), HashSet::new());
            while names.insert(of) {
                of = renamed.get(of).copied().unwrap_or(of);
            }
            names.contains(name.as_str())
        };
        self.trials().iter().find(had).map(|trial| &trial.name)
    }

    /// All rows of trials, struck or not, in the order of the file.
    fn trial_rows(&self) -> Vec<(Standing, &Trial)> {
        let live = self.rows.trials.iter().copied().zip(self.trials());
        let gone = self.gone.trials.iter().map(|row| (row.row, &row.value));
        let mut rows: Vec<(Standing, &Trial)> = live.chain(gone).collect();
        rows.sort_by_key(|(row, _)| *row);
        rows
    }

    /// The name that a trial had before, by its later name: a change struck the one and added the
    /// other.
    fn renamed<'b>(&'b self, rows: &[(Standing, &'b Trial)]) -> HashMap<&'b str, &'b str> {
        let added = self.changes().iter().filter_map(|change| change.added.as_ref());
        let one = added.filter_map(|added| {
            let [(_, trial)] = rows.get(added.rows_of(BookFile::Trials))? else { return None };
            let strikes = self.struck().get(added.rows_of(BookFile::Struck))?.iter();
            let mut of_trials = strikes.filter(|strike| strike.what == EntryKind::Trial);
            let (old, none) = (of_trials.next()?, of_trials.next());
            let is_other = none.is_none() && *old.id != *trial.name.as_str();
            is_other.then_some((trial.name.as_str(), old.id.as_str()))
        });
        one.collect()
    }
}
