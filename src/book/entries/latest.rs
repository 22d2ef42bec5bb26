//! Finds the row of an entry that was added last, from what `changes.csv` says.
//!
//! Strikes are counted, so of several rows with one id the last one counts. That is the row added
//! last, unless somebody sorted the file since. A change notes a digest of what it added, and a
//! correction adds a single row. So the digest shows which row it was, wherever that is now.

use super::added::Added;
use super::contents::Contents;
use super::held::{Change, Entries, for_each_kind};
use super::noted::digest;
use crate::book::files::names::BookFile;
use std::cell::{Cell, OnceCell, RefCell};
use std::collections::BTreeMap;
use std::ops::Range;

/// The most rows that are hashed for one book. Opening a large book must not take longer because
/// many of its entries were struck and recorded again.
const MOST_HASHED: usize = 100_000;
/// The number of changes after a strike among which the entry is looked for that replaced it.
const CHANGES_SEARCHED: usize = 64;

/// The rows that each change added to a file, with the index of the change, in order of rows.
type Ranges = Vec<(Range<usize>, usize)>;

pub(super) struct Latest<'c> {
    contents: &'c Contents,
    ranges: [OnceCell<Ranges>; BookFile::ALL.len()],
    /// Whether the rows of a change are still where it added them.
    in_place: RefCell<BTreeMap<usize, bool>>,
    hashed: Cell<usize>,
}

/// The rows of one id, by their index in the file.
pub(super) struct OfId<'i> {
    pub(super) file: BookFile,
    /// All of its rows, last one last.
    pub(super) rows: &'i [usize],
    /// The index of its last strike.
    pub(super) strike: usize,
}

impl<'c> Latest<'c> {
    pub(super) fn of(contents: &'c Contents) -> Self {
        let ranges = std::array::from_fn(|_| OnceCell::new());
        Self { contents, ranges, in_place: RefCell::default(), hashed: Cell::new(0) }
    }

    /// The row that was added after the last strike of its id; `None` if the log does not say.
    pub(super) fn row(&self, of: &OfId<'_>) -> Option<usize> {
        let struck_by = self.change_at(BookFile::Struck, of.strike)?;
        let last = *of.rows.last()?;
        let by = self.change_at(of.file, last).filter(|by| *by >= struck_by);
        if by.is_some_and(|by| self.is_in_place(by)) {
            return Some(last);
        }
        let is_older = |row: &usize| {
            self.change_at(of.file, *row).is_some_and(|by| by < struck_by && self.is_in_place(by))
        };
        // A person may have added or edited the last row.
        let (_, gone) = of.rows.split_last()?;
        if gone.iter().all(is_older) {
            return Some(last);
        }
        let changes = self.contents.changes.iter().skip(struck_by).take(CHANGES_SEARCHED);
        let mut single = changes.filter_map(|row| row.value.added.as_ref());
        single.find_map(|added| {
            let is_single = added.rows_of(of.file).len() == 1;
            let is_it = |row: &&usize| self.fits(added, Some((of.file, **row)));
            of.rows.iter().rev().filter(|_| is_single).find(is_it).copied()
        })
    }

    /// Whether the row of a file is where a change added it.
    pub(super) fn is_as_added(&self, file: BookFile, row: usize) -> bool {
        self.change_at(file, row).is_some_and(|by| self.is_in_place(by))
    }

    /// The change that added this row, if the rows are in their old order.
    fn change_at(&self, file: BookFile, row: usize) -> Option<usize> {
        let number = BookFile::ALL.iter().position(|one| *one == file)?;
        let ranges = self.ranges[number].get_or_init(|| ranges(self.contents, file));
        let next = ranges.partition_point(|(rows, _)| rows.start <= row);
        let (rows, change) = ranges.get(next.checked_sub(1)?)?;
        rows.contains(&row).then_some(*change)
    }

    fn is_in_place(&self, change: usize) -> bool {
        if let Some(known) = self.in_place.borrow().get(&change) {
            return *known;
        }
        let added = self.contents.changes.get(change).and_then(|row| row.value.added.as_ref());
        let is_in_place = added.is_some_and(|added| self.fits(added, None));
        self.in_place.borrow_mut().insert(change, is_in_place);
        is_in_place
    }

    /// Whether the rows that a change added have the digest that it noted. `instead` is a row to
    /// take for the one that it added to this file.
    fn fits(&self, added: &Added, instead: Option<(BookFile, usize)>) -> bool {
        let count = added.rows.values().map(ExactSizeIterator::len).sum::<usize>();
        let hashed = self.hashed.get().saturating_add(count);
        if hashed > MOST_HASHED {
            return false;
        }
        self.hashed.set(hashed);
        let rows_of = |file| match instead {
            Some((other, row)) if other == file => row..row + 1,
            _ => added.rows_of(file),
        };
        entries_at(self.contents, rows_of).is_some_and(|rows| digest(&rows) == added.digest)
    }
}

fn ranges(contents: &Contents, file: BookFile) -> Ranges {
    let rows = |change: &Change| change.added.as_ref().map(|added| added.rows_of(file));
    let changes = contents.changes.iter().enumerate();
    let mut ranges: Ranges =
        changes.filter_map(|(at, row)| Some((rows(&row.value)?, at))).collect();
    ranges.retain(|(rows, _)| !rows.is_empty());
    ranges.sort_by_key(|(rows, _)| rows.start);
    ranges
}

/// The entries in these rows; `None` if a file has fewer rows.
fn entries_at(contents: &Contents, rows_of: impl Fn(BookFile) -> Range<usize>) -> Option<Entries> {
    macro_rules! at {
        ($($list:ident: $kind:ty, $file:ident;)*) => {
            Some(Entries {
                $($list: {
                    let rows = contents.$list.get(rows_of(BookFile::$file))?;
                    rows.iter().map(|row| row.value.clone()).collect()
                },)*
            })
        };
    }
    for_each_kind!(at)
}
