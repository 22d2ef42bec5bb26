//! The column tables of all files.

use super::held::for_each_kind;
use super::table::{Record, Row};
use crate::book::csv::columns::{Column, names};
use crate::book::csv::tail::shown;
use crate::book::files::names::BookFile;

/// The name of a file, its columns in the order of a new file, and the default of each column as it
/// would be written. Most defaults are empty.
pub type ColumnTable = (&'static str, &'static [Column], Vec<String>);

fn table<R: Row>() -> ColumnTable {
    let defaults = R::empty().values().iter().map(shown).collect();
    (R::FILE.name(), R::COLUMNS, defaults)
}

macro_rules! table_of {
    ($($list:ident: $kind:ty, $file:ident;)*) => {
        fn table_of(file: BookFile) -> ColumnTable {
            match file {
                $(BookFile::$file => table::<<$kind as Record>::Row>(),)*
            }
        }

        /// The columns of a file, in the order of a new file.
        pub(in crate::book) fn columns_of(file: BookFile) -> &'static [Column] {
            match file {
                $(BookFile::$file => <$kind as Record>::Row::COLUMNS,)*
            }
        }
    };
}
for_each_kind!(table_of);

/// The columns of every file of a book that has rows.
pub fn column_tables() -> Vec<ColumnTable> {
    BookFile::ALL.map(table_of).into()
}

/// The first line of a new file, without its end.
pub(in crate::book) fn header(file: BookFile) -> String {
    names(columns_of(file))
}

/// The bytes of a new file: its first line.
pub(in crate::book) fn first_line(file: BookFile) -> Vec<u8> {
    (header(file) + "\n").into_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::check::faults::Messages;
    use crate::book::csv::columns::Kind;
    use crate::book::csv::table::read_table;
    use crate::book::csv::tail::tail;
    use crate::book::csv::text::OF_BOOKS;
    use crate::book::entries::record::read_records;
    use crate::book::error::Fault;
    use std::collections::BTreeMap;

    /// A line with one cell for each of `columns`.
    fn line(columns: &[Column], cell: fn(&Column) -> &'static str) -> String {
        columns.iter().map(cell).collect::<Vec<_>>().join(",") + "\n"
    }

    /// The entry of the examples, written to a file with these columns.
    fn examples_written<T: Record>(columns: &[Column]) -> Result<String, Vec<Fault>> {
        written::<T>(columns, &line(T::Row::COLUMNS, |column| column.example))
    }

    /// Reads an entry from a row with all columns, and writes it to a file with `columns`.
    fn written<T: Record>(columns: &[Column], row: &str) -> Result<String, Vec<Fault>> {
        let text = line(T::Row::COLUMNS, |column| column.name) + row;
        let table = read_table(text.as_bytes(), T::FILE.name(), OF_BOOKS).unwrap();
        let mut messages = Messages::default();
        let read = read_records::<T>(&table, &mut messages);
        messages.faults.refuse().unwrap();
        let entries: Vec<T> = read.into_iter().map(|row| row.value).collect();
        assert_eq!(entries.len(), 1);
        let header = line(columns, |column| column.name);
        let empty = read_table(header.as_bytes(), T::FILE.name(), OF_BOOKS).unwrap();
        let written = tail(&BTreeMap::from([(T::FILE, empty)]), &entries).expect("a row");
        written.map(|bytes| String::from_utf8(bytes).unwrap())
    }

    fn check<T: Record>() {
        let all = T::Row::COLUMNS;
        let example = line(all, |column| column.example);
        assert_eq!(examples_written::<T>(all), Ok(example), "{}", T::FILE.name());
        for (column, default) in all.iter().zip(table_of(T::FILE).2) {
            assert_ne!(column.example, default, "{} shows nothing", column.name);
            let others: Vec<Column> = all.iter().filter(|it| *it != column).copied().collect();
            let lost = examples_written::<T>(&others).expect_err("a cell was lost");
            assert!(lost[0].message.contains(&format!("no column {} to", column.name)));
        }
    }

    #[test]
    fn every_column_is_read_and_written_and_none_is_lost() {
        macro_rules! check_all {
            ($($list:ident: $kind:ty, $file:ident;)*) => { $(check::<$kind>();)* };
        }
        for_each_kind!(check_all);
    }

    /// Checks that every free-text column refuses a text that a spreadsheet would run. Returns the
    /// number of those columns.
    fn refused<T: Record>() -> usize {
        let all = T::Row::COLUMNS;
        let own: Vec<&Column> = all.iter().filter(|column| column.kind == Kind::Note).collect();
        for column in &own {
            let cells = all.iter().map(|it| if it == *column { "=1+1" } else { it.example });
            let row = cells.collect::<Vec<_>>().join(",") + "\n";
            let faults = written::<T>(all, &row).expect_err("a formula was written");
            assert!(faults[0].message.starts_with(&format!("{}: '=1+1'", column.name)));
        }
        own.len()
    }

    #[test]
    fn no_text_of_the_binders_own_is_written_that_a_spreadsheet_would_run() {
        macro_rules! count_all {
            ($($list:ident: $kind:ty, $file:ident;)*) => { [$(refused::<$kind>()),*] };
        }
        assert!(for_each_kind!(count_all).iter().sum::<usize>() > 9);
    }
}
