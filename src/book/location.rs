use std::fmt;

/// A place in a file. Rows are counted as a spreadsheet shows them: the header is row 1.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Location {
    /// The file, as the binder named it.
    pub file: String,
    pub row: Option<usize>,
    pub column: Option<String>,
}

impl Location {
    pub(crate) fn file(file: &str) -> Self {
        Self { file: file.to_owned(), row: None, column: None }
    }

    pub(crate) fn row(file: &str, row: usize) -> Self {
        Self { row: Some(row), ..Self::file(file) }
    }

    pub(crate) fn cell(file: &str, row: usize, column: &str) -> Self {
        Self { column: Some(column.to_owned()), ..Self::row(file, row) }
    }
}

impl fmt::Display for Location {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(row) = self.row {
            write!(f, ":{row}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column {column}")?;
        }
        Ok(())
    }
}
