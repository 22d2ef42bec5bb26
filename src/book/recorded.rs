//! When the trials were first recorded, and what entries were called before.

use crate::book::entries::held::EntryKind;
use crate::book::entries::record::{Located, Standing};
use crate::book::files::names::BookFile;
use crate::book::opened::Book;
use crate::trade::{Name, Trial};
use std::collections::{HashMap, HashSet};

impl Book {
    /// The number of the row in which each of [`Book::trials`] was first recorded. A trial that was
    /// corrected, renamed or brought back has a row further down too. `u32::MAX` if it has no row yet.
    pub fn recorded(&self) -> Vec<u32> {
        let rows = self.rows_of(EntryKind::Trial);
        let mut first: HashMap<&str, Standing> = HashMap::new();
        for (row, name) in &rows {
            first.entry(name).or_insert(*row);
        }
        let renamed = self.renamed(EntryKind::Trial, &rows);
        let of = |trial: &Trial| {
            let names = names_until(&renamed, trial.name.as_str());
            let rows = names.iter().filter_map(|name| first.get(name).copied().flatten());
            rows.min().map_or(u32::MAX, |row| row.get())
        };
        self.trials().iter().map(of).collect()
    }

    /// What papers, threads or trials are called now, by the names that they had before. A name
    /// that is in use is left out.
    pub(in crate::book) fn called_now(&self, kind: EntryKind) -> HashMap<&str, &str> {
        if !self.struck().iter().any(|strike| strike.what == kind) {
            return HashMap::new();
        }
        let renamed = self.renamed(kind, &self.rows_of(kind));
        let live: Vec<&str> = match kind {
            EntryKind::Paper => self.papers().iter().map(|it| it.name.as_str()).collect(),
            EntryKind::Thread => self.threads().iter().map(|it| it.name.as_str()).collect(),
            EntryKind::Trial => self.trials().iter().map(|it| it.name.as_str()).collect(),
            _ => Vec::new(),
        };
        let (in_use, mut now): (HashSet<&str>, _) =
            (live.iter().copied().collect(), HashMap::new());
        for name in live {
            let before = names_until(&renamed, name).into_iter().filter(|it| !in_use.contains(it));
            now.extend(before.map(|before| (before, name)));
        }
        now
    }

    /// All rows of papers, threads or trials, struck or not, in the order of the file, with their
    /// names.
    fn rows_of(&self, kind: EntryKind) -> Vec<(Standing, &str)> {
        fn rows<'b, T>(
            live: &'b [T],
            at: &[Standing],
            gone: &'b [Located<T>],
            name: fn(&T) -> &Name,
        ) -> Vec<(Standing, &'b str)> {
            let live = at.iter().copied().zip(live);
            let all = live.chain(gone.iter().map(|row| (row.row, &row.value)));
            let mut rows: Vec<_> = all.map(|(row, it)| (row, name(it).as_str())).collect();
            rows.sort_by_key(|(row, _)| *row);
            rows
        }
        let (live, at, gone) = (&self.live, &self.rows, &self.gone);
        match kind {
            EntryKind::Paper => rows(&live.papers, &at.papers, &gone.papers, |it| &it.name),
            EntryKind::Thread => rows(&live.threads, &at.threads, &gone.threads, |it| &it.name),
            EntryKind::Trial => rows(&live.trials, &at.trials, &gone.trials, |it| &it.name),
            _ => Vec::new(),
        }
    }

    /// The name that an entry had before, by its later name: a change struck the one and added the
    /// other.
    fn renamed<'b>(
        &'b self,
        kind: EntryKind,
        rows: &[(Standing, &'b str)],
    ) -> HashMap<&'b str, &'b str> {
        let file = match kind {
            EntryKind::Paper => BookFile::Papers,
            EntryKind::Thread => BookFile::Threads,
            _ => BookFile::Trials,
        };
        let added = self.changes().iter().filter_map(|change| change.added.as_ref());
        let one = added.filter_map(|added| {
            let [(_, new)] = rows.get(added.rows_of(file))? else { return None };
            let strikes = self.struck().get(added.rows_of(BookFile::Struck))?.iter();
            let mut of_kind = strikes.filter(|strike| strike.what == kind);
            let (old, none) = (of_kind.next()?, of_kind.next());
            (none.is_none() && *old.id != **new).then_some((*new, old.id.as_str()))
        });
        one.collect()
    }
}

/// The name `now` and all that came before it.
fn names_until<'b>(renamed: &HashMap<&'b str, &'b str>, now: &'b str) -> HashSet<&'b str> {
    let (mut name, mut names) = (now, HashSet::new());
    // A name that was taken back leads round in a circle.
    while names.insert(name) {
        name = renamed.get(name).copied().unwrap_or(name);
    }
    names
}
