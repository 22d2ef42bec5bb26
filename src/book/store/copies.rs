//! Finds copies of a book's files that other programs left beside them.

use crate::book::entries::tables::header;
use crate::book::files::names::{BookFile, SETTINGS};
use crate::book::files::owned::is_book_file;
use crate::book::location::Location;
use crate::book::notice::Notice;
use crate::units::shown;
use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

/// Notices about files in `dir` that look like copies of a file of the book. None if the folder
/// cannot be listed.
pub fn copies(dir: &Path) -> Vec<Notice> {
    let listed = dir.read_dir().into_iter().flatten().flatten();
    let mut names: Vec<String> =
        listed.map(|it| it.file_name().to_string_lossy().into_owned()).collect();
    names.sort_unstable();
    let copy = |name: &String| {
        let place = Location::file(&shown(name));
        Some(Notice::Copy { place, of: copied(dir, name)? })
    };
    names.iter().filter_map(copy).collect()
}

/// The file of the book of which this looks like a copy. Programs add words in any language to its
/// name, before the ending or after it. So the name must say that it is a copy in words known here,
/// or the first line must be the same.
fn copied(dir: &Path, name: &str) -> Option<&'static str> {
    if is_book_file(name) {
        return None;
    }
    let of_rows = BookFile::ALL.into_iter().map(|file| (file.name(), file.stem(), header(file)));
    let settings = (SETTINGS, "book", "format = 1".to_owned());
    let mut files = of_rows.chain([settings]).filter(|(_, stem, _)| name.starts_with(stem));
    let is_like = |(file, _, first): &(&str, &str, String)| {
        between(name, file).is_some_and(|added| is_of_copy(added.trim()))
            || begins_like(dir, name, file, first)
    };
    files.find(is_like).map(|(file, _, _)| file)
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

/// Whether the first line of the file `name` is `first` or that of `file`.
fn begins_like(dir: &Path, name: &str, file: &str, first: &str) -> bool {
    let Some(line) = first_line(&dir.join(name)) else { return false };
    line == first || first_line(&dir.join(file)).as_ref() == Some(&line)
}

/// The first line of a plain file, without a byte-order mark; `None` for an empty line.
fn first_line(path: &Path) -> Option<String> {
    /// Longer than the header of any file of a book.
    const LONGEST: u64 = 4096;
    path.symlink_metadata().ok().filter(std::fs::Metadata::is_file)?;
    let mut line = String::new();
    BufReader::new(File::open(path).ok()?.take(LONGEST)).read_line(&mut line).ok()?;
    let line = line.trim_start_matches('\u{feff}').trim();
    (!line.is_empty()).then(|| line.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn copies_of_files_are_known_by_their_names_or_by_their_first_line() {
        let dir = tempfile::tempdir().unwrap();
        let copied = |name: &str| copied(dir.path(), name);
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
        let put = |name: &str, text: &str| std::fs::write(dir.path().join(name), text).unwrap();
        put("readings.csv", "state,trial,place\nsewn,T1,1\n");
        put("book.toml", "# The form of these files.\nformat = 1\n");
        for (name, text) in [
            ("readings 2.csv", "state,trial,place\r\nsewn,T1,1\n"),
            ("readings-DESKTOP-4F7K2QL.csv", "\u{feff}state,trial,place\n"),
            ("readings.csv.orig", &header(BookFile::Readings)),
            ("book 2.toml", "# The form of these files.\n"),
            ("book.toml~", "format = 1\n"),
        ] {
            put(name, text);
            assert!(copied(name).is_some(), "{name}");
        }
        put("readings of May.csv", "trial,state,place,spine\n");
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
