//! Works out what the log of changes says about rows that are about to be added.

use super::added::Added;
use super::held::{Entries, Written, for_each_kind};
use super::table::{Record, Row};
use crate::book::csv::tail::push_shown;
use crate::book::files::names::BookFile;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::ops::Range;

impl Added {
    /// What `entries` add to files with these numbers of rows.
    pub(in crate::book) fn of(there: &Written, entries: &Entries) -> Self {
        let mut rows = BTreeMap::new();
        macro_rules! rows_of {
            ($($list:ident: $kind:ty, $file:ident;)*) => {
                $(rows.insert(BookFile::$file, there.$list..there.$list + entries.$list.len());)*
            };
        }
        for_each_kind!(rows_of);
        rows.retain(|file, rows: &mut Range<usize>| {
            *file != BookFile::Changes && !Range::is_empty(rows)
        });
        Self { rows, digest: digest(entries) }
    }
}

/// The first eight bytes of the SHA-256 digest of the entries, each as a new file would hold it.
pub(in crate::book) fn digest(entries: &Entries) -> u64 {
    let (mut hasher, mut line) = (Sha256::new(), String::new());
    macro_rules! digest_all {
        ($($list:ident: $kind:ty, $file:ident;)*) => {
            $(if BookFile::$file != BookFile::Changes {
                entries.$list.iter().for_each(|entry: &$kind| hash(entry, &mut hasher, &mut line));
            })*
        };
    }
    for_each_kind!(digest_all);
    let [a, b, c, d, e, f, g, h, ..] = <[u8; 32]>::from(hasher.finalize());
    u64::from_be_bytes([a, b, c, d, e, f, g, h])
}

/// Adds an entry to the digest. `line` is a buffer that is reused between entries.
fn hash<T: Record>(entry: &T, hasher: &mut Sha256, line: &mut String) {
    let row = T::Row::of(entry);
    line.clear();
    for value in row.values() {
        push_shown(line, &value);
        line.push('\n');
    }
    line.push_str(T::FILE.name());
    hasher.update(line.as_bytes());
}
