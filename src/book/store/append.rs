use super::disk::Folder;
use super::folder::{read_still_files, require_book};
use super::late::{begin, commit_late};
use super::lock::lock_to_write;
use super::open::{accept, read_to_write};
use crate::book::check::entries::{Sound, check};
use crate::book::csv::tail::tails;
use crate::book::csv::text::OF_BOOKS;
use crate::book::entries::added::Added;
use crate::book::entries::contents::{FileBytes, Rows, parse};
use crate::book::entries::held::{Entries, EntryKind, Strike, Written, reading_id};
use crate::book::entries::resolve::{resolve, revived};
use crate::book::error::{BookError, Fault};
use crate::book::notice::Notice;
use crate::book::opened::Book;
use crate::trade::Reading;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

impl Book {
    /// Appends `entries` to the book's files, all of them or none, and returns what was written.
    /// Striking a trial also strikes its readings. The book is read again first, so that what
    /// others wrote in the meantime counts.
    ///
    /// # Errors
    /// [`BookError`] if an entry clashes with the book, or if writing fails; the book is then as it
    /// was.
    pub fn append(&mut self, entries: Entries) -> Result<Written, BookError> {
        if entries.is_empty() {
            return Ok(Written::default());
        }
        self.write(|_| Ok(entries)).map_err(BookError::unkept)
    }

    /// Like [`Book::append`], with the entries that `make` builds from the book under the lock. So
    /// a number that is free then is still free when it is written. Returns the entries.
    pub fn append_with(
        &mut self,
        make: impl FnOnce(&Self) -> Result<Entries, BookError>,
    ) -> Result<Entries, BookError> {
        let (dir, mut made) = (self.dir.clone(), Entries::default());
        let make = |files: &FileBytes| {
            made = make(&Self::from_files(&dir, files)?)?;
            Ok(made.clone())
        };
        self.write(make).map_err(BookError::unkept)?;
        Ok(made)
    }

    fn write(
        &mut self,
        make: impl FnOnce(&FileBytes) -> Result<Entries, BookError>,
    ) -> Result<Written, BookError> {
        require_book(&self.dir)?;
        let _lock = lock_to_write(&self.dir)?;
        let disk = Folder(&self.dir);
        let mut opened = read_to_write(&disk, read_still_files(&self.dir)?)?;
        let entries = make(&opened.files)?;
        let late = begin(&mut opened.files, &entries);
        let (book, written, tails) = prepare(&self.dir, &opened.files, entries)?;
        // The digest of a file whose rows are in doubt stays, so that the doubt stays too.
        let unsure = book.notices.iter().filter(|notice| matches!(notice, Notice::Unsure { .. }));
        opened.files.notices.extend(unsure.cloned());
        let notices = commit_late(&disk, &opened, &late, tails)?;
        *self = book;
        self.notices.extend(notices);
        Ok(written)
    }

    /// Accepts the files as they are now, so that edits made until now are not reported again.
    ///
    /// # Errors
    /// [`BookError`] if reading or writing the files fails, or if they hold impossible values.
    pub fn accept_edits(&mut self) -> Result<(), BookError> {
        self.accept().map_err(BookError::unkept)
    }

    fn accept(&mut self) -> Result<(), BookError> {
        require_book(&self.dir)?;
        let _lock = lock_to_write(&self.dir)?;
        let disk = Folder(&self.dir);
        let opened = read_to_write(&disk, read_still_files(&self.dir)?)?;
        let book = Self::from_files(&self.dir, &opened.files)?;
        accept(&disk, &opened).map_err(BookError::undecided)?;
        *self = book;
        Ok(())
    }
}

