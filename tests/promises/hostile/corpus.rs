//! The inputs kept in tests/corpus, a folder for each reader.

use std::path::PathBuf;

/// The inputs of a reader with their file names, in order of name.
pub fn of(target: &str) -> Vec<(String, Vec<u8>)> {
    let dir = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(target);
    let entries =
        std::fs::read_dir(&dir).unwrap_or_else(|error| panic!("{}: {error}", dir.display()));
    let mut found: Vec<(String, Vec<u8>)> = entries
        .map(|entry| {
            let entry = entry.expect("an entry");
            let bytes = std::fs::read(entry.path()).expect("a file of the corpus");
            (entry.file_name().to_string_lossy().into_owned(), bytes)
        })
        .collect();
    found.sort();
    found
}
