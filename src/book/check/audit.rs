//! The audit: reports what is possible but doubtful. A person decides; nothing is dropped.

use super::doubt::Severity;
use super::finding::Finding;
use super::sets::{Set, sets};
use super::twins::{alike, twins};
use super::uncounted::uncounted;
use super::{readings, stock};
use crate::book::entries::held::{Entries, EntryKind, ReadingKey, Strike, reading_id, reading_key};
use crate::book::entries::record::{self, Located};
use crate::book::error::BookError;
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::opened::Book;
use crate::book::store::copies::copies;
use crate::book::store::folder::read_settled;
use crate::trade::Name;
use crate::units::in_ranges_of_long;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::ops::Range;
use std::path::Path;

impl Book {
    /// The book with these entries added, in memory only.
    pub fn with(&self, new: &Entries) -> Self {
        self.part(new, |_| true)
    }

    /// The book with these entries struck and nothing added, in memory only.
    pub fn without(&self, strikes: &[Strike]) -> Self {
        fn left<T: Clone>(
            all: &[T],
            strikes: &[Strike],
            kind: EntryKind,
            id: impl Fn(&T) -> String,
        ) -> Vec<T> {
            let of_kind = strikes.iter().filter(|strike| strike.what == kind);
            let ids: BTreeSet<&str> = of_kind.map(|strike| &*strike.id).collect();
            all.iter().filter(|entry| !ids.contains(&*id(entry))).cloned().collect()
        }
        let readings = left(self.readings(), strikes, EntryKind::Trial, |it| it.trial.to_string());
        let live = Entries {
            papers: left(self.papers(), strikes, EntryKind::Paper, |it| it.name.to_string()),
            threads: left(self.threads(), strikes, EntryKind::Thread, |it| it.name.to_string()),
            targets: left(self.targets(), strikes, EntryKind::Target, |it| it.name.to_string()),
            trials: left(self.trials(), strikes, EntryKind::Trial, |it| it.name.to_string()),
            readings: left(&readings, strikes, EntryKind::Reading, reading_id),
            ..Entries::default()
        };
        self.holding(live)
    }

    /// The book with `new` added, keeping only those of its own readings whose trial is `wanted`.
    fn part(&self, new: &Entries, wanted: impl Fn(&Name) -> bool) -> Self {
        let readings = self.readings().iter().filter(|reading| wanted(&reading.trial)).cloned();
        let live = Entries {
            papers: [self.papers(), &new.papers].concat(),
            threads: [self.threads(), &new.threads].concat(),
            targets: [self.targets(), &new.targets].concat(),
            trials: [self.trials(), &new.trials].concat(),
            readings: readings.chain(new.readings.iter().cloned()).collect(),
            ..Entries::default()
        };
        self.holding(live)
    }

    /// The doubts that these entries would bring into the book, by the same checks as an [`audit`].
    /// Doubts that the book has already are left out, and so are mere notes.
    pub fn doubts_of(&self, new: &Entries, today: Date) -> Vec<Finding> {
        let trials = new.trials.iter().map(|trial| &trial.name);
        let runs = new.readings.chunk_by(|one, other| one.trial == other.trial);
        let touched: HashSet<&Name> = trials.chain(runs.map(|run| &run[0].trial)).collect();
        // A trial that was recorded twice has the readings of another.
        let alike = alike(self, new, &touched);
        let part = |new: &Entries| {
            let wanted = |trial: &Name| touched.contains(trial) || alike.contains(trial);
            let part = self.part(new, wanted);
            audit(&part, today)
        };
        let before = part(&Entries::default());
        let known: BTreeSet<String> = before.iter().map(Finding::subject).collect();
        let is_new = |finding: &Finding| !known.contains(&finding.subject());
        let is_check = |finding: &Finding| finding.severity() == Severity::Check;
        part(new).into_iter().filter(is_check).filter(is_new).collect()
    }

    /// The saved plans that name what is struck, in order of the file.
    pub fn bereft_plans(&self) -> Vec<Finding> {
        stock::plans(self)
    }

    /// The locations of the readings with these trials, states and places. A reading that the book
    /// does not have gets the location of the file alone.
    pub fn places_of<'a>(
        &'a self,
        wanted: impl IntoIterator<Item = ReadingKey<'a>>,
    ) -> BTreeMap<ReadingKey<'a>, Location> {
        let at = |row| record::place(BookFile::Readings, row);
        let mut found: BTreeMap<_, _> = wanted.into_iter().map(|key| (key, at(None))).collect();
        for Located { value, row } in self.located() {
            let found = found.get_mut(&reading_key(value));
            if let Some(place) = found.filter(|place| place.row.is_none()) {
                *place = at(row);
            }
        }
        found
    }
}

/// Audits the whole book in `dir`. If its files have faults, it returns these and no book.
/// Otherwise it returns the book and everything doubtful about it, in order of file and row.
pub fn look_through(dir: &Path, today: Date) -> Result<(Option<Book>, Vec<Finding>), BookError> {
    let mut bytes = read_settled(dir)?;
    bytes.notices.extend(copies(dir));
    match Book::from_files(dir, &bytes) {
        Ok(book) => {
            let findings = audit(&book, today);
            Ok((Some(book), findings))
        }
        Err(BookError::Faults { faults }) => {
            let found = faults.into_iter().map(Finding::Faulty);
            let mut findings: Vec<Finding> =
                found.chain(bytes.notices.into_iter().map(Finding::PassedOver)).collect();
            findings.sort_by(|left, right| left.place().cmp(right.place()));
            Ok((None, findings))
        }
        Err(other) => Err(other),
    }
}

/// Everything doubtful about `book`, in order of file and row. Dates after `today` are doubtful.
pub fn audit(book: &Book, today: Date) -> Vec<Finding> {
    let passed_over = book.notices().iter().cloned().map(Finding::PassedOver);
    let mut findings: Vec<Finding> = passed_over.collect();
    let sets = sets(book);
    let halves: [&(dyn Fn() -> Vec<Finding> + Sync); 2] =
        [&|| of_entries(book, &sets, today), &|| readings::of_sets(book, &sets, today)];
    let of_half = |range: Range<usize>| halves[range].iter().flat_map(|half| half()).collect();
    findings.extend(in_ranges_of_long(halves.len(), of_half));
    findings.extend(uncounted(book));
    findings.sort_by(|left, right| left.place().cmp(right.place()));
    findings
}

fn of_entries(book: &Book, sets: &[Set<'_>], today: Date) -> Vec<Finding> {
    let found = [
        stock::papers(book),
        stock::threads(book),
        stock::targets(book),
        stock::trials(book, sets, today),
        stock::plans(book),
        stock::alike(book),
        twins(book, sets),
    ];
    found.into_iter().flatten().collect()
}