/// The book as it will be, what was written, and the bytes to append to each file.
fn prepare(
    dir: &Path,
    bytes: &FileBytes,
    entries: Entries,
) -> Result<(Book, Written, Rows), BookError> {
    let (written, tails) = added(bytes, entries)?;
    let mut after = bytes.clone();
    for (file, tail) in &tails {
        let whole = after.rows.entry(*file).or_default();
        whole.extend_from_slice(tail);
        refuse(OF_BOOKS.refusal(whole, file.name()).into_iter().collect())?;
    }
    // An edit of a file is reported by a command that adds to that file. Nothing is ever added to
    // the settings, so their edits are always reported.
    let told = |notice: &Notice| {
        notice.is_of_settings() || tails.keys().any(|file| notice.place().file == file.name())
    };
    after.notices.retain(|notice| !matches!(notice, Notice::Edited { .. }) || told(notice));
    // Refuse to write anything that would not read back.
    let book = Book::from_read(dir, after).map_err(|error| match error {
        BookError::Faults { faults } => clash(faults),
        other => other,
    })?;
    Ok((book, written, tails))
}

/// Counts what `entries` add, and makes the bytes to append to each file, if they fit what is
/// there. A book may be large: what is read here is freed before the new book is read.
fn added(bytes: &FileBytes, entries: Entries) -> Result<(Written, Rows), BookError> {
    let (unchecked, tables) = parse(bytes)?;
    let there = unchecked.contents.written();
    let current = Sound::of(unchecked)?;
    let mut entries = with_readings_struck(&current, entries);
    let added = Added::of(&there, &entries);
    entries.changes.iter_mut().for_each(|change| change.added = Some(added.clone()));
    let unit = current.config.unit;
    let (written, tails) = (entries.written(), tails(&tables, &entries));
    let none = |faults| (Rows::new(), faults);
    let (tails, refused) = tails.map_or_else(none, |tails| (tails, Vec::new()));
    let struck_before = current.resolved.struck();
    let mut contents = current.into_contents();
    contents.add(entries);
    let (resolved, left) = resolve(contents);
    let between = check(&resolved, None, unit);
    let again = revived(&struck_before, &resolved);
    let faults = refused.into_iter().chain(left.listed()).chain(again);
    let faults = faults.chain(between.alone.listed()).chain(between.references.listed());
    refuse(faults.map(|fault| fault.message).collect())?;
    Ok((written, tails))
}

fn clash(faults: Vec<Fault>) -> BookError {
    let messages = faults.into_iter().map(|fault| fault.message);
    refuse(messages.collect()).err().unwrap_or_else(|| BookError::Clash(String::new()))
}

fn refuse(mut problems: Vec<String>) -> Result<(), BookError> {
    problems.dedup();
    if problems.is_empty() { Ok(()) } else { Err(BookError::Clash(problems.join("\n"))) }
}

/// Adds a strike for each reading of the trials that the entries strike, unless they already have
/// one.
fn with_readings_struck(book: &Sound, mut entries: Entries) -> Entries {
    let of_readings = entries.strikes.iter().filter(|strike| strike.what == EntryKind::Reading);
    let said: BTreeSet<String> = of_readings.map(|strike| strike.id.clone()).collect();
    let mut own = readings_of_trials(book, &entries.strikes);
    let mut strikes = Vec::new();
    for strike in std::mem::take(&mut entries.strikes) {
        let own = match strike.what {
            EntryKind::Trial => own.remove(&strike.id),
            _ => None,
        };
        let ids = own.into_iter().flatten().map(reading_id).filter(|id| !said.contains(id));
        let with_it = ids.map(|id| Strike { what: EntryKind::Reading, id, ..strike.clone() });
        let with_it: Vec<Strike> = with_it.collect();
        strikes.push(strike);
        strikes.extend(with_it);
    }
    entries.strikes = strikes;
    entries
}

/// The readings of each trial that `strikes` name. There may be millions, of very many trials.
fn readings_of_trials<'b>(
    book: &'b Sound,
    strikes: &[Strike],
) -> BTreeMap<String, Vec<&'b Reading>> {
    let of_trials = strikes.iter().filter(|strike| strike.what == EntryKind::Trial);
    let mut own: BTreeMap<String, Vec<&Reading>> =
        of_trials.map(|strike| (strike.id.clone(), Vec::new())).collect();
    for row in &book.resolved.live.readings {
        if let Some(own) = own.get_mut(row.value.trial.as_str()) {
            own.push(&row.value);
        }
    }
    own
}
