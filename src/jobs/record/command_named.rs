//! Shared steps of recording an entry: its name, its note, and writing it.

use crate::book::{Book, Entries, EntryKind, Named, entry_named, names_of, note};
use crate::jobs::doubt::command::confirm;
use crate::terminal::prompt::{Field, by_flag};
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::{Session, quoted};
use crate::trade::Name;
use crate::units::Millimetres;
use std::collections::BTreeSet;

/// A length in full precision, as text that can be typed.
pub(crate) fn exact(length: Millimetres) -> String {
    format!("{}mm", length.mm())
}

/// The note of `--note`; empty without it.
pub(crate) fn note_of(given: Option<&str>) -> Result<String, CliError> {
    by_flag("--note", given.unwrap_or_default(), note)
}

/// A new entry, and what is said about it.
pub(crate) struct New {
    pub kind: EntryKind,
    pub name: Name,
    pub line: String,
    pub entries: Entries,
    /// How its values follow from what was typed.
    pub told: Vec<String>,
}

pub(crate) type Made = Result<New, CliError>;

impl From<New> for Entries {
    fn from(new: New) -> Self {
        new.entries
    }
}

/// An entry of the book, given by `flag` or chosen from a list. The only one is the default.
pub(crate) fn chosen<'b, T: Named>(
    session: &mut Session<'_>,
    flag: &'static str,
    given: Option<&str>,
    all: &'b [T],
) -> Result<&'b T, CliError> {
    let (kind, names) = (T::KIND.word(), names_of(all));
    let only = names.first().copied().filter(|_| names.len() == 1);
    let name =
        session.choose(given, Field { flag, question: kind, default: only }, kind, &names)?;
    entry_named(all, &name).ok_or(CliError::Missing { flags: vec![flag] })
}

/// Writes the entry that `new_of` makes, after asking for confirmation if it looks wrong.
pub(crate) fn write_new(
    session: &mut Session<'_>,
    new_of: impl FnOnce(&mut Session<'_>, &Book) -> Made,
) -> Outcome {
    let mut book = session.open_book()?;
    let New { kind, name, line, entries, told } = new_of(session, &book)?;
    told.iter().for_each(|line| session.tell(line));
    let notes = confirm(session, &book, &entries, &BTreeSet::new())?;
    session.append(&mut book, entries)?;
    notes.tell(session);
    let undo = format!("strike {kind} {}", quoted(name.as_str()));
    session.changed(&format!("recorded {kind} {line}"), &undo)
}
