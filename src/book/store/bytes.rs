use crate::book::entries::contents::FileBytes;
use crate::book::entries::tables::first_line;
use crate::book::error::BookError;
use crate::book::files::names::{BookFile, SETTINGS};
use crate::book::opened::Book;
use std::path::Path;

impl Book {
    /// Builds a book from files given by name and bytes, such as `("papers.csv", b"…")`. A missing
    /// file has its header and no rows, a missing `book.toml` only its format. Other names are
    /// ignored. The book is not in a folder, so nothing can be appended to it.
    pub fn from_bytes(files: &[(&str, &[u8])]) -> Result<Self, BookError> {
        let given = |name: &str| files.iter().find(|(given, _)| *given == name);
        let bytes_of = |name: &str, otherwise: Vec<u8>| {
            given(name).map_or(otherwise, |(_, bytes)| bytes.to_vec())
        };
        let settings = bytes_of(SETTINGS, b"format = 1\n".to_vec());
        let file = |file: BookFile| (file, bytes_of(file.name(), first_line(file)));
        let rows = BookFile::ALL.into_iter().map(file).collect();
        Self::from_files(Path::new(""), &FileBytes { settings, rows, notices: Vec::new() })
    }
}
