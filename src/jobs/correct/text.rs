//! What was corrected, in a sentence.

use crate::book::{Config, Difference, EntryKind, Written};
use crate::terminal::number::{fine_length, plural};
use crate::units::Millimetres;

/// The changed values: `trial T1: sheets 4 → 3, boned no → yes`.
pub(crate) fn corrected_words(
    kind: EntryKind,
    id: &str,
    differences: &[Difference],
    config: &Config,
) -> String {
    let length = |text: &str| Millimetres::new(text.parse().ok()?);
    let cell = |column: &str, text: &str| match length(text) {
        _ if text.is_empty() => "nothing".to_owned(),
        Some(length) if column.ends_with("_mm") => fine_length(length, config),
        _ => text.to_owned(),
    };
    let words = |it: &Difference| {
        let column = ["_mm", "_gsm", "_percent"]
            .iter()
            .fold(it.column, |name, unit| name.trim_end_matches(unit))
            .replace('_', "-");
        // The column with the entry's own name is called after its kind.
        let column = if column == kind.word() { "name" } else { &column };
        format!("{column} {} → {}", cell(it.column, &it.was), cell(it.column, &it.is))
    };
    let all: Vec<String> = differences.iter().map(words).collect();
    format!("{kind} {id}: {}", all.join(", "))
}

/// What stays with the corrected entry: `, with its 3 readings and 1 forecast`.
pub(crate) fn along_words(kind: EntryKind, written: Written) -> String {
    let Written { trials, readings, forecasts, plans, .. } = written;
    let along = match kind {
        EntryKind::Trial => [(readings, "reading"), (forecasts, "forecast")],
        EntryKind::Paper | EntryKind::Thread => [(trials, "trial"), (plans, "saved plan")],
        _ => [(plans, "saved plan"), (0, "")],
    };
    let along = along.into_iter().filter(|(count, _)| *count > 0);
    let along: Vec<String> = along.map(|(count, what)| plural(count, what)).collect();
    if along.is_empty() { String::new() } else { format!(", with its {}", along.join(" and ")) }
}
