//! Tells books apart that a phone sees at one address, one after the other.

use super::key::digest;
use std::fmt;
use std::path::Path;

/// Digests of the folder of a book and of the first change to it.
///
/// The folder alone would take a book for an older one that was in its place. The first change
/// alone would take a copy for its original. A moved book has another mark: the phone then asks
/// before it sends what it still holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Mark {
    folder: String,
    /// Empty until there is a change.
    first: String,
}

impl Mark {
    pub fn of(folder: &Path, first: Option<&str>) -> Self {
        // A link to the folder leads to the same book.
        let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
        let digest = |text| format!("{:016x}", digest([text]));
        Self {
            folder: digest(folder.as_os_str().as_encoded_bytes()),
            first: first.map(|first| digest(first.as_bytes())).unwrap_or_default(),
        }
    }

    /// Whether a form with this mark is of this book. `bench.js` compares in the same way.
    pub fn is(&self, sent: &str) -> bool {
        let (folder, first) = sent.split_once('.').unwrap_or((sent, ""));
        let is_first = first.is_empty() || self.first.is_empty() || first == self.first;
        folder == self.folder && is_first
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.folder, self.first)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_book_is_the_one_in_its_folder_that_began_in_the_same_way() {
        let (here, there) = (Path::new("/books/a"), Path::new("/books/b"));
        let mark = Mark::of(here, Some("recorded paper bond"));
        assert!(mark.is(&mark.to_string()));
        assert!(!mark.is(&Mark::of(there, Some("recorded paper bond")).to_string()), "a copy");
        assert!(!mark.is(&Mark::of(here, Some("recorded paper laid")).to_string()), "another");
        // The first change comes while a form of the empty book is open.
        let empty = Mark::of(here, None);
        assert!(mark.is(&empty.to_string()) && empty.is(&mark.to_string()));
        assert!(!mark.is("") && !mark.is("."));
    }
}
