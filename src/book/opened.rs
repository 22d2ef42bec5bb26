use super::error::BookError;
use super::notice::Notice;
use crate::book::check::entries::Sound;
use crate::book::entries::contents;
use crate::book::entries::contents::{Contents, parse};
use crate::book::entries::held::{Change, Entries, EntryKind, OwnHeading, Strike, for_each_kind};
use crate::book::entries::record::{Located, Standing, located};
use crate::book::entries::resolve::ForecastIds;
use crate::book::entries::table::Record;
use crate::book::files::config::Config;
use crate::book::store::digests::Fingerprint;
use crate::book::store::folder;
use crate::trade::{KeptForecast, Name, Paper, Reading, SavedPlan, State, Target, Thread, Trial};
use std::path::{Path, PathBuf};

/// An opened book: everything in it that is not struck, and what was struck.
#[derive(Clone, Debug)]
pub struct Book {
    pub(in crate::book) dir: PathBuf,
    config: Config,
    pub(in crate::book) live: Entries,
    pub(in crate::book) rows: Rows,
    struck: Vec<Strike>,
    pub(in crate::book) gone: Contents,
    pub(in crate::book) forecast_ids: ForecastIds,
    changes: Vec<Change>,
    pub(in crate::book) notices: Vec<Notice>,
}

/// A kind of entry, as a [`Book`] keeps it.
pub(in crate::book) trait Kept: Record + 'static {
    /// The live entries and their rows.
    fn live(book: &Book) -> (&[Self], &[Standing]);

    /// The struck ones.
    fn gone(book: &Book) -> &[Located<Self>];
}

macro_rules! rows {
    ($($list:ident: $kind:ty, $file:ident;)*) => {
        /// The rows of the live entries in their files, each kind in the order of the entries.
        #[derive(Clone, Debug, Default)]
        pub(in crate::book) struct Rows { $(pub(in crate::book) $list: Vec<Standing>,)* }

        impl Rows {
            /// Those of entries that have no place in a file.
            fn none_of(entries: &Entries) -> Self {
                Self { $($list: vec![None; entries.$list.len()],)* }
            }
        }

        $(impl Kept for $kind {
            fn live(book: &Book) -> (&[Self], &[Standing]) {
                (&book.live.$list, &book.rows.$list)
            }

            fn gone(book: &Book) -> &[Located<Self>] {
                &book.gone.$list
            }
        })*

        /// Separates the entries from their rows.
        fn entries_of(contents: Contents) -> (Entries, Rows) {
            let (mut entries, mut rows) = (Entries::default(), Rows::default());
            $((entries.$list, rows.$list) = apart(contents.$list);)*
            (entries, rows)
        }
    };
}
for_each_kind!(rows);

fn apart<T>(rows: Vec<Located<T>>) -> (Vec<T>, Vec<Standing>) {
    let places = rows.iter().map(|row| row.row).collect();
    (rows.into_iter().map(|row| row.value).collect(), places)
}

impl Book {
    /// Opens the book in `dir` and reads every file.
    pub fn open(dir: &Path) -> Result<Self, BookError> {
        Self::from_read(dir, folder::read_settled(dir)?)
    }

    /// Opens the book, or returns `None` if its files still have the fingerprint `known`.
    pub fn open_changed(
        dir: &Path,
        known: Option<Fingerprint>,
    ) -> Result<Option<(Self, Fingerprint)>, BookError> {
        let files = folder::read_settled(dir)?;
        let fingerprint = Fingerprint::of(&files);
        if known == Some(fingerprint) {
            return Ok(None);
        }
        Ok(Some((Self::from_read(dir, files)?, fingerprint)))
    }

    pub(in crate::book) fn from_files(
        dir: &Path,
        files: &contents::FileBytes,
    ) -> Result<Self, BookError> {
        let (unchecked, _) = parse(files)?;
        Ok(Self::from_sound(dir, Sound::of(unchecked)?))
    }

    /// Like [`Book::from_files`], but takes the files. They may be large, so they are freed before
    /// their rows are checked against each other.
    pub(in crate::book) fn from_read(
        dir: &Path,
        files: contents::FileBytes,
    ) -> Result<Self, BookError> {
        let (unchecked, _) = parse(&files)?;
        let notices = files.notices.clone();
        drop(files);
        let sound = Sound::of(unchecked).map_err(|error| error.with_lost_lines(&notices));
        Ok(Self::from_sound(dir, sound?))
    }

    fn from_sound(dir: &Path, sound: Sound) -> Self {
        let Sound { config, resolved, strikes, notices } = sound;
        let (mut live, rows) = entries_of(resolved.live);
        let changes = std::mem::take(&mut live.changes);
        let mut book = Self {
            dir: dir.to_owned(),
            config,
            live,
            rows,
            struck: strikes.into_iter().map(|row| row.value).collect(),
            gone: resolved.gone,
            forecast_ids: resolved.forecast_ids,
            changes,
            notices,
        };
        book.sort_trials();
        book
    }

