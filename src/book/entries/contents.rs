//! All entries of the files, before struck ones are taken out.

use super::held::{Entries, Written, for_each_kind};
use super::record::{Located, read_records};
use crate::book::check::faults::{Faults, Messages};
use crate::book::csv::table::{Table, read_table};
use crate::book::csv::text::OF_BOOKS;
use crate::book::error::BookError;
use crate::book::files::config::Config;
use crate::book::files::config_file::parse_config;
use crate::book::files::names::BookFile;
use crate::book::notice::Notice;
use std::collections::BTreeMap;

/// The bytes of files with rows.
pub(in crate::book) type Rows = BTreeMap<BookFile, Vec<u8>>;

/// The bytes of one of these files; none if it is not there.
pub(in crate::book) fn bytes_of(rows: &Rows, file: BookFile) -> &[u8] {
    rows.get(&file).map_or(&[], Vec::as_slice)
}

#[derive(Clone, Debug, Default)]
pub(in crate::book) struct FileBytes {
    /// `book.toml`.
    pub(in crate::book) settings: Vec<u8>,
    pub(in crate::book) rows: Rows,
    pub(in crate::book) notices: Vec<Notice>,
}

macro_rules! contents {
    ($($list:ident: $kind:ty, $file:ident;)*) => {
        /// Every entry in every file, struck or not.
        #[derive(Clone, Debug, Default)]
        pub(in crate::book) struct Contents { $(pub(in crate::book) $list: Vec<Located<$kind>>,)* }

        impl Contents {
            fn read(&mut self, file: BookFile, table: &Table<'_>, messages: &mut Messages) {
                match file {
                    $(BookFile::$file => self.$list = read_records(table, messages),)*
                }
            }

            /// The number of rows of each kind.
            pub(in crate::book) fn written(&self) -> Written {
                Written { $($list: self.$list.len(),)* }
            }

            /// These and `others`, each kind in the order of its file.
            pub(in crate::book) fn with(mut self, others: Self) -> Self {
                $(self.$list.extend(others.$list);
                self.$list.sort_by_key(|row| row.row);)*
                self
            }

            /// Adds entries that are not in a file yet.
            pub(in crate::book) fn add(&mut self, entries: Entries) {
                $(let fresh = entries.$list.into_iter().map(|value| Located { value, row: None });
                self.$list.extend(fresh);)*
            }
        }
    };
}
for_each_kind!(contents);

/// The files of a book after parsing. Rows are not yet checked against each other.
#[derive(Clone, Debug)]
pub(in crate::book) struct Unchecked {
    pub(in crate::book) config: Config,
    pub(in crate::book) contents: Contents,
    pub(in crate::book) notices: Vec<Notice>,
    pub(in crate::book) faults: Faults,
}

pub(in crate::book) type Tables<'a> = BTreeMap<BookFile, Table<'a>>;

/// Parses every file and collects the faults of settings and rows. A book of another format is not
/// parsed.
pub(in crate::book) fn parse(bytes: &FileBytes) -> Result<(Unchecked, Tables<'_>), BookError> {
    let mut of_settings = Faults::default();
    let config = collect(parse_config(&bytes.settings), &mut of_settings)?.unwrap_or_default();
    let mut faults = Faults::in_unit(config.unit);
    faults.absorb(of_settings);
    let mut messages = Messages { faults, notices: bytes.notices.clone() };
    let mut tables = BTreeMap::new();
    for (&file, bytes) in &bytes.rows {
        let table = collect(read_table(bytes, file.name(), OF_BOOKS), &mut messages.faults)?;
        tables.extend(table.map(|table| (file, table)));
    }
    let mut contents = Contents::default();
    // Without its strikes, an entry that was struck and recorded again would seem to be there twice.
    let lacks_strikes =
        bytes.rows.contains_key(&BookFile::Struck) && !tables.contains_key(&BookFile::Struck);
    for (&file, table) in tables.iter().filter(|_| !lacks_strikes) {
        contents.read(file, table, &mut messages);
    }
    let Messages { faults, notices } = messages;
    Ok((Unchecked { config, contents, notices, faults }, tables))
}

/// The tables of files that are known to be valid.
pub(in crate::book) fn tables_of(files: &Rows) -> Tables<'_> {
    let tables = files
        .iter()
        .map(|(&file, bytes)| Some((file, read_table(bytes, file.name(), OF_BOOKS).ok()?)));
    tables.flatten().collect()
}

/// The value, if any. Faults are added to the others.
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
