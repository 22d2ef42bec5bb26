use crate::book::files::names::BookFile;
use crate::units::{is_hex, shown};
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;
use std::str::FromStr;
use thiserror::Error;

/// The rows that a change added to each file, and a digest that shows whether they changed since.
/// Rows are counted from 0 below the header; struck rows count, blank ones do not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Added {
    pub(in crate::book) rows: BTreeMap<BookFile, Range<usize>>,
    pub(in crate::book) digest: u64,
}

#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error(
    "'{}' does not say which rows were added; expected a text such as 'papers 3; readings 4-9; \
     sha256 0123456789abcdef'; empty the cell if you do not know",
    shown(found)
)]
pub(in crate::book) struct AddedError {
    found: String,
}

impl Added {
    /// The rows of a file; empty if nothing was added to it.
    pub(in crate::book) fn rows_of(&self, file: BookFile) -> Range<usize> {
        self.rows.get(&file).cloned().unwrap_or_default()
    }
}

impl fmt::Display for Added {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (file, Range { start, end }) in &self.rows {
            write!(f, "{} {}", file.stem(), start + 1)?;
            if start + 1 < *end {
                write!(f, "-{end}")?;
            }
            f.write_str("; ")?;
        }
        write!(f, "sha256 {:016x}", self.digest)
    }
}

impl FromStr for Added {
    type Err = AddedError;

    fn from_str(text: &str) -> Result<Self, AddedError> {
        let added = || {
            let (rows, digest) = text.rsplit_once("sha256 ")?;
            let digest = Some(digest).filter(|digest| is_hex(digest, 16))?;
            let digest = u64::from_str_radix(digest, 16).ok()?;
            let parts = rows.split(';').map(str::trim).filter(|part| !part.is_empty());
            Some(Self { rows: parts.map(of_file).collect::<Option<_>>()?, digest })
        };
        added().ok_or_else(|| AddedError { found: text.to_owned() })
    }
}

/// Parses a part such as `readings 4-9`.
fn of_file(text: &str) -> Option<(BookFile, Range<usize>)> {
    let (name, rows) = text.split_once(' ')?;
    let file = BookFile::ALL.into_iter().find(|file| file.stem() == name)?;
    let (first, last) = rows.split_once('-').unwrap_or((rows, rows));
    let (first, last): (usize, usize) = (first.parse().ok()?, last.parse().ok()?);
    (0 < first && first <= last).then_some((file, first - 1..last))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_reads_back_from_how_it_is_written() {
        for text in [
            "papers 3; readings 4-9; struck 1; sha256 0123456789abcdef",
            "forecasts 1; sha256 0000000000000000",
        ] {
            assert_eq!(text.parse::<Added>().unwrap().to_string(), text);
        }
    }

    #[test]
    fn nothing_else_is_taken_for_it() {
        for bad in [
            "papers 3",
            "papers 3; sha256 0123",
            "papers 0; sha256 0123456789abcdef",
            "papers 4-3; sha256 0123456789abcdef",
            "sheets 4; sha256 0123456789abcdef",
            "papers 99999999999999999999; sha256 0123456789abcdef",
            "papers 3; sha256 0123456789abcdeé",
        ] {
            assert!(bad.parse::<Added>().is_err(), "{bad}");
        }
    }
}
