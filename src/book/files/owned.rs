//! Which files belong to a book, so that no output overwrites them.

use super::names::{BookFile, SETTINGS};
use crate::book::store::digests::DIGESTS;
use crate::book::store::init::IGNORE;
use crate::book::store::journal::JOURNAL;
use crate::book::store::lock::LOCK;
use crate::book::store::recover::SET_ASIDE;
use std::fs;
use std::path::{Path, PathBuf};

/// Whether a file of this name belongs to the book in whose folder it is: the settings, the rows,
/// the lock, the journal, the digests, their temporary files (`.new`), and what was set aside or
/// backed up.
///
/// Capitals are ignored, because some file systems ignore them too.
pub fn is_book_file(name: &str) -> bool {
    let name = name.to_ascii_lowercase();
    let name = name.strip_suffix(".new").unwrap_or(&name);
    [SETTINGS, LOCK, JOURNAL, DIGESTS, SET_ASIDE, IGNORE].contains(&name)
        || BookFile::ALL.into_iter().any(|file| is_of_rows(name, file))
}

/// Whether `name` is the file with rows, what was cut off it, or a backup of it.
fn is_of_rows(name: &str, file: BookFile) -> bool {
    let rest = name.strip_prefix(file.stem()).and_then(|rest| rest.strip_suffix(".csv"));
    rest.is_some_and(|rest| {
        let number = rest.strip_prefix(".backup-").unwrap_or_default();
        // The program counts no further, and longer names do not fit into a backup.
        let numbered =
            number.bytes().all(|byte| byte.is_ascii_digit()) && number.parse::<u32>().is_ok();
        rest.is_empty() || rest == ".set-aside" || numbered
    })
}

/// The file of a book that writing to `target` would change, if any. Both the book in the folder of
/// `target` and the book in `book` are checked. `target` must have its links and `..` resolved and
/// need not exist. A file with another name at the same place on the disk counts too.
pub fn book_file_at(target: &Path, book: Option<&Path>) -> Option<PathBuf> {
    let folder = target.parent()?;
    let is_book = folder.join(SETTINGS).symlink_metadata().is_ok();
    let named = target.file_name().is_some_and(|name| is_book_file(&name.to_string_lossy()));
    if is_book && named {
        return Some(target.to_owned());
    }
    let books = is_book.then_some(folder).into_iter().chain(book);
    books.flat_map(files_of).find(|file| is_same(file, target))
}

/// The existing files of the book in `dir`.
fn files_of(dir: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(dir).into_iter().flatten().flatten();
    let own = entries.filter(|entry| is_book_file(&entry.file_name().to_string_lossy()));
    own.map(|entry| entry.path()).collect()
}

/// Whether two paths lead to the same file on the disk.
#[cfg(unix)]
fn is_same(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let place = |path: &Path| path.metadata().map(|file| (file.dev(), file.ino())).ok();
    place(one).is_some_and(|found| place(other) == Some(found))
}

/// Whether two paths lead to the same file, as far as links show.
#[cfg(not(unix))]
fn is_same(one: &Path, other: &Path) -> bool {
    one.canonicalize().is_ok_and(|found| other.canonicalize().is_ok_and(|other| other == found))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::files::config::Config;
    use crate::book::store::init::init;

    #[test]
    fn every_file_of_a_book_is_known_by_name() {
        let dir = tempfile::tempdir().unwrap();
        init(dir.path(), &Config::default()).unwrap();
        for entry in fs::read_dir(dir.path()).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            assert!(is_book_file(&name), "{name}");
            assert!(is_book_file(&name.to_uppercase()), "{name} in capitals");
            assert!(is_book_file(&format!("{name}.new")), "{name}.new");
        }
        for name in ["papers.set-aside.csv", "Trials.backup-12.csv", "journal.set-aside.txt"] {
            assert!(is_book_file(name), "{name}");
        }
    }

    #[test]
    fn other_files_beside_them_are_free() {
        for name in [
            "report.html",
            "trials.svg",
            "trials.backup-.csv",
            "trials.backup-4294967296.csv",
            "my-trials.csv",
            "sheet.csv",
        ] {
            assert!(!is_book_file(name), "{name}");
        }
    }
}
