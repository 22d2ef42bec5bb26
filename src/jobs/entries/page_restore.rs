//! The way to bring back what was struck.

use crate::book::EntryKind;
use crate::page::address::address;

/// Where a struck entry is brought back, if it is among those that can be.
pub(super) fn restore(
    kind: EntryKind,
    open: &[String],
    (id, trial): (&str, Option<&str>),
) -> Option<String> {
    let of = [("kind", Some(kind.word())), ("ids", Some(id)), ("trial", trial)];
    open.iter().any(|it| it == id).then(|| address("/restore", &of))
}
