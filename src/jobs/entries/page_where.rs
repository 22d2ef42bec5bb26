//! Addresses that list entries and that restore struck ones.

use crate::book::EntryKind;
use crate::page::address::address;
use crate::page::form::Form;

/// The address that restores a struck entry, if it is in `open`, the ids that can be restored.
pub(super) fn restore(
    kind: EntryKind,
    open: &[String],
    id: &str,
    trial: Option<&str>,
) -> Option<String> {
    let of = [("kind", Some(kind.word())), ("ids", Some(id)), ("trial", trial)];
    open.iter().any(|it| it == id).then(|| address("/restore", &of))
}

/// The address that lists entries of the kind that a form names.
pub(crate) fn listed_at(form: &Form) -> String {
    match form.get("kind") {
        Some("reading" | "trial") => address("/log", &[("trial", form.get("trial"))]),
        Some("forecast" | "plan") => "/plan".to_owned(),
        _ => "/stock".to_owned(),
    }
}
