//! Where in a file something stands.

use std::fmt;

/// A place in a file. Rows are counted as a spreadsheet shows them: the header is row 1.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Location {
    /// The file, as the binder named it.
    pub file: String,
    /// The row, when known.
    pub row: Option<usize>,
    /// The column's name, when known.
    pub column: Option<String>,
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