    /// A book with these entries only, and the settings of this one. The entries have no place in a
    /// file.
    pub(in crate::book) fn holding(&self, live: Entries) -> Self {
        Self {
            dir: self.dir.clone(),
            config: self.config.clone(),
            rows: Rows::none_of(&live),
            live,
            struck: Vec::new(),
            gone: Contents::default(),
            forecast_ids: ForecastIds::default(),
            changes: Vec::new(),
            notices: Vec::new(),
        }
    }

    /// The live entries of a kind, with their rows.
    pub(in crate::book) fn located<T: Kept>(&self) -> impl Iterator<Item = Located<&T>> {
        let (live, rows) = T::live(self);
        located(live, rows)
    }

    /// All entries of a kind, struck or not, in the order of the file.
    pub(in crate::book) fn in_file<T: Kept>(&self) -> Vec<&T> {
        let gone = T::gone(self).iter().map(|row| Located { value: &row.value, row: row.row });
        let mut all: Vec<Located<&T>> = self.located().chain(gone).collect();
        all.sort_by_key(|row| row.row);
        all.into_iter().map(|row| row.value).collect()
    }

    pub fn dir(&self) -> &Path {
        &self.dir
    }

    pub fn config(&self) -> &Config {
        &self.config
    }

    /// The live entries, each kind in the order of its file; trials as in [`Book::trials`].
    pub fn entries(&self) -> &Entries {
        &self.live
    }

    /// Papers, without the struck ones, in the order of the file.
    pub fn papers(&self) -> &[Paper] {
        &self.live.papers
    }

    pub fn threads(&self) -> &[Thread] {
        &self.live.threads
    }

    pub fn targets(&self) -> &[Target] {
        &self.live.targets
    }

    /// Trials, without the struck ones, in the order of recording. One that was corrected, renamed or
    /// brought back has the place of its first row.
    pub fn trials(&self) -> &[Trial] {
        &self.live.trials
    }

    /// Readings, without struck ones and without those of struck trials.
    pub fn readings(&self) -> &[Reading] {
        &self.live.readings
    }

    /// Kept forecasts, without the struck ones, in the order of keeping. One that was struck and
    /// brought back has the place of its first row.
    pub fn forecasts(&self) -> &[KeptForecast] {
        &self.live.forecasts
    }

    /// The ids of [`Book::forecasts`] for striking them: the name, and `NAME/2` for the second row
    /// of that name in the file. Names are escaped as in [`crate::book::reading_id`].
    pub fn forecast_ids(&self) -> &[String] {
        &self.forecast_ids.live
    }

    /// The id of the forecast whose row is the last in the file.
    pub fn newest_forecast_id(&self) -> Option<&str> {
        let rows = self.rows.forecasts.iter().zip(self.forecast_ids());
        rows.max_by_key(|(row, _)| **row).map(|(_, id)| id.as_str())
    }

    /// Saved plans, without the struck ones, in the order of the file.
    pub fn plans(&self) -> &[SavedPlan] {
        &self.live.plans
    }

    pub fn struck(&self) -> &[Strike] {
        &self.struck
    }

    /// The struck entries, each kind in the order of its file. Readings that were struck
    /// individually come before those that went with their trials.
    pub fn gone(&self) -> Entries {
        entries_of(self.gone.clone()).0
    }

    /// How often an entry of this kind and id was struck. This distinguishes entries that had the
    /// same id one after the other.
    pub fn times_struck(&self, kind: EntryKind, id: &str) -> usize {
        self.struck.iter().filter(|strike| strike.what == kind && strike.id == id).count()
    }

    /// The changes in the order of the file. Older programs did not log them, so an older book may
    /// lack some.
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// The known meanings of headings in the binder's own sheets. The last one given for a heading
    /// counts.
    pub fn headings(&self) -> &[OwnHeading] {
        &self.live.headings
    }

    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }

    /// One more than the highest numbered place of `trial` in `state`. Places from this number on
    /// are free.
    pub fn next_place(&self, trial: &Name, state: State) -> u32 {
        let here = |reading: &&Reading| reading.trial == *trial && reading.state == state;
        next_place(self.readings().iter().filter(here))
    }
}

/// One more than the highest numbered place of `readings`.
pub(in crate::book) fn next_place<'a>(readings: impl Iterator<Item = &'a Reading>) -> u32 {
    // A number that nobody counts to is a name; after it, no number would be left.
    let counted = |number: &u32| *number < u32::MAX / 2;
    let numbers = readings.filter_map(|reading| reading.place.as_str().parse::<u32>().ok());
    numbers.filter(counted).max().map_or(1, |last| last + 1)
}
