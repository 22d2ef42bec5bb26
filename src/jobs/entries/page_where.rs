//! Addresses that list entries and that restore struck ones, and what a form of these has seen.

use super::answer_struck::Struck;
use crate::book::{Book, EntryKind};
use crate::page::address::address;
use crate::page::form::Form;
use std::collections::BTreeSet;

/// The addresses that restore these struck entries, in the order in which they were struck. Of
/// several with one id only the last can come back.
pub(super) fn restores<'s>(
    book: &Book,
    kind: EntryKind,
    struck: impl DoubleEndedIterator<Item = &'s Struck>,
    trial: Option<&str>,
) -> Vec<Option<String>> {
    let mut open: BTreeSet<String> = book.restorable(kind).into_iter().collect();
    let restore = |Struck { id, .. }: &Struck| {
        let of = [("kind", Some(kind.word())), ("ids", Some(id.as_str())), ("trial", trial)];
        open.remove(id).then(|| address("/restore", &of))
    };
    let mut all: Vec<Option<String>> = struck.rev().map(restore).collect();
    all.reverse();
    all
}

/// How often each entry of a form had been struck when its page was opened.
pub(crate) fn seen(form: &Form) -> Vec<usize> {
    form.all("seen").filter_map(|seen| seen.parse().ok()).collect()
}

/// The address that lists entries of the kind that a form names.
pub(crate) fn listed_at(form: &Form) -> String {
    match form.get("kind") {
        Some("reading" | "trial") => address("/log", &[("trial", form.get("trial"))]),
        Some("forecast" | "plan") => "/plan".to_owned(),
        _ => "/stock".to_owned(),
    }
}
