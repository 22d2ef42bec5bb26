//! Everything the files say, before struck entries are taken out.

use super::config_file::parse_config;
use super::faults::Faults;
use super::files::BookFile;
use super::record::{Located, read_records};
use super::table::{Table, read_table};
use super::text::OF_BOOKS;
use super::{BookError, Config, Entries, Notice, Strike};
use crate::trade::{KeptForecast, Paper, Reading, Target, Thread, Trial};
use std::collections::BTreeMap;

/// The bytes of a book's files.
#[derive(Clone, Debug, Default)]
pub(super) struct FileBytes {
    /// `book.toml`.
    pub(super) settings: Vec<u8>,
    /// The files with rows.
    pub(super) rows: BTreeMap<BookFile, Vec<u8>>,
    /// What was found in reading them.
    pub(super) notices: Vec<Notice>,
}

/// Every entry in every file, struck or not.
#[derive(Clone, Debug, Default)]
pub(super) struct Contents {
    pub(super) papers: Vec<Located<Paper>>,
    pub(super) threads: Vec<Located<Thread>>,
    pub(super) targets: Vec<Located<Target>>,
    pub(super) trials: Vec<Located<Trial>>,
    pub(super) readings: Vec<Located<Reading>>,
    pub(super) strikes: Vec<Located<Strike>>,
    pub(super) forecasts: Vec<Located<KeptForecast>>,
}

/// What was read of a book's files.
#[derive(Clone, Debug)]
pub(super) struct Parsed<'a> {
    pub(super) config: Config,
    pub(super) contents: Contents,
    pub(super) tables: BTreeMap<BookFile, Table<'a>>,
    pub(super) notices: Vec<Notice>,
    pub(super) faults: Faults,
}

/// Reads every file. Faults of settings and rows are collected; a book of another format is not
/// read at all.
///
/// # Errors
/// [`BookError::Damaged`] for a book of a newer format.
pub(super) fn parse(bytes: &FileBytes) -> Result<Parsed<'_>, BookError> {
    let (mut faults, mut notices) = (Faults::default(), bytes.notices.clone());
    let config = collect(parse_config(&bytes.settings), &mut faults)?.unwrap_or_default();
    let mut tables = BTreeMap::new();
    for (&file, bytes) in &bytes.rows {
        let table = collect(read_table(bytes, file.name(), OF_BOOKS), &mut faults)?;
        tables.extend(table.map(|table| (file, table)));
    }
    let mut contents = Contents::default();
    for (&file, table) in &tables {
        contents.read(file, table, &mut faults, &mut notices);
    }
    Ok(Parsed { config, contents, tables, notices, faults })
}

/// The tables of files that are known to be sound.
pub(super) fn tables_of(files: &BTreeMap<BookFile, Vec<u8>>) -> BTreeMap<BookFile, Table<'_>> {
    let tables = files
        .iter()
        .map(|(&file, bytes)| Some((file, read_table(bytes, file.name(), OF_BOOKS).ok()?)));
    tables.flatten().collect()
}

/// The value, or its faults added to the others.
fn collect<T>(result: Result<T, BookError>, faults: &mut Faults) -> Result<Option<T>, BookError> {
    match result {
        Ok(value) => Ok(Some(value)),
        Err(BookError::Faults { faults: more }) => {
            faults.extend(more);
            Ok(None)
        }
        Err(other) => Err(other),
    }
}

impl Contents {
    fn read(
        &mut self,
        file: BookFile,
        table: &Table<'_>,
        faults: &mut Faults,
        notices: &mut Vec<Notice>,
    ) {
        match file {
            BookFile::Papers => self.papers = read_records(table, faults, notices),
            BookFile::Threads => self.threads = read_records(table, faults, notices),
            BookFile::Targets => self.targets = read_records(table, faults, notices),
            BookFile::Trials => self.trials = read_records(table, faults, notices),
            BookFile::Readings => self.readings = read_records(table, faults, notices),
            BookFile::Struck => self.strikes = read_records(table, faults, notices),
            BookFile::Forecasts => self.forecasts = read_records(table, faults, notices),
        }
    }

    /// Adds entries that are not yet in a file.
    pub(super) fn add(&mut self, entries: Entries) {
        fn fresh<T>(values: Vec<T>) -> impl Iterator<Item = Located<T>> {
            values.into_iter().map(|value| Located { value, row: None })
        }
        self.papers.extend(fresh(entries.papers));
        self.threads.extend(fresh(entries.threads));
        self.targets.extend(fresh(entries.targets));
        self.trials.extend(fresh(entries.trials));
        self.readings.extend(fresh(entries.readings));
        self.strikes.extend(fresh(entries.strikes));
        self.forecasts.extend(fresh(entries.forecasts));
    }
}
