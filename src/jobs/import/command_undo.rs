//! The hint for undoing an import.

use crate::book::{Entries, EntryKind, reading_id};
use crate::terminal::session::{Session, quoted};
use crate::trade::{Name, Reading};
use std::collections::BTreeSet;

/// How to undo an import: the `strike` commands, in one line to type. `swellbook undo` instead if
/// that line would be too long to read, or if a heading was kept.
pub(super) fn undo(entries: &Entries, session: &Session<'_>) -> Option<String> {
    const MOST: usize = 6;
    let parts = entries.trials.len() + entries.threads.len() + entries.papers.len();
    if parts + of_older_trials(entries).count() > MOST || !entries.headings.is_empty() {
        return Some(format!("to undo: {}", session.command("undo")));
    }
    let kinds = kinds(entries);
    let command = |(kind, ids): &(EntryKind, Vec<String>)| {
        let ids: Vec<String> = ids.iter().map(|id| quoted(id)).collect();
        session.command(&format!("strike {kind} {} --reason \"…\"", ids.join(" ")))
    };
    let commands: Vec<String> = kinds.iter().map(command).collect();
    (!commands.is_empty()).then(|| format!("to undo: {}", commands.join(" && ")))
}

/// The ids to strike to undo an import, by kind and in an order that allows striking. Striking a
/// trial also strikes its readings, and a trial goes before its thread and paper.
fn kinds(entries: &Entries) -> Vec<(EntryKind, Vec<String>)> {
    let names = |names: &mut dyn Iterator<Item = &Name>| names.map(Name::to_string).collect();
    let kinds = [
        (EntryKind::Trial, names(&mut entries.trials.iter().map(|trial| &trial.name))),
        (EntryKind::Reading, of_older_trials(entries).map(reading_id).collect()),
        (EntryKind::Thread, names(&mut entries.threads.iter().map(|thread| &thread.name))),
        (EntryKind::Paper, names(&mut entries.papers.iter().map(|paper| &paper.name))),
    ];
    kinds.into_iter().filter(|(_, ids): &(_, Vec<String>)| !ids.is_empty()).collect()
}

/// The readings of trials that were in the book before this import.
fn of_older_trials(entries: &Entries) -> impl Iterator<Item = &Reading> {
    let new: BTreeSet<&Name> = entries.trials.iter().map(|trial| &trial.name).collect();
    let runs = entries.readings.chunk_by(|one, other| one.trial == other.trial);
    runs.filter(move |run| !new.contains(&run[0].trial)).flatten()
}
