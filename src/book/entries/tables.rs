//! The tables of columns of all files.

use super::forecast::ForecastRow;
use super::paper::PaperRow;
use super::reading::ReadingRow;
use super::strike::StrikeRow;
use super::table::Row;
use super::target::TargetRow;
use super::thread::ThreadRow;
use super::trial::TrialRow;
use crate::book::csv::columns::{Column, names};
use crate::book::csv::kinds::Value;
use crate::book::csv::tail::decimal;
use crate::book::files::names::BookFile;

/// The columns of a file.
#[derive(Clone, Debug)]
pub struct ColumnTable {
    /// The name of the file.
    pub file: &'static str,
    /// Its columns, in the order of a new file.
    pub columns: &'static [Column],
    /// What an empty cell of each means, as it would be written; often nothing.
    pub defaults: Vec<String>,
}

impl ColumnTable {
    fn of<R: Row>() -> Self {
        let defaults = R::empty()
            .values()
            .into_iter()
            .map(|value| match value {
                Value::Text(text) => text.into_owned(),
                Value::Number(number) => decimal(number, false),
                Value::Empty => String::new(),
            })
            .collect();
        Self { file: R::FILE.name(), columns: R::COLUMNS, defaults }
    }
}

/// The columns of every file of a book that has rows.
pub fn column_tables() -> Vec<ColumnTable> {
    BookFile::ALL.map(table_of).into()
}

fn table_of(file: BookFile) -> ColumnTable {
    match file {
        BookFile::Papers => ColumnTable::of::<PaperRow>(),
        BookFile::Threads => ColumnTable::of::<ThreadRow>(),
        BookFile::Targets => ColumnTable::of::<TargetRow>(),
        BookFile::Trials => ColumnTable::of::<TrialRow>(),
        BookFile::Readings => ColumnTable::of::<ReadingRow>(),
        BookFile::Struck => ColumnTable::of::<StrikeRow>(),
        BookFile::Forecasts => ColumnTable::of::<ForecastRow>(),
    }
}

/// The columns of a file, in the order of a new one.
pub(in crate::book) fn columns_of(file: BookFile) -> &'static [Column] {
    table_of(file).columns
}

/// The first line of a new file.
pub(in crate::book) fn header(file: BookFile) -> String {
    names(columns_of(file))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::check::faults::Faults;
    use crate::book::csv::table::read_table;
    use crate::book::csv::tail::tail;
    use crate::book::csv::text::OF_BOOKS;
    use crate::book::entries::held::Strike;
    use crate::book::entries::record::read_records;
    use crate::book::entries::table::Record;
    use crate::book::error::Fault;
    use crate::trade::{KeptForecast, Paper, Reading, Target, Thread, Trial};
    use std::collections::BTreeMap;

    /// A line of one thing that each of `columns` has.
    fn line(columns: &[Column], cell: fn(&Column) -> &'static str) -> String {
        columns.iter().map(cell).collect::<Vec<_>>().join(",") + "\n"
    }

    /// The entry of the examples, written to a file with these columns.
    fn examples_written<T: Record>(columns: &[Column]) -> Result<String, Vec<Fault>> {
        let all = T::Row::COLUMNS;
        let text = line(all, |column| column.name) + &line(all, |column| column.example);
        let table = read_table(text.as_bytes(), T::FILE.name(), OF_BOOKS).unwrap();
        let mut faults = Faults::default();
        let read = read_records::<T>(&table, &mut faults, &mut Vec::new());
        faults.refuse().unwrap();
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
        for (column, default) in all.iter().zip(table_of(T::FILE).defaults) {
            assert_ne!(column.example, default, "{} shows nothing", column.name);
            let others: Vec<Column> = all.iter().filter(|it| *it != column).copied().collect();
            let lost = examples_written::<T>(&others).expect_err("a cell was lost");
            assert!(lost[0].message.contains(&format!("no column {} to", column.name)));
        }
    }

    #[test]
    fn every_column_is_read_and_written_and_none_is_lost() {
        check::<Paper>();
        check::<Thread>();
        check::<Target>();
        check::<Trial>();
        check::<Reading>();
        check::<Strike>();
        check::<KeptForecast>();
    }
}
