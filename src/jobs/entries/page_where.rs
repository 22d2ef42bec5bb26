//! Where entries are listed, and where struck ones are brought back.

use crate::book::EntryKind;
use crate::page::address::address;
use crate::page::form::Form;

/// Where a struck entry is brought back, if it is among those that can be.
pub(super) fn restore(
    kind: EntryKind,
    open: &[String],
    (id, trial): (&str, Option<&str>),
) -> Option<String> {
    let of = [("kind", Some(kind.word())), ("ids", Some(id)), ("trial", trial)];
    open.iter().any(|it| it == id).then(|| address("/restore", &of))
}

/// Where an entry of the kind that a form names is listed.
pub(crate) fn listed_at(form: &Form) -> String {
    match form.get("kind") {
        Some("reading" | "trial") => address("/log", &[("trial", form.get("trial"))]),
        Some("forecast" | "plan") => "/plan".to_owned(),
        _ => "/stock".to_owned(),
    }
}
