use crate::book::files::names::BookFile;
use std::collections::BTreeMap;

/// The bytes of the files with rows.
pub(in crate::book) type Rows = BTreeMap<BookFile, Vec<u8>>;
