//! Notes on saved plans that name what is struck.

use crate::book::{Book, EntryDoubt, EntryKind, Finding};

/// The notes of an audit on saved plans, for those that are `wanted` by the plan and the kind and
/// id of what it names.
pub(crate) fn bereft_notes(
    book: &Book,
    wanted: impl Fn(&str, EntryKind, &str) -> bool,
) -> Vec<String> {
    let is_wanted = |finding: &Finding| match finding {
        Finding::Entry { name, doubt: EntryDoubt::NamesStruck { kind, id }, .. } => {
            wanted(name.as_str(), *kind, id)
        }
        _ => false,
    };
    let found = book.bereft_plans().into_iter().filter(is_wanted);
    found.map(|finding| format!("note: {}", finding.sentence(book.config().unit))).collect()
}
