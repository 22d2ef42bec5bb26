//! Finds copies of a book's files that other programs left beside them.

use crate::book::files::names::{BookFile, SETTINGS};
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::units::shown;
use std::path::Path;

/// Notices about files in `dir` that look like copies of a file of the book. None if the folder
/// cannot be listed.
pub(in crate::book) fn copies(dir: &Path) -> Vec<Notice> {
    let listed = dir.read_dir().into_iter().flatten().flatten();
    let mut names: Vec<String> =
        listed.map(|it| it.file_name().to_string_lossy().into_owned()).collect();
    names.sort_unstable();
    let copy = |name: &String| {
        let place = Location::file(&shown(name));
        Some(Notice::Copy { place, of: copied(name)? })
    };
    names.iter().filter_map(copy).collect()
}

/// The file of the book of which this looks like a copy. Services that synchronise folders put
/// words or a number between the name and its ending.
fn copied(name: &str) -> Option<&'static str> {
    let mut files = BookFile::ALL.map(BookFile::name).into_iter().chain([SETTINGS]);
    files.find(|file| between(name, file).is_some_and(|added| is_of_copy(added.trim())))
}

/// What `name` has between the name of `file` and its ending.
fn between<'n>(name: &'n str, file: &str) -> Option<&'n str> {
    let (stem, ending) = file.rsplit_once('.')?;
    let added = name.strip_prefix(stem)?.strip_suffix(ending)?;
    added.strip_suffix('.')
}

fn is_of_copy(added: &str) -> bool {
    let added = added.to_lowercase();
    let number = added.strip_prefix('(').and_then(|rest| rest.strip_suffix(')'));
    let is_number = number.is_some_and(|number| number.parse::<u32>().is_ok());
    is_number || added.contains("conflict") || added.contains("copy")
}

#[cfg(test)]
mod tests {
    use super::copied;

    #[test]
    fn copies_of_files_are_known_by_their_names() {
        for name in [
            "readings (conflicted copy).csv",
            "readings (Ann's conflicted copy 2026-03-14).csv",
            "readings.sync-conflict-20260314-101112-ABCDEFG.csv",
            "readings (1).csv",
            "readings - Copy.csv",
            "readings_conflict-20260314.csv",
        ] {
            assert_eq!(copied(name), Some("readings.csv"), "{name}");
        }
        assert_eq!(copied("book (2).toml"), Some("book.toml"));
        for name in [
            "readings.csv",
            "readings.csv.new",
            "readings.set-aside.csv",
            "readings.backup-1.csv",
            "readings of May.csv",
            "readings (of May).csv",
            "book.toml",
            "my readings (1).csv",
            "readings (1).ods",
        ] {
            assert_eq!(copied(name), None, "{name}");
        }
    }
}
