//! Writes a table as a file, by way of a data frame.

use polars::prelude::*;
use polars_io::prelude::*;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Format {
    Csv,
    /// A list of objects, one for each row.
    Json,
    /// An Arrow file (its IPC file format), which R and Python read without parsing.
    Arrow,
}

impl Format {
    /// The endings of all formats, in their order.
    pub(crate) const ENDINGS: &[&str] = &["csv", "json", "arrow"];

    pub(crate) fn of(ending: &str) -> Option<Self> {
        [Self::Csv, Self::Json, Self::Arrow].into_iter().find(|format| format.endings() == [ending])
    }

    pub(crate) fn endings(self) -> &'static [&'static str] {
        let place = self as usize;
        &Self::ENDINGS[place..=place]
    }

    /// The bytes of a file with these columns, all of one length.
    pub(crate) fn write(self, columns: Vec<Column>) -> PolarsResult<Vec<u8>> {
        let mut frame = DataFrame::new_infer_height(columns)?;
        let mut bytes = Vec::new();
        match self {
            // Without exponents, because not every spreadsheet reads them as numbers.
            Self::Csv => {
                CsvWriter::new(&mut bytes).with_float_scientific(Some(false)).finish(&mut frame)?
            }
            Self::Json => {
                let writer = JsonWriter::new(&mut bytes);
                writer.with_json_format(JsonFormat::Json).finish(&mut frame)?;
                bytes.push(b'\n');
            }
            // The oldest encoding of text, which every reader of such files knows.
            Self::Arrow => IpcWriter::new(&mut bytes)
                .with_compat_level(CompatLevel::oldest())
                .finish(&mut frame)?,
        }
        Ok(bytes)
    }
}

pub(crate) fn column<R, V>(name: &str, rows: &[R], of: impl Fn(&R) -> V) -> Column
where
    Series: NamedFrom<Vec<V>, [V]>,
{
    Column::new(name.into(), rows.iter().map(of).collect::<Vec<V>>())
}

/// The first column: row numbers from one. Its name says what made the file.
pub(crate) fn numbered(mark: &str, rows: usize) -> Column {
    Column::new(mark.into(), (1..).take(rows).collect::<Vec<u32>>())
}
